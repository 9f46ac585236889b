"""What `barrelfit size` says of one trace: as JSON, as a table's row."""

from collections.abc import Sequence
from dataclasses import dataclass, field

from barrelfit.acquire.inputs.size_options import Correction
from barrelfit.rules.length import number
from barrelfit.rules.manner import PLAIN, Manner, told, told_all
from barrelfit.rules.said import Said, said
from barrelfit.rules.sweep import GaugeTraits, PassFound, SweepRefused, SweepSized
from barrelfit.rules.sweep.stream import sweep_of
from barrelfit.rules.uncertainty.budget import Budget, Component
from barrelfit.rules.uncertainty.temperature import (
    temperature_components,
    temperature_notes,
    to_20_nm,
)

NOT_CORRECTED = said("not_corrected")
DIGITS = 4  # sizes are shown to 0.1 µm
INCH_DIGITS = 6
DASH = "-"


@dataclass(frozen=True, slots=True)
class SizedTrace:
    """One trace's answer: a size (at 20 °C where `corrected`) or a refusal. Lengths in nm."""

    name: str
    size_nm: int = 0
    read_nm: int = 0
    u_nm: float = 0.0
    low_nm: int = 0
    high_nm: int = 0
    passes: tuple[PassFound, ...] = ()
    refused: SweepRefused | None = None
    notes: tuple[Said, ...] = field(default=())


def size_file(
    name: str,
    samples: Sequence[tuple[int, int]],
    traits: GaugeTraits,
    correction: Correction | None,
) -> SizedTrace:
    """Size one trace's samples (time in ns, length in nm), correct to 20 °C where asked."""
    sweep = sweep_of(traits)
    seen = [
        note
        for t, length in samples
        for note in sweep.push(t, length)
        if isinstance(note, PassFound)
    ]
    result = sweep.estimate()
    if isinstance(result, SweepRefused):
        return SizedTrace(name, passes=tuple(seen), refused=result)
    if correction is None:
        return SizedTrace(
            name,
            result.size_nm,
            result.size_nm,
            result.u_nm,
            result.low_nm,
            result.high_nm,
            result.passes,
            notes=(NOT_CORRECTED,),
        )
    return _corrected(name, result, correction)


def _corrected(name: str, result: SweepSized, correction: Correction) -> SizedTrace:
    size_nm = to_20_nm(result.size_nm, correction.gauge, correction.part)
    budget = Budget(
        (
            Component("sweep", result.u_nm, "A", "t", result.dof, said=said("sweep")),
            *temperature_components(result.size_nm, correction.gauge, correction.part),
        )
    )
    low_nm, high_nm = budget.interval_nm(size_nm)
    notes = temperature_notes(correction.gauge, correction.part)
    return SizedTrace(
        name, size_nm, result.size_nm, budget.u_nm, low_nm, high_nm, result.passes, notes=notes
    )


def json_fields(trace: SizedTrace) -> dict[str, object]:
    """The answer as a JSON object: lengths in mm as text, uncertainty in µm."""
    refused = trace.refused
    return {
        "trace": trace.name,
        "outcome": "refused" if refused else "sized",
        "size_mm": None if refused else mm_text(trace.size_nm),
        "standard_uncertainty_um": None if refused else round(trace.u_nm / 1000, 2),
        "interval95_mm": None if refused else list(_interval(trace)),
        "passes": len(trace.passes),
        "pass_sizes_mm": [mm_text(found.size_nm) for found in trace.passes],
        "reason": refused.reason if refused else None,
        "advice": _refusal(refused) if refused else None,
        "note": "; ".join(told_all(trace.notes)) or None,
    }


def table_text(traces: Sequence[SizedTrace], manner: Manner = PLAIN) -> str:
    """The answers as a table for people, with notes and advice below."""
    unit = manner.sign
    head = ("trace", "outcome", f"size {unit}", f"95 % interval {unit}", "u um", "passes")
    rows = [head, *(_row(trace, manner) for trace in traces)]
    widths = [max(len(row[k]) for row in rows) for k in range(len(head))]
    lines = [
        "  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip()
        for row in rows
    ]
    lines += [f"{t.name}: {_refusal(t.refused, manner)}" for t in traces if t.refused]
    notes = dict.fromkeys(note for trace in traces for note in trace.notes)
    return "\n".join([*lines, *(f"note: {told(note, manner)}" for note in notes)])


def _refusal(refused: SweepRefused, manner: Manner = PLAIN) -> str:
    return told(said("refusal", what=refused.sentence, do=refused.advice), manner)


def mm_text(length_nm: int) -> str:
    """A length in mm with four decimals, rounded half to even."""
    return number(length_nm, "mm", DIGITS)


def _interval(trace: SizedTrace) -> tuple[str, str]:
    """The interval's ends, rounded outwards so that the shown one holds the true one."""
    low, high = trace.low_nm, trace.high_nm
    return number(low, "mm", DIGITS, "down"), number(high, "mm", DIGITS, "up")


def _row(trace: SizedTrace, manner: Manner) -> tuple[str, str, str, str, str, str]:
    passes = str(len(trace.passes))
    if trace.refused:
        return trace.name, trace.refused.reason, DASH, DASH, DASH, passes
    digits = DIGITS if manner.unit == "mm" else INCH_DIGITS
    low = manner.bare(trace.low_nm, digits, "down")
    high = manner.bare(trace.high_nm, digits, "up")
    size, u_um = manner.bare(trace.size_nm, digits), manner.marked(f"{trace.u_nm / 1000:.2f}")
    return trace.name, "sized", size, f"{low} to {high}", u_um, passes
