"""Every state a bench's screen may be in, as the messages that lead to it; for tests and for eyes.

Parts, sizes and limits are invented.
"""

from collections.abc import Callable, Iterator

from msgspec import to_builtins
from msgspec.structs import replace

from barrelfit.acquire.bus.plan_told import SetTold
from barrelfit.acquire.bus.snapshot import Telling
from barrelfit.acquire.inputs.set_now import setup_now
from barrelfit.acquire.inputs.setup import setup_of
from barrelfit.acquire.journal.recorder import JustRecorded
from barrelfit.rules.bench.step import begin
from barrelfit.rules.said import Said, length, said, written
from tests.acquire.recorded import opening
from tests.dashboard.scripted import MESSAGE, ScriptedBench, finding, place
from tests.rules.step_rig import with_steps

SKIRT, BORE = place("P1", "skirt"), place("B1", "bore", "top", "thrust")
SKIRT_ASK = said("ask_skirt", part="P1", height=length(12_000_000))
BORE_ASK = said("ask_bore", part="B1", depth="top", below=length(12_000_000), direction="thrust")
WEAR = said(
    "is_below",
    what=said("skirt"),
    value=length(84_870_000),
    gap=length(20_000),
    limit=length(84_890_000),
)
State = Callable[[ScriptedBench], Iterator[MESSAGE]]


def ask(b: ScriptedBench, at: dict[str, str] | None, sentence: Said, gauge: str = "outside-1"):
    data = {
        "at": at,
        "gauge": gauge if at else "",
        "sentence": sentence,
        "done": 3 if at else 0,
        "total": 28 if at else 0,
    }
    return b.batch(b.event("asked", data))


def contact(b: ScriptedBench, at: dict[str, str] = SKIRT):
    return b.batch(b.event("contact", {"at": at, "t_ns": b.t_ns}))


def passed(b: ScriptedBench, count: int, at: dict[str, str] = SKIRT) -> Iterator[MESSAGE]:
    for n in range(1, count + 1):
        start = b.t_ns
        for i in range(-8, 9):
            yield b.batch(b.reading("outside-1", 84_970_000 - abs(i) ** 3 * 90))
        data = {"at": at, "number": n, "size_nm": 84_970_000 + 700 * (n % 3), "start_ns": start,
                "end_ns": b.t_ns}  # fmt: skip
        yield b.batch(b.event("passed", data))


def waiting(b):
    yield b.snapshot()


def no_job(b):
    yield ask(b, None, said("no_job"))


def asks_skirt(b):
    yield ask(b, SKIRT, SKIRT_ASK)
    yield b.batch(b.reading("outside-1", 70_012_000))


def asks_bore(b):
    yield ask(b, BORE, BORE_ASK, "bore-1")
    yield b.batch(b.reading("bore-1", 85_012_000))


def asks_by_hand(b):
    pin = place("W1", "diameter")
    yield ask(b, pin, said("ask_pin", part="W1"), gauge="")


def asks_at_length(b):
    at = place("piston-12-left", "side", "compression-2")
    ring = said("ask_side", part="piston-12-left", ring="compression-2")
    yield ask(b, at, said("ask_type_in", ask=ring), "")


def once_more(b):
    yield ask(b, SKIRT, said("ask_undecided", ask=SKIRT_ASK))


def same_part(b):
    alike = tuple(
        said("agree_to", parts=pair, apart=length(1_000)) for pair in (("P1", "P2"), ("P3", "P4"))
    )
    yield ask(b, SKIRT, said("ask_alike", alike=alike, ask=SKIRT_ASK))


def same_part_pressed(b):
    """One press has said that they are two."""
    yield ask(b, SKIRT, said("ask_sure", parts=("P1", "P2", "P3", "P4"), ask=SKIRT_ASK))


def touched(b):
    yield from asks_skirt(b)
    yield contact(b)
    yield b.batch(b.reading("outside-1", 84_912_000))


def sweeping(b):
    yield from asks_skirt(b)
    yield contact(b)
    yield from passed(b, 3)


def doubtful(b):
    yield from asks_skirt(b)
    yield contact(b)
    yield from passed(b, 7)
    span = {"size_nm": 84_970_100, "low_nm": 84_966_900, "high_nm": 84_973_300}
    yield b.batch(b.event("still_doubtful", {"at": SKIRT, "passes": 7, **span}))


def put_down(b):
    yield from sweeping(b)
    yield b.batch(b.event("interrupted", {"at": SKIRT, "passes": 3, "least": 5}))


def started_anew(b):
    """What came back is not what was put down."""
    yield from put_down(b)
    yield contact(b)
    number = {"number": 4, "start_ns": b.t_ns, "end_ns": b.t_ns}
    yield b.batch(b.event("passed", {"at": SKIRT, "size_nm": 84_930_000, **number}))
    yield b.batch(b.event("started_anew", {"at": SKIRT, "passes": 1}))


def pass_lost(b):
    yield from sweeping(b)
    yield b.batch(b.event("pass_lost", {"at": SKIRT, "t_ns": b.t_ns}))


def not_counted(b):
    yield from asks_skirt(b)
    yield b.batch(b.event("not_counted", {"at": SKIRT}))


def away(b):
    """What was measured last is off its gauge, and is not gone yet."""
    yield from asks_skirt(b)
    since = {"at": SKIRT, "since_ns": b.t_ns, "gone_ns": 2_400_000_000}
    yield b.batch(b.event("part_away", since))


def coached(b):
    yield from sweeping(b)
    helps = {"at": SKIRT, "passes": 3, "sentence": said("do_rest_flatter")}
    yield b.batch(b.event("coached", helps))


def far_off(b):
    yield from asks_skirt(b)
    data = {"at": SKIRT, "gauge": "outside-1", "code": "zeroed", "read_nm": 12_000,
            "expected_nm": 84_970_000}  # fmt: skip
    yield b.batch(b.event("far_off", data))


def answered(verdict: str) -> State:
    def state(b):
        yield from asks_skirt(b)
        found = finding("W1", 2, "P1", WEAR, value_nm=84_870_000, limit_nm=84_890_000,
                        limit_from="flat-four-85 rev A, group II")  # fmt: skip
        todo = "measure it once more at 20 °C" if verdict != "serviceable" else ""
        yield b.batch(
            b.sized(SKIRT, 84_870_000, [84_870_000] * 5), b.judged("P1", verdict, [found], todo)
        )
        yield ask(b, place("P2", "skirt"), said("ask_skirt", part="P2", height=length(12_000_000)))

    return state


def answered_place(b):
    yield from asks_bore(b)
    yield b.batch(b.sized(BORE, 85_012_000, [85_012_000] * 5))
    at = place("B1", "bore", "middle", "thrust")
    middle = said(
        "ask_bore", part="B1", depth="middle", below=length(54_000_000), direction="thrust"
    )
    yield ask(b, at, middle, "bore-1")


def refused(b):
    yield from asks_skirt(b)
    data = {
        "at": SKIRT,
        "reason": "drift",
        "sentence": said("drift"),
        "advice": said("do_let_settle"),
    }
    yield b.batch(b.event("refused", data))


def refused_once(b):
    """As refused, with an ask of one short line."""
    yield from refused(b)
    yield ask(b, place("W2", "diameter"), said("ask_pin", part="W2"))


def overridden(b):
    yield from answered("discard")(b)
    data = {"about": "P1", "verdict": "rework", "who": "R. Lead", "reason": "skirt can be knurled"}
    yield b.batch(b.event("overridden", data))


def undone(b):
    yield from answered("discard")(b)
    yield b.batch(b.event("taken_back", {"at": SKIRT}))
    yield from asks_skirt(b)


def lost(b):
    yield from asks_skirt(b)
    data = {"gauge": "outside-1", "state": "lost", "reason": "the port vanished"}
    b.gauge_states["outside-1"] = "lost"
    yield b.batch(b.event("gauge_changed", data))


def not_recording(b):
    yield from sweeping(b)
    b.trouble = "no space is left on the disk"
    yield b.batch(b.event("recording_stopped", {"reason": b.trouble}))


def seated(number: int, piston: str, barrel: str):
    whole = piston and barrel
    return {
        "cylinder": number,
        "bank": "left" if number < 3 else "right",
        "piston": piston,
        "barrel": barrel,
        "tight_nm": 45_000 if whole else None,
        "loose_nm": 62_000 if whole else None,
    }


def asks_fact(b):
    """A fact that is asked for, as the rules and the plan tell it: chosen, or typed."""
    text = f'head_seal = "spigot"\n{opening().set_text}'
    opened = replace(opening(), bench=b.bench, job=b.job, set_text=text)
    setup = with_steps(setup_of(opened), steps=(FACTS[b.job],))
    pedal = {"next": "press", "again": "long", "undo": "double"}
    told = Telling(b.bench, b.session, lambda s: SetTold.of(setup_now(setup, s), None, pedal))
    told.take(JustRecorded(1, None, opened))
    for number, event in enumerate(begin(setup)[1], start=2):
        told.take(JustRecorded(number, number - 1, event))
    yield b.topic("snapshot"), to_builtins(told.snapshot(9, "…")), True


def ended(
    outcome: str, seats: list[tuple[int, str, str]], verdicts: dict[str, str], *lines: str
) -> State:
    """A finished set: its seats (cylinder, piston, barrel) and the verdicts that are not sound."""

    def state(b):
        names = [f"{kind}{n}" for kind in "PB" for n in range(1, b.cylinders + 1)]
        for index, f in enumerate(names):
            at = place(f, "skirt") if f[0] == "P" else place(f, "bore", "top", "thrust")
            yield b.batch(b.sized(at, 84_900_000 + index, []))
        for f in names:
            if f[0] == "B":
                more = [
                    place(f, "bore", d, w)
                    for d in ("top", "middle", "bottom")
                    for w in ("thrust", "pin")
                ]
                yield b.batch(*(b.sized(at, 84_960_000, []) for at in more))
            yield b.batch(b.judged(f, verdicts.get(f, "serviceable"), []))
        pairs = [seated(n, p, q) for n, p, q in seats]
        spread = 3_000 if outcome == "matched" else None
        match = {"outcome": outcome, "pairs": pairs, "spread_nm": spread,
                 "sentences": [written(line) for line in lines]}  # fmt: skip
        counts = {
            word: sum(v == word for v in verdicts.values())
            for word in ("rework", "discard", "undecided")
        }
        done = {"serviceable": len(names) - len(verdicts), **counts}
        yield b.batch(b.event("matched", match))
        yield ask(b, None, said("set_is_measured"))
        yield b.batch(b.event("set_done", done))

    return state


def seats(*but: int) -> list[tuple[int, str, str]]:
    return [(n, "" if n in but else f"P{n}", f"B{n}") for n in range(1, 5)]


BUY = "cylinder 3: a piston for B3, one of, best first: group II (84.910), clearance 0.048"
STATES: dict[str, State] = {
    "waiting": waiting,
    "no-job": no_job,
    "asks-skirt": asks_skirt,
    "asks-bore": asks_bore,
    "asks-by-hand": asks_by_hand,
    "asks-at-length": asks_at_length,
    "asks-look": asks_fact,
    "asks-stamp": asks_fact,
    "once-more": once_more,
    "same-part": same_part,
    "same-part-pressed": same_part_pressed,
    "touched": touched,
    "sweeping": sweeping,
    "doubtful": doubtful,
    "put-down": put_down,
    "started-anew": started_anew,
    "pass-lost": pass_lost,
    "not-counted": not_counted,
    "away": away,
    "coached": coached,
    "far-off": far_off,
    "serviceable": answered("serviceable"),
    "rework": answered("rework"),
    "discard": answered("discard"),
    "undecided": answered("undecided"),
    "answered-place": answered_place,
    "refused": refused,
    "refused-once": refused_once,
    "overridden": overridden,
    "asks-after": answered("rework"),
    "undone": undone,
    "lost": lost,
    "not-recording": not_recording,
    "set-ready": ended("matched", seats(), {}),
    "set-waits": ended("provisional", seats(), {"P3": "undecided", "B1": "undecided"},
                       "undecided: P3, B1"),
    "set-empty": ended("provisional", seats(3), {"P3": "discard"}, BUY),
    "set-impossible": ended("impossible", [], {"P2": "discard"}, "P1 fits no barrel of the set",
                            "another piston for B2: group III"),
    "set-rework": ended("after rework", seats(), {"B2": "rework"}, "rework first: B2",
                        "planned with B2 honed to 85.020 mm; measure again after honing"),
}  # fmt: skip


FACTS = {"asks-look": "look", "asks-stamp": "identify"}
"""States in which a fact of a step is asked for."""
LONG_AGO = {"asks-after", *(name for name in STATES if name.startswith("set-"))}
"""States whose last answer was seen to come by nobody: it has been read."""


def messages(name: str, bench: str, clock: Callable[[], int] | None = None) -> Iterator[MESSAGE]:
    """A session of its own that is in a state; its job is called like the state."""
    b = ScriptedBench(bench=bench, session=f"s-{name}", clock=clock, job=name)
    opened = {"session": b.session, "bench": bench, "job": name}
    told = [b.batch(b.event("session_opened", opened)), b.snapshot(), *STATES[name](b)]
    yield b.state()
    if name in FACTS:
        yield from asks_fact(b)
    elif name in LONG_AGO:
        yield b.snapshot()
    else:
        yield from told
    yield b.heartbeat()
