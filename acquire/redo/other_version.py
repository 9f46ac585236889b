"""A stretch that another version recorded, through today's rules: result by result.

Rules change on purpose. Once they say something else than the record, word by word tells nothing
more; sizes and verdicts do. The hand did what the recording version asked for, so that is asked for
here too, and a sweep that it began anew begins anew: today's rules must not count a part for
another one. Pure.
"""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Final

from barrelfit.acquire.fold.state import SessionState
from barrelfit.acquire.journal.codes import code_said
from barrelfit.rules.bench.asking import ask_next
from barrelfit.rules.bench.phases import DOUBTED, Armed, Done, Hold, Leaving, ToTell
from barrelfit.rules.bench.state import Bench
from barrelfit.rules.bench.step import step
from barrelfit.rules.bench.two_parts import settle
from barrelfit.rules.events import (
    Asked,
    Input,
    Judged,
    Output,
    PedalPressed,
    Refused,
    Sized,
    TwoPartsSettled,
    Wanted,
)
from barrelfit.rules.judge.docket import verdict_said
from barrelfit.rules.model import FeatureId, Size
from barrelfit.rules.said import NOTHING, Said, length, said
from barrelfit.rules.telling import BoardAwaited
from barrelfit.rules.told import FactTold

NO_SIZE: Final = said("no_size_was")
NO_VERDICT: Final = said("no_verdict_was")
UNASKED: Final = said("no_sweep_ends")
_NO_SWEEP: Final = frozenset({"entry-held", "too-soon"})  # refusals of what was typed or pressed


@dataclass(frozen=True, slots=True)
class Compared:
    """A size or verdict (`kind`) about a feature, part or pair, as it was recorded and today.

    A size is the same only to the nanometre. `because` gives the reason where they differ.
    """

    kind: str
    about: str
    was: Said
    now: Said
    is_same: bool
    because: Said = NOTHING


class Steered:
    """Today's bench, led through what another version asked for.

    What today's bench asks for is heard once the record asks for it, too: till then the hand swept
    what was asked before, and that counts for nothing else.

    Args:
        bench: as it was when the rules first said something else.
        asked: the feature that the record had asked for by then.
        found: what it had found by then, and the record did not hold yet.
    """

    def __init__(self, bench: Bench, asked: FeatureId | None, found: Iterable[Output]) -> None:
        self.bench = bench
        self._then = asked
        self._waits: Asked | None = None
        self._refused: dict[FeatureId, Refused] = {}
        self._sized: dict[FeatureId, Sized] = {}
        self._swept: Armed | None = None
        self._take(tuple(found))

    def hear(self, event: Input) -> None:
        """Take what happened; what is asked for because of it is known to be said at once."""
        if isinstance(event, BoardAwaited):
            return  # its asks have numbers of their own
        before = self.bench.phase
        if isinstance(event, FactTold) and event.ask and isinstance(before, ToTell):
            event = replace(event, ask=before.number)  # it answered what was asked then
        _, found = step(self.bench, event)
        if isinstance(before, Armed) and before.touched and self.bench.phase is not before:
            self._swept = before
        self._take(found)

    def said(self, event: Output, t_ns: int) -> None:
        """What the recording version said, as far as a hand goes by it."""
        asked, phase = self.bench.asked, self.bench.phase
        if isinstance(event, Asked):
            self._then, waits, self._waits = event.at, self._waits, None
            if waits is not None and waits.at == event.at:
                self.hear(waits)
            elif event.at is not None and (asked is None or asked.at != event.at):
                self._hold()
                self.hear(Wanted(t_ns, event.at))
            self._swept = None
        elif isinstance(event, TwoPartsSettled) and event.how == "pressed":
            self._answered(event.feature)
        elif isinstance(event, Refused) and isinstance(phase, Armed) and phase.passes:
            ask = phase.ask
            if ask.at == event.at and ask.why not in DOUBTED and event.reason not in _NO_SWEEP:
                self.hear(PedalPressed(t_ns, "again"))

    def _answered(self, feature: str) -> None:
        """A press was a yes to what was asked then; today's question may ask for one more."""
        phase = self.bench.phase
        if not isinstance(phase, Done) and phase.ask.why in DOUBTED:
            self._take((*settle(self.bench, feature, "pressed"), *ask_next(self.bench)))

    def _hold(self) -> None:
        """What was swept last is in its gauge still, though another one was to be taken today."""
        swept = self._swept
        if swept is not None:
            hold = Hold(swept.gauge, swept.ask.at, swept.stays)
            self.bench.phase = Leaving(swept.ask, swept.gauge, hold)

    def compared(self, state: SessionState) -> list[Compared]:
        """Every size and verdict, recorded and today; `state` is what stands in the record."""
        recorded = {at: stood.event for at, stood in state.sizes.items()}
        places = [p.at for p in self.bench.plan]
        places += [at for at in [*recorded, *self.bench.sizes] if at not in places]
        sizes = [self._size(at, recorded.get(at)) for at in places]
        told = {about: stood.event for about, stood in state.judged.items()}
        abouts = dict.fromkeys([*told, *self.bench.judged])
        verdicts = [_verdict(a, told.get(a), self.bench.judged.get(a)) for a in abouts]
        return [one for one in [*sizes, *verdicts] if one is not None]

    def _take(self, found: tuple[Output, ...]) -> None:
        for output in found:
            if isinstance(output, Refused):
                self._refused[output.at] = output
            elif isinstance(output, Sized):
                self._sized[output.at] = output
        asks = [output for output in found if isinstance(output, Asked)]
        if not asks:
            return
        asked = asks[-1]  # of several the last one counts
        if asked.at in {self._then, None}:
            self.hear(asked)
        else:
            self._waits = asked

    def _size(self, at: FeatureId, was: Sized | None) -> Compared | None:
        stands = self.bench.sizes.get(at)
        then = None if was is None else (was.size_nm, was.low_nm, was.high_nm)
        now = None if stands is None else _numbers(stands)
        if then is None and now is None:
            return None
        because = NOTHING if then == now else self._why(at, was, stands)
        return Compared("size", str(at), _size_text(then), _size_text(now), then == now, because)

    def _why(self, at: FeatureId, was: Sized | None, stands: Size | None) -> Said:
        if stands is None:
            refused = self._refused.get(at)
            return UNASKED if refused is None else refused.sentence
        now = self._sized.get(at)
        if was is None or now is None:
            return said("in_one_only")
        if was.estimator != now.estimator:
            before, today = (code_said("sized", "estimator", one.estimator) for one in (was, now))
            return said("estimators_differ", was=before, now=today)
        if was.pass_sizes_nm != now.pass_sizes_nm:
            was_count, now_count = len(was.pass_sizes_nm), len(now.pass_sizes_nm)
            return said("other_passes", was=was_count, now=now_count)
        before, today = (_taught(one) for one in (was, now))
        if before != today:
            return said("taught_otherwise", how=today) if today else said("taught_no_more")
        return said("weighed_otherwise")


def _taught(sized: Sized) -> Said:
    """What is said of the sweeps that taught this one."""
    return next((note for note in sized.notes if note.key == "taught_by"), NOTHING)


def _numbers(size: Size) -> tuple[int, int, int]:
    return (size.size_nm, *size.budget.interval_nm(size.size_nm))


def _size_text(numbers: tuple[int, int, int] | None) -> Said:
    if numbers is None:
        return NO_SIZE
    size, low, high = map(length, numbers)
    return said("size_within", size=size, low=low, high=high)


def _verdict(about: str, was: Judged | None, now: Judged | None) -> Compared:
    then = NO_VERDICT if was is None else verdict_said(was.verdict)
    today = NO_VERDICT if now is None else verdict_said(now.verdict)
    is_same = then == today
    return Compared("verdict", about, then, today, is_same, NOTHING if is_same else _reason(now))


def _reason(now: Judged | None) -> Said:
    """The weightiest of what today's rules say."""
    if now is None or not now.findings:
        return said("nothing_said_of_it")
    return max(now.findings, key=lambda finding: finding.severity).sentence
