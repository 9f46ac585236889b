"""Plays one seeded session and holds it against what must always be true.

    played = play(seed)
    assert not played.broken

The same seed gives the same session to the last record; `troubles` replaces those drawn, so that
`shrink` can leave out one after another for as long as something is still broken.
"""

import random
from collections import Counter
from collections.abc import Callable
from contextlib import nullcontext
from dataclasses import dataclass, field

from barrelfit.acquire.inputs.setup import setup_of
from barrelfit.acquire.journal.events import Event, ReadingTaken
from barrelfit.acquire.redo.redo import Redo
from barrelfit.acquire.redo.redo_journal import wire_of
from barrelfit.rules.bench.state import Bench as RulesBench
from barrelfit.rules.events import (
    Asked,
    FarOff,
    Passed,
    Refused,
    SetDone,
    Sized,
    TwoPartsAsked,
    TwoPartsSettled,
)
from barrelfit.rules.judge.twice import doubt_nm
from barrelfit.rules.model import FeatureId, Verdict
from tests.world.bench import Bench, Span
from tests.world.hand import Hand, Sample
from tests.world.hung import HungBoard
from tests.world.laws import broken_laws
from tests.world.memory import sweeps_remembered
from tests.world.parts import Parts, parts_of
from tests.world.trouble import HAND, HOUSE, Trouble, troubles_of

RATES_HZ = (10.0, 20.0)
ATTEMPTS_MAX = 60
UNTIL_S = 330.0
LEAST = 5  # passes that the world's bench asks for
FORGETS = 16  # one session in so many works out each sweep anew in its redo
AWAY = {
    "stop-daemon": "daemon stopped",
    "stop-rules": "rules stopped",
    "cut-rules": "link",
    "cut-board": "board",
}
OWN_BOARD = 0.7  # of the benches have a board of their own; another's tells them nothing
ASKS_FACTS = 0.3  # of the benches ask for facts, too
SAYS_AVERAGE = 0.75  # of the benches say that their displays do not average: sizes come sooner
STALL_S = 1.0
BURST_NS = 100_000_000
SURE_99_9 = 3.3  # normal quantile for 99.9 %, two-sided: 3.29
NO_SUCH_PART_UM = 20_000.0  # in inches, or of a gauge that was set to zero on the part
LITTLE_OFF_UM = 700.0  # a gauge that is off by so little reads what an oversize may have
SLACK_UM = 3.0
"""An interval is the sweep's own estimate; that it holds in 99.9 % is another study's business."""


@dataclass
class Seen:
    """What the board has shown: the hand's only knowledge of the bench."""

    bench: Bench
    asked: FeatureId | None = None
    gauge: str = ""
    done: bool = False
    taken: int = 0
    shown: list[tuple[int, Event]] = field(default_factory=list)
    _answers: int = 0
    _wrong: bool = False
    _question: frozenset[str] = frozenset()
    _questions: int = 0
    _sure: bool = False

    def look(self) -> None:
        for line in self.bench.board_sees(self.taken):
            self.taken = line.seq
            self.shown.append((line.seq, line.event))
            self._take(line.event)

    def _take(self, event: Event) -> None:
        if isinstance(event, Asked):
            self.asked, self.gauge = event.at, event.gauge
            self._sure = event.sentence.key == "ask_sure"
            self._answers += 1
        elif isinstance(event, Sized | Refused):
            self._answers += 1
        elif isinstance(event, FarOff):
            self._wrong = True
        elif isinstance(event, TwoPartsAsked):
            pairs = event.pairs
            self._question = frozenset(n for pair in pairs for n in (pair.earlier, pair.later))
            self._questions += 1
        elif isinstance(event, TwoPartsSettled):
            self._question = frozenset()
        elif isinstance(event, SetDone):
            self.done = True

    def answers(self) -> int:
        self._wrong = False
        return self._answers

    def told_wrong(self) -> bool:
        return self._wrong

    def question(self) -> frozenset[str]:
        return self._question

    def times_asked(self) -> int:
        return self._questions

    def is_sure(self) -> bool:
        return self._sure

    def press(self, action: str) -> None:
        self.bench.press(action)


@dataclass
class Played:
    """One session played: what was broken, and what happened, for the count."""

    seed: int
    troubles: tuple[Trouble, ...]
    broken: list[str] = field(default_factory=list)
    struck: Counter[str] = field(default_factory=Counter)
    sized: int = 0
    done: bool = False
    seconds: float = 0.0
    lines: list = field(default_factory=list)


class Session:
    """One session while it is played."""

    def __init__(self, seed: int, troubles: tuple[Trouble, ...] | None = None) -> None:
        chance = random.Random(f"session {seed}")
        self.parts: Parts = parts_of(chance)
        later = random.Random(f"later {seed}")
        drawn = troubles_of(chance, later, until_s=UNTIL_S, attempts=14)
        self.troubles = drawn if troubles is None else troubles
        self.rate_hz = chance.choice(RATES_HZ)
        own_board = later.random() < OWN_BOARD
        asks_facts = random.Random(f"facts {seed}").random() < ASKS_FACTS
        house = random.Random(f"house {seed}")
        says_average = random.Random(f"average {seed}").random() < SAYS_AVERAGE
        said = {"asks_facts": asks_facts, "says_average": says_average}
        self.bench = Bench(house, own_board=own_board, **said)
        self.seen = Seen(self.bench)
        by_attempt: dict[int, list[Trouble]] = {}
        for one in self.troubles:
            if one.kind in HAND:
                by_attempt.setdefault(one.attempt, []).append(one)
        hand_chance = random.Random(f"hand {seed}")
        self.hand = Hand(
            self.parts, self.seen, hand_chance, self.rate_hz, by_attempt,
            lambda: self.bench.clock.now_s,
        )  # fmt: skip
        self._ahead = [one for one in self.troubles if one.kind in HOUSE]
        self.held: list[tuple[int, FeatureId | None, bool]] = []
        self.stops: list[Span] = []
        self._hung = HungBoard(self.bench)
        self._attempt, self._blind = -1, False  # blind: the board showed what it knew, no more
        self.played = Played(seed, self.troubles)

    def play(self) -> Played:
        begin_s = self.bench.clock.now_s
        for sample in self.hand.life(ATTEMPTS_MAX):
            self._moment(sample, begin_s)
        self._settle()
        self.played.struck.update(self.hand.struck)
        self.played.seconds = self.bench.clock.now_s - begin_s
        self.played.lines = self.bench.journal.lines
        self._judge()
        return self.played

    def _moment(self, sample: Sample, begin_s: float) -> None:
        bench = self.bench
        while self._ahead and self._ahead[0].when_s <= bench.clock.now_s - begin_s:
            self._strike(self._ahead.pop(0), sample.gauge)
        if self.hand.attempts != self._attempt:
            self._attempt = self.hand.attempts
            self._blind = self._blind and self.hand.looked is not None  # it looked before
        self._hung.looked((self.hand.attempts, self.hand.looked))
        self._blind = self._blind or not (bench.own_board or bench.has_board())
        mistaken = self.hand.mistaken or self._blind
        self.held.append((bench.clock.monotonic_ns(), sample.of, mistaken))
        bench.send(sample.gauge, sample.mm)
        step_s = (1 + self.hand.chance.uniform(-0.1, 0.1)) / self.rate_hz
        for share in (0.3, 0.7):  # the house works between two samples
            bench.clock.now_s += step_s * share
            bench.pump()
        self.seen.look()

    def _strike(self, trouble: Trouble, gauge: str) -> None:
        bench, lasts_s = self.bench, trouble.lasts_s
        if trouble.kind == "stop-board" and not bench.own_board:
            return  # nobody can know: DEVELOPERS' known gaps
        self.played.struck[trouble.kind] += 1
        span = Span(bench.clock.now_s, bench.clock.now_s + lasts_s)
        if trouble.kind == "stop-daemon" and lasts_s > STALL_S:
            self.stops.append(span)
        match trouble.kind:
            case "kill-daemon":
                bench.kill_daemon()
                self.stops = [stop for stop in self.stops if stop.end_s <= span.begin_s]
            case "kill-rules":
                bench.kill_rules()
            case "slow-disk":
                bench.journal.slow.append(Span(span.begin_s, min(span.end_s, span.begin_s + 10.0)))
            case "doubled":
                bench.doubled.append(span)
            case "stop-board":
                self._hung.stopped(span, trouble.amount)
            case kind:
                bench.away(AWAY.get(kind, f"cable {gauge}"), lasts_s)

    def _settle(self) -> None:
        """Everything comes back and has its time; nobody touches anything."""
        bench = self.bench
        bench.down.clear()
        bench.journal.slow.clear()
        for _ in range(200):
            bench.clock.now_s += 0.05
            bench.pump()
        self.seen.look()

    # ------------------------------------------------------------ what must be true

    def _judge(self) -> None:
        self._every_pass_is_of_its_part()
        self._every_standing_size_is_true()
        self._no_verdict_is_false()
        self._what_waited_in_a_stop_is_not_dated()
        self._nothing_shown_is_lost()
        self._plan_and_board_agree()
        self._redo_is_equal()
        self.played.broken += broken_laws(self.bench.journal.lines, LEAST)

    def _break(self, words: str) -> None:
        self.played.broken.append(words)

    def _every_pass_is_of_its_part(self) -> None:
        times = self.held
        at = 0
        for line in self.bench.journal.lines:
            if not isinstance(line.event, Passed):
                continue
            event = line.event
            while at and times[at - 1][0] >= event.start_ns:
                at -= 1
            while at < len(times) and times[at][0] < event.start_ns:
                at += 1
            index = at
            others = set()
            while index < len(times) and times[index][0] <= event.end_ns:
                _, of, mistaken = times[index]
                if not mistaken and of is not None and of != event.at:
                    others.add(of)
                index += 1
            if others:
                self._break(f"record {line.seq}: pass of {event.at} was over {others}")

    def _every_standing_size_is_true(self) -> None:
        rules = self.bench.rules
        if rules is None:
            self._break("no rules service at the end")
            return
        sized = {}
        for line in self.bench.journal.lines:
            if isinstance(line.event, Sized):
                sized[line.event.at] = line.event
                self.played.sized += 1
                self._is_of_such_a_part(line.seq, line.event)
        in_doubt = self._two_answers(rules.queue.bench)
        for at in rules.queue.bench.sizes:
            if at in in_doubt:
                continue
            event = sized[at]
            off_um = event.size_nm / 1e3 - self.parts.size_mm(at) * 1e3
            allowed_um = SURE_99_9 * event.u_nm / 1e3 + SLACK_UM
            # A hand that turns short of the crest makes sizes too small, which nothing shows;
            # that no discard comes of it is looked at below.
            if abs(off_um) <= allowed_um or "turn-short" in self.hand.struck:
                continue
            # Of parts that may be one nobody has said yet which they are.
            doubted = at.part in rules.queue.bench.doubted
            # A gauge that was zeroed a little off reads what an oversize may have, too: it is told,
            # and the part stays undecided until it is swept once more.
            little = "zero" in self.hand.struck and abs(off_um) < LITTLE_OFF_UM
            if not ((little or doubted) and self._nothing_rests_on(rules.queue.bench, at)):
                self._break(f"{at} stands {off_um:+.1f} µm off (± {allowed_um:.1f})")

    def _is_of_such_a_part(self, seq: int, found: Sized) -> None:
        """Not even for a moment: a verdict would rest on it, and a pair."""
        off_um = found.size_nm / 1e3 - self.parts.size_mm(found.at) * 1e3
        if abs(off_um) > NO_SUCH_PART_UM:
            self._break(f"record {seq}: {found.at} came out {off_um:+.0f} µm off")

    def _nothing_rests_on(self, bench: RulesBench, at: FeatureId) -> bool:
        """Whether its part is undecided, and no pair with it may run."""
        of_it = {a: j.verdict for a, j in bench.judged.items() if at.part in a.split("+")}
        runs = Verdict.SERVICEABLE in of_it.values()
        return of_it[at.part] is Verdict.UNDECIDED and not runs

    def _two_answers(self, bench: RulesBench) -> set[FeatureId]:
        """Places whose two sweeps do not agree: what stands is one answer of two.

        Nothing may rest on it: neither its part nor a pair with it is decided.
        """
        found = {
            at
            for at, first in bench.firsts.items()
            if at in bench.sizes
            and abs(first.size_nm - bench.sizes[at].size_nm) > doubt_nm(first, bench.sizes[at])
        }
        parts = {at.part for at in found}
        for about, judged in bench.judged.items():
            if parts & set(about.split("+")) and judged.verdict is not Verdict.UNDECIDED:
                self._break(f"{about} is {judged.verdict} by one of two sweeps that do not agree")
        return found

    def _no_verdict_is_false(self) -> None:
        rules = self.bench.rules
        if rules is None:
            return
        for about, judged in rules.queue.bench.judged.items():
            if about in self.parts.worn and judged.verdict is Verdict.SERVICEABLE:
                self._break(f"{about} is worn and called serviceable")
            good = about.startswith("P") and "+" not in about and about not in self.parts.worn
            if good and judged.verdict is Verdict.DISCARD:
                self._break(f"{about} is good and called a discard")

    def _what_waited_in_a_stop_is_not_dated(self) -> None:
        """The terminal kept it, and nobody knows when it was taken: it counts for nothing."""
        readings = [x for x in self.bench.journal.lines if isinstance(x.event, ReadingTaken)]
        for stop in self.stops:
            end_ns = round(stop.end_s * 1e9)
            at_once = [
                x
                for x in readings
                if not x.event.suspect and 0 <= (x.event.at_ns or x.t_ns) - end_ns < BURST_NS
            ]
            if len(at_once) > BURST_NS / 1e9 * self.rate_hz * 1.5 + 2:
                self._break(f"{len(at_once)} readings that waited in a stop are dated to its end")

    def _nothing_shown_is_lost(self) -> None:
        lines = self.bench.journal.lines
        for seq, event in self.seen.shown:
            if seq > len(lines) or lines[seq - 1].event != event:
                self._break(f"record {seq} was shown and is not in the journal")
                return

    def _plan_and_board_agree(self) -> None:
        rules = self.bench.rules
        if rules is None:
            return
        asked = rules.queue.bench.asked
        wanted = asked.at if asked is not None else None
        if rules.queue.waiting:
            self._break(f"{rules.queue.waiting} findings never came into the journal")
        if wanted != self.seen.asked:
            self._break(f"the plan asks for {wanted}, the board shows {self.seen.asked}")
        self.played.done = self.seen.done

    def _redo_is_equal(self) -> None:
        redo = Redo(setup_of, wire_of, "world")
        redo.take(self.bench.journal.lines)  # type: ignore[arg-type]
        found = redo.result().difference
        if found is not None:
            self._break(f"redo differs at record {found.seq}: {found}")


def play(seed: int, troubles: tuple[Trouble, ...] | None = None) -> Played:
    """Play one session."""
    with sweeps_remembered() if seed % FORGETS else nullcontext():
        return Session(seed, troubles).play()


def shrink(played: Played, tried: Callable[[int, tuple[Trouble, ...]], Played] = play) -> Played:
    """Leave out troubles one after another for as long as something is still broken."""
    best = played
    at = 0
    while at < len(best.troubles):
        fewer = best.troubles[:at] + best.troubles[at + 1 :]
        smaller = tried(played.seed, fewer)
        if smaller.broken:
            best = smaller
        else:
            at += 1
    return best
