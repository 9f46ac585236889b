"""One size, from what the gauge showed to its value at 20 °C with its whole budget.

Beside the temperatures (see `rules.uncertainty.temperature`) a size carries

* the sweep's repeatability, with its degrees of freedom, and the last digit (resolution/√12);
* the gauge's setting: what it was set with, shared by every gauge set with the same;
* contact deformation, never corrected: rectangular, half-width h·(force/5 N)^(2/3), the power with
  which an elliptic Hertz contact yields. Flat faces on a barrelled skirt: h = 0.5 µm (0.8 µm at
  10 N). Ball tips in a bore: h = 0.85 µm, the most that a light-alloy wall gives way more than the
  steel of a setting ring does. Both are this project's own figures from Hertz's formulas.

The flexing of a thin skirt under the anvils is in no formula: the sweep's repeatability shows it.
"""

import math
from dataclasses import dataclass
from typing import NamedTuple

from barrelfit.rules.said import Said, decimal, said, small
from barrelfit.rules.uncertainty.budget import (
    Budget,
    BudgetLine,
    Component,
    dof_from_doubt,
    rectangular,
)
from barrelfit.rules.uncertainty.materials import Material
from barrelfit.rules.uncertainty.temperature import (
    Temperatures,
    gauge_body,
    part_body,
    temperature_components,
    temperature_notes,
    to_20_nm,
)

UNKNOWN_SETTING_NM = 5_000  # half-width; a 75 to 100 mm micrometer's limit of error, from memory
FORCE_REFERENCE_MN = 5_000  # force of the half-widths below


@dataclass(frozen=True, slots=True)
class ContactKind:
    """How a gauge touches the part: half-width at 5 N in nm, and the force taken if none is known.

    Attributes:
        name: of the shape.
        half_width_nm: at 5 N.
        force_mn: in millinewtons, when the gauge's own is not known.
        said: the shape, for the report.
    """

    name: str
    half_width_nm: int
    force_mn: int
    said: Said


FACES = ContactKind("flat faces", 500, 10_000, said("flat_faces"))
BALLS = ContactKind("ball tips", 850, 5_000, said("ball_tips"))


@dataclass(frozen=True, slots=True)
class AsRead:
    """What the gauge showed for one feature, before any correction.

    Attributes:
        read_nm: the size as read, in nm.
        u_sweep_nm: standard uncertainty of the sweep without the digit, in nm.
        sweep_dof: its degrees of freedom, above 0.
        u_digit_nm: standard uncertainty left of the last digit, in nm.
        by_hand: one value typed in, whose repeatability is assumed (see `typed_in`).
    """

    read_nm: int
    u_sweep_nm: float
    sweep_dof: float
    u_digit_nm: float
    by_hand: bool = False


@dataclass(frozen=True, slots=True)
class Setting:
    """How a gauge was set: the standard's name, and the standard uncertainties in nm.

    Attributes:
        standard: the ring or block it was set with; the same name in two gauges is one cause.
            Empty when the gauge stands for itself (a micrometer with a certificate).
        u_nm: of the standard as used, in nm.
        u_repeat_nm: of setting the gauge with it once, in nm (see `rules.uncertainty.calibration`).
        repeat_dof: degrees of freedom of u_repeat_nm.
    """

    standard: str
    u_nm: float
    u_repeat_nm: float = 0.0
    repeat_dof: float = math.inf


@dataclass(frozen=True, slots=True)
class GaugeFacts:
    """What a budget has to know of a gauge."""

    name: str
    material: Material
    contact: ContactKind = FACES
    setting: Setting | None = None
    force_mn: int | None = None


@dataclass(frozen=True, slots=True)
class PartFacts:
    """What a budget has to know of a part: its id (`P1`) and material."""

    name: str
    material: Material


class SizeAt20(NamedTuple):
    """A size at 20 °C in whole nm, its budget, and notes on what had to be assumed."""

    size_nm: int
    budget: Budget
    notes: tuple[Said, ...]


def size_budget(
    read: AsRead, gauge: GaugeFacts, part: PartFacts, temperatures: Temperatures
) -> SizeAt20:
    """Correct one reading to 20 °C and assemble the budget of the result.

    Raises:
        RulesError: a temperature is out of all reason (see `rules.uncertainty.temperature`).
    """
    gauge_at = gauge_body(f"gauge {gauge.name}", gauge.material, temperatures)
    part_at = part_body(part.name, part.material, temperatures)
    components = (
        _repeatability(read),
        Component("digit", read.u_digit_nm, "B", "rectangular", said=said("digit")),
        *_setting_components(gauge),
        contact_component(gauge, part.name),
        *temperature_components(read.read_nm, gauge_at, part_at),
    )
    typed = (said("typed_in_once"),) if read.by_hand else ()
    notes = (*typed, *_setting_notes(gauge), *temperature_notes(gauge_at, part_at))
    return SizeAt20(to_20_nm(read.read_nm, gauge_at, part_at), Budget(components), notes)


def digit_u_nm(digit_nm: int) -> float:
    """Standard uncertainty of one reading from its last digit, resolution/√12, in nm."""
    return rectangular(digit_nm / 2.0)


def typed_in(read_nm: int, digit_nm: int) -> AsRead:
    """One value typed in by hand from a gauge that shows steps of `digit_nm`.

    One value says nothing of its repeatability: one digit is assumed, doubtful by a quarter.
    """
    dof = dof_from_doubt(0.25)
    return AsRead(read_nm, float(digit_nm), dof, digit_u_nm(digit_nm), by_hand=True)


def contact_component(gauge: GaugeFacts, part: str) -> Component:
    """Budget line of the contact's deformation; cancels between sizes of one part by one gauge."""
    contact = gauge.contact
    force_mn = contact.force_mn if gauge.force_mn is None else gauge.force_mn
    half_width_nm = contact.half_width_nm * (force_mn / FORCE_REFERENCE_MN) ** (2.0 / 3.0)
    assumed = " assumed" if gauge.force_mn is None else ""
    force = f"{force_mn / 1000:g}"
    name = f"contact of {contact.name}, {force} N{assumed}"
    newtons = said("number_in", number=decimal(force), unit="N")
    told = said("contact_of", what=contact.said, force=newtons)
    if assumed:
        told = said("contact_assumed", what=contact.said, force=newtons)
    shared = f"contact of gauge {gauge.name} on {part}"
    u_nm = rectangular(half_width_nm)
    return Component(name, u_nm, "B", "rectangular", shared=shared, said=told)


def budget_lines(budget: Budget) -> tuple[BudgetLine, ...]:
    """The budget as lines for journal and report; infinite degrees of freedom become None."""
    return tuple(
        BudgetLine(
            name=c.name,
            kind=c.kind,
            distribution=c.distribution,
            u_nm=c.u_nm,
            dof=None if math.isinf(c.dof) else c.dof,
            shared=c.shared,
            sign=c.sign,
            said=c.told,
        )
        for c in budget.components
    )


def budget_from_lines(lines: tuple[BudgetLine, ...]) -> Budget:
    """The budget that `budget_lines` wrote down."""
    return Budget(
        tuple(
            Component(
                name=line.name,
                u_nm=line.u_nm,
                kind=line.kind,
                distribution=line.distribution,
                dof=math.inf if line.dof is None else line.dof,
                shared=line.shared,
                sign=line.sign,
                said=line.said,
            )
            for line in lines
        )
    )


def _repeatability(read: AsRead) -> Component:
    if read.by_hand:
        name, told = "repeatability, assumed", said("repeatability_assumed")
        return Component(name, read.u_sweep_nm, "B", "normal", read.sweep_dof, said=told)
    return Component("sweep", read.u_sweep_nm, "A", "t", read.sweep_dof, said=said("sweep"))


def _setting_components(gauge: GaugeFacts) -> tuple[Component, ...]:
    own = f"setting of gauge {gauge.name}"
    setting = gauge.setting
    if setting is None:
        u_nm = rectangular(UNKNOWN_SETTING_NM)
        told = said("setting_unknown")
        return (Component("setting, not given", u_nm, "B", "rectangular", shared=own, said=told),)
    standard = Component(
        f"standard {setting.standard}" if setting.standard else "calibration of the gauge",
        setting.u_nm,
        shared=f"standard {setting.standard}" if setting.standard else f"calibration of {own}",
        said=said("standard_is", name=setting.standard)
        if setting.standard
        else said("calibration"),
    )
    if setting.u_repeat_nm == 0.0:
        return (standard,)
    told = said("setting")
    repeat = Component("setting", setting.u_repeat_nm, "A", "t", setting.repeat_dof, own, said=told)
    return (standard, repeat)


def _setting_notes(gauge: GaugeFacts) -> tuple[Said, ...]:
    if gauge.setting is not None:
        return ()
    return (said("setting_not_given", gauge=gauge.name, half=small(UNKNOWN_SETTING_NM)),)
