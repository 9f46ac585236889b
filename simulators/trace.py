"""Labelled traces: sweeps of every movement, good ones and every kind of bad one, truth known.

A kind is a movement, or a movement and a trouble: `to-and-fro`, `in-and-out`, `screw`, `bore`,
`bore/chords-only`. What a trace's `expect` says of it:

- `size`: a good sweep; its size is `truth_nm`
- `refuse`: no size may come of it
- `either`: a size is right only when it is `truth_nm`; a refusal is right too

What the caller does not fix is drawn from the seed: `TraceOptions` lists it with its ranges.
"""

import math
import random
from collections.abc import Sequence
from dataclasses import asdict, dataclass, fields

from barrelfit.simulators.gauge import Gauge, GaugeTraits
from barrelfit.simulators.hand import WANDERS, Hand, WaveWander
from barrelfit.simulators.part import NM_PER_MM, Bore, Skirt, grown, to_nm
from barrelfit.simulators.player import Player, Shown, still
from barrelfit.simulators.spoiled import spoil
from barrelfit.simulators.troubled import EXPECT, TROUBLES, Plot, plot_for

MOVEMENTS = {"to-and-fro": "following", "in-and-out": "following", "screw": "screw", "bore": "bore"}
# A barrelled skirt falls back by 15 to 150 µm over 25 mm from its belly: 25²/(2·fall) mm.
PROFILE_MM = (2_000.0, 20_000.0)
SHAPES = ("plain", "barrelled", "oval", "barrelled-oval")


@dataclass(frozen=True, slots=True)
class TraceOptions:
    """How a trace is made; a field left None is drawn from the seed.

    Angles in degrees, temperatures in °C, shares per sample. `tilt_deg` is the tilt's amplitude as
    of a wave: its root mean square is that over √2, and single peaks go beyond it.
    """

    size_mm: float | None = None  # at 20 °C; 83.85 to 84.15
    digit_nm: int = 1_000  # 1000, 500 or 1270 (0.00005 in)
    noise_um: float | None = None  # 0.3 to 1.5
    tilt_deg: float | None = None  # 0.1 to 0.2
    lean_deg: float | None = None  # -0.04 to 0.04, the same through the whole trace
    wander: str | None = None  # waves, pull or walk
    shape: str | None = None  # plain, barrelled, oval or barrelled-oval
    passes: int | None = None  # 5 to 8; rocks of a bore gauge 7 to 12
    jitter: float | None = None  # 0.02 to 0.12 of the time between samples
    bounce_share: float | None = None  # 0 or 0.01 to 0.03
    missed_share: float | None = None  # 0 or 0.01 to 0.03
    face_mm: float = 3.25
    tip_mm: float = 2.0
    part_c: float = 20.0
    gauge_c: float = 20.0
    zero_um: float = 0.0


@dataclass(frozen=True, slots=True)
class Trace:
    """A labelled trace. `samples` are (t_s, reading_mm); truth is the part's size as it is now."""

    kind: str
    movement: str
    expect: str
    seed: int
    rate_hz: float
    truth_nm: int | None
    truth20_nm: int | None
    times_ns: tuple[int, ...]
    readings_nm: tuple[int, ...]
    range_nm: tuple[int, int] | None
    options: TraceOptions

    @property
    def samples(self) -> list[tuple[float, float]]:
        """Samples as (seconds, mm)."""
        pairs = zip(self.times_ns, self.readings_nm, strict=True)
        return [(t / 1e9, nm / NM_PER_MM) for t, nm in pairs]

    @property
    def samples_ns(self) -> list[tuple[int, int]]:
        """Samples as (nanoseconds, nm), exact."""
        return list(zip(self.times_ns, self.readings_nm, strict=True))

    def csv(self) -> str:
        """The samples as text with the header `t_s,reading_mm`; every digit of the reading kept."""
        return csv_text(self.samples_ns)


def csv_text(samples_ns: Sequence[tuple[int, int]]) -> str:
    """Samples (ns, nm) as lines of seconds and mm; every digit of the reading kept."""
    rows = [f"{t / 1e9:.6f},{mm_text(nm)}" for t, nm in samples_ns]
    return "\n".join(["t_s,reading_mm", *rows]) + "\n"


def mm_text(length_nm: int) -> str:
    """A length in nm as exact mm, at least three decimals."""
    sign = "-" if length_nm < 0 else ""
    whole, rest = divmod(abs(length_nm), NM_PER_MM)
    decimals = f"{rest:06d}"
    return f"{sign}{whole}.{decimals[:3]}{decimals[3:].rstrip('0')}"


def kinds() -> tuple[str, ...]:
    """Every kind of trace there is, good kinds first."""
    good = tuple(MOVEMENTS)
    return good + tuple(f"{m}/{t}" for m in good for t in TROUBLES if MOVEMENTS[m] in TROUBLES[t])


def make_trace(kind: str, rate_hz: float = 20.0, seed: int = 1, **options: object) -> Trace:
    """Make one labelled trace.

    Args:
        kind: one of `kinds()`.
        rate_hz: readings a second, 5 to 50.
        seed: the same seed and options give the same trace.
        options: fields of `TraceOptions`.

    Raises:
        ValueError: no such kind or option.
    """
    movement_name, _, trouble = kind.partition("/")
    if kind not in kinds():
        message = f"no kind of trace is called '{kind}'; there are: {', '.join(kinds())}"
        raise ValueError(message)
    unknown = set(options) - {f.name for f in fields(TraceOptions)}
    if unknown:
        message = f"no trace option is called {', '.join(sorted(unknown))}"
        raise ValueError(message)
    chance = random.Random(f"{kind} {rate_hz} {seed}")
    drawn = _draw(TraceOptions(**options), movement_name, chance)  # type: ignore[arg-type]
    part = _part(drawn, movement_name, chance)
    traits = _traits(drawn, MOVEMENTS[movement_name], rate_hz, part, chance)
    plot = plot_for(movement_name, trouble, traits, drawn.passes or 6, chance)
    shown = _play(plot, part, traits, drawn, chance)
    samples = spoil(trouble, shown, traits.movement, traits.face_mm, chance)
    sized = EXPECT.get(trouble, "size") != "refuse"
    return Trace(
        kind=kind,
        movement=MOVEMENTS[movement_name],
        expect=EXPECT.get(trouble, "size"),
        seed=seed,
        rate_hz=rate_hz,
        truth_nm=to_nm(_truth_mm(part, traits)) if sized else None,
        truth20_nm=to_nm(drawn.size_mm or 0.0) if sized else None,
        times_ns=tuple(t for t, _ in samples),
        readings_nm=tuple(nm for _, nm in samples),
        range_nm=plot.range_nm,
        options=drawn,
    )


def _draw(given: TraceOptions, movement_name: str, chance: random.Random) -> TraceOptions:
    """Draw what was left open; every draw is made, so that fixing one leaves the others."""
    rocks = movement_name == "bore"
    drawn = {
        "size_mm": round(chance.uniform(83.85, 84.15), 6),
        "noise_um": chance.uniform(0.3, 1.5),
        "tilt_deg": chance.uniform(0.05, 0.1) if rocks else chance.uniform(0.1, 0.2),
        "lean_deg": chance.uniform(-0.04, 0.04),
        "wander": "waves" if rocks else chance.choice(tuple(WANDERS)),
        "shape": chance.choice(SHAPES),
        "passes": chance.randint(7, 12) if rocks else chance.randint(5, 8),
        "jitter": chance.uniform(0.02, 0.12),
        "bounce_share": chance.choice((0.0, chance.uniform(0.01, 0.03))),
        "missed_share": chance.choice((0.0, chance.uniform(0.01, 0.03))),
    }
    return TraceOptions(**{**drawn, **{k: v for k, v in asdict(given).items() if v is not None}})


def _part(drawn: TraceOptions, movement_name: str, chance: random.Random) -> Skirt | Bore:
    """The part as large as it is at its temperature."""
    size20 = drawn.size_mm or 0.0
    if movement_name == "bore":
        return Bore(grown(size20, "grey-iron", drawn.part_c))
    shape = drawn.shape or "plain"
    profile = math.exp(chance.uniform(math.log(PROFILE_MM[0]), math.log(PROFILE_MM[1])))
    oval = chance.uniform(0.15, 0.45)
    return Skirt(
        grown(size20, "aluminium-silicon", drawn.part_c),
        oval_mm=oval if "oval" in shape else 0.0,
        profile_mm=profile if "barrelled" in shape else math.inf,
        belly_mm=chance.uniform(-1.0, 1.0),
    )


def _truth_mm(part: Skirt | Bore, traits: GaugeTraits) -> float:
    return part.size_mm if isinstance(part, Bore) else part.truth_mm(traits.face_mm)


def _traits(
    drawn: TraceOptions,
    movement: str,
    rate_hz: float,
    part: Skirt | Bore,
    chance: random.Random,
) -> GaugeTraits:
    rest = {
        "following": -chance.uniform(0.6, 2.5),
        "screw": chance.uniform(0.8, 2.0),
        "bore": chance.uniform(0.6, 1.2),
    }[movement]
    return GaugeTraits(
        movement=movement,
        digit_nm=drawn.digit_nm,
        rate_hz=rate_hz,
        jitter=drawn.jitter or 0.0,
        face_mm=drawn.face_mm,
        tip_mm=drawn.tip_mm,
        rest_mm=part.size_mm + rest,
        noise_um=drawn.noise_um or 0.0,
        bounce_share=drawn.bounce_share or 0.0,
        missed_share=drawn.missed_share or 0.0,
        zero_um=drawn.zero_um,
        expansion_per_k=11.5e-6,
        gauge_c=drawn.gauge_c,
    )


def _play(
    plot: Plot, part: Skirt | Bore, traits: GaugeTraits, drawn: TraceOptions, chance: random.Random
) -> list[Shown]:
    rms = math.radians(drawn.tilt_deg or 0.0) / math.sqrt(2.0) * plot.wander_share
    wander = WANDERS[drawn.wander or "waves"](rms, chance)
    turn = WaveWander(math.radians(0.5), chance)
    hand = Hand(wander, turn, math.radians(drawn.lean_deg or 0.0))
    hand.add(plot.motions)
    parts = [still(part), *(change(part) for change in plot.others)]
    if plot.creep is not None:
        parts[0] = plot.creep(part, hand.busy_until_s)
    player = Player(Gauge(traits, chance), hand, parts)
    shown = []
    while player.t_s < hand.busy_until_s:
        shown.append(player.next())
    return shown
