"""From a sweep's size as read, or a typed value, to a size at 20 °C with its whole budget."""

from collections.abc import Iterable

from barrelfit.rules.bench.found import AsFound, FoundSize
from barrelfit.rules.bench.setup import GaugeOnBench
from barrelfit.rules.bench.state import Bench
from barrelfit.rules.engine.catalogue.material import material_of, touched
from barrelfit.rules.events import Sized
from barrelfit.rules.judge.by_hand import ASSUMED, size_by_hand
from barrelfit.rules.judge.plan import PlannedFeature
from barrelfit.rules.model import FeatureId, Movement, Size
from barrelfit.rules.said import Said, said
from barrelfit.rules.sweep import GaugeTraits, SweepSized
from barrelfit.rules.uncertainty.materials import Material
from barrelfit.rules.uncertainty.size_budget import (
    BALLS,
    FACES,
    AsRead,
    GaugeFacts,
    PartFacts,
    budget_lines,
    size_budget,
    typed_in,
)

# Of a part whose kind says nothing of its material: wide enough for steel and light alloy alike.
ANY_METAL = Material("any-metal", 17_500, 6_500, "between steel and light alloy", "from memory")


def of_sweep(swept: SweepSized, taught_by: Iterable[FeatureId] = ()) -> FoundSize:
    """Take over a sweep's result; `taught_by` are the features whose sweeps taught it."""
    read = AsRead(swept.size_nm, swept.u_sweep_nm, swept.dof, swept.u_digit_nm)
    return FoundSize(
        read,
        swept.estimator,
        swept.rank,
        swept.pass_sizes_nm,
        lesson=swept.lesson,
        taught_by=tuple(taught_by) if swept.lesson is not None else (),
    )


def of_entry(length_nm: int, digit_nm: int) -> FoundSize:
    """Take over a typed length, in nm, of a gauge that shows steps of `digit_nm`."""
    return FoundSize(typed_in(length_nm, digit_nm), "typed in", "one two-point size", source="hand")


def size_at_20(
    bench: Bench, at: FeatureId, gauge: GaugeOnBench, found: FoundSize
) -> tuple[Size, Sized]:
    """Correct to 20 °C, assemble the budget, and say both as a size and as an event.

    How it was read is kept: a part may turn out to be made of something else.

    Args:
        bench: where temperatures and materials are known.
        at: the feature.
        gauge: the gauge that read it.
        found: what it read.
    """
    size, event = at_20(bench, at, AsFound(gauge, found, bench.temperatures))
    bench.read_as[size] = AsFound(gauge, found, bench.temperatures)
    return size, event


def at_20(bench: Bench, at: FeatureId, found_as: AsFound) -> tuple[Size, Sized]:
    """The size of what was found, with the part's material as it is known now."""
    gauge, found = found_as.gauge, found_as.found
    part = PartFacts(at.part, part_material(bench, at))
    result = size_budget(found.read, gauge.facts, part, found_as.temperatures)
    budget = result.budget
    low_nm, high_nm = budget.interval_nm(result.size_nm)
    size = Size(at, result.size_nm, found.read.read_nm, budget, found.source)
    event = Sized(
        at=at,
        size_nm=result.size_nm,
        read_nm=found.read.read_nm,
        u_nm=budget.u_nm,
        low_nm=low_nm,
        high_nm=high_nm,
        pass_sizes_nm=found.pass_sizes_nm,
        estimator=found.estimator,
        rank=found.rank,
        source=found.source,
        budget=budget_lines(budget),
        notes=(*result.notes, *_taught(found)),
    )
    return size, event


def _taught(found: FoundSize) -> tuple[Said, ...]:
    by = tuple(str(at) for at in found.taught_by)
    return (said("taught_by", by=by),) if by else ()


def sized_by_hand(at: FeatureId, length_nm: int) -> tuple[Size, Sized]:
    """A length typed in from a feeler, scale or caliper, both as a size and as an event."""
    size = size_by_hand(at, length_nm)
    low_nm, high_nm = size.budget.interval_nm(length_nm)
    event = Sized(
        at=at,
        size_nm=length_nm,
        read_nm=length_nm,
        u_nm=size.budget.u_nm,
        low_nm=low_nm,
        high_nm=high_nm,
        pass_sizes_nm=(),
        estimator="typed in",
        rank="one value by hand",
        source=size.source,
        budget=budget_lines(size.budget),
        notes=(ASSUMED,),
    )
    return size, event


def gauge_off_bench(bench: Bench, planned: PlannedFeature, digit_nm: int) -> GaugeOnBench:
    """A gauge of which only a typed value is known: steel, its setting unknown.

    Args:
        bench: where the materials are known.
        planned: what it measured.
        digit_nm: last digit of the value as typed, in nm.
    """
    is_bore = planned.gauge_kind == "bore"
    movement = Movement.BORE if is_bore else Movement.FOLLOWING
    steel = bench.setup.materials.get("gauge-steel", ANY_METAL)
    name = f"off the bench ({planned.gauge_kind})"
    facts = GaugeFacts(name, steel, BALLS if is_bore else FACES)
    return GaugeOnBench(name, planned.gauge_kind, GaugeTraits(movement, digit_nm), facts, 1)


def part_material(bench: Bench, at: FeatureId) -> Material:
    """What a feature's part is made of, as the sheet says; any metal where it says nothing."""
    engine = bench.setup.engine
    part = touched(engine, at) or engine.part(at.part)
    return bench.setup.materials.get(material_of(bench.setup.sheet, part), ANY_METAL)
