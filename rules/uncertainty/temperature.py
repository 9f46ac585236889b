"""From the temperature at the bench to 20 °C (ISO 1), and what that costs in certainty.

A gauge of coefficient a_g at T_g shows L_read for a part of coefficient a_p at T_p. At 20 °C the
part has the length

    L20 = L_read·(1 + a_g·(T_g - 20)) / (1 + a_p·(T_p - 20))

computed with whole numbers alone: nm, thousandths of a degree Celsius, 1e-9 per kelvin.

What is not measured is assumed, and the assumption is a cause of uncertainty. Every temperature is
a common part (the thermometer's error, or the unknown temperature of the room) plus a part of its
own (how far this thing is from what the thermometer saw), both rectangular:

| known as | value          | common ±           | own ± gauge | own ± part |
|----------|----------------|--------------------|-------------|------------|
| measured | as measured    | thermometer 0.5 °C | 0.5 °C      | 0.5 °C     |
| room     | the room's     | thermometer 0.5 °C | 1 °C        | 2 °C       |
| assumed  | 20 °C          | room 5 °C          | 1 °C        | 2 °C       |

The widths are this project's own, chosen wide for a shop without air conditioning; they are no
standard's. A part of 2 °C own width has come to rest: a part warm from the washer must be measured.
"""

from dataclasses import dataclass
from enum import StrEnum

from barrelfit.rules.errors import RulesError
from barrelfit.rules.said import Said, celsius, decimal, said
from barrelfit.rules.uncertainty.budget import Component, rectangular, second_order_nm
from barrelfit.rules.uncertainty.materials import Material

REFERENCE_MILLI_CELSIUS = 20_000  # ISO 1:2016, clause 3
LEAST_MILLI_CELSIUS = -20_000  # colder or hotter than these, somebody mistyped or is in danger
MOST_MILLI_CELSIUS = 90_000
THERMOMETER_MILLI = 500
ROOM_MILLI = 5_000
_PER_UNIT = 10**12  # (1e-9 per kelvin) times (1e-3 kelvin)


class Known(StrEnum):
    """How a temperature is known."""

    MEASURED = "measured"
    ROOM = "room"
    ASSUMED = "assumed"


GAUGE_OWN_MILLI = {Known.MEASURED: 500, Known.ROOM: 1_000, Known.ASSUMED: 1_000}
PART_OWN_MILLI = {Known.MEASURED: 500, Known.ROOM: 2_000, Known.ASSUMED: 2_000}


@dataclass(frozen=True, slots=True)
class Temperatures:
    """What was measured, in thousandths of a degree Celsius; None where nothing was."""

    part_milli_celsius: int | None = None
    gauge_milli_celsius: int | None = None
    room_milli_celsius: int | None = None


@dataclass(frozen=True, slots=True)
class Body:
    """A gauge or a part at a temperature.

    Attributes:
        name: what uncertainties of its own are shared under (`P1`, `gauge m1`).
        material: what it is made of.
        above_milli: its temperature less 20 °C, in thousandths of a kelvin.
        known: how its temperature is known.
        own_milli: half-width of its own part of the temperature's doubt, same unit.
    """

    name: str
    material: Material
    above_milli: int
    known: Known
    own_milli: int

    @property
    def common_milli(self) -> int:
        """Half-width of the common part of the temperature's doubt, in thousandths of a kelvin."""
        return ROOM_MILLI if self.known is Known.ASSUMED else THERMOMETER_MILLI

    @property
    def common_cause(self) -> str:
        """The word of the common part."""
        return "unknown room temperature" if self.known is Known.ASSUMED else "thermometer"

    @property
    def common_said(self) -> Said:
        """The common part, for the report."""
        return said("unknown_room") if self.known is Known.ASSUMED else said("thermometer")

    @property
    def u_milli(self) -> float:
        """Standard uncertainty of the temperature, in thousandths of a kelvin."""
        own, common = rectangular(self.own_milli), rectangular(self.common_milli)
        return float((own * own + common * common) ** 0.5)


def to_20_nm(read_nm: int, gauge: Body, part: Body) -> int:
    """Length at 20 °C in whole nm, rounded half to even; exact until that rounding."""
    top = read_nm * (_PER_UNIT + gauge.material.expansion_ppb * gauge.above_milli)
    bottom = _PER_UNIT + part.material.expansion_ppb * part.above_milli
    whole, rest = divmod(top, bottom)
    up = 2 * rest > bottom or (2 * rest == bottom and whole % 2 == 1)
    return whole + up


def gauge_body(name: str, material: Material, temperatures: Temperatures) -> Body:
    """The gauge at its temperature, or at what has to be assumed for it."""
    own = temperatures.gauge_milli_celsius
    return _body(name, material, (own, temperatures.room_milli_celsius), GAUGE_OWN_MILLI)


def part_body(name: str, material: Material, temperatures: Temperatures) -> Body:
    """The part at its temperature, or at what has to be assumed for it.

    A gauge lies in the room: where the room was not measured, the gauge's temperature stands for
    it. The part's own says nothing about the gauge: it may come warm from the washer.
    """
    room = temperatures.room_milli_celsius
    room = temperatures.gauge_milli_celsius if room is None else room
    return _body(name, material, (temperatures.part_milli_celsius, room), PART_OWN_MILLI)


def temperature_components(read_nm: int, gauge: Body, part: Body) -> tuple[Component, ...]:
    """Budget lines of the correction to 20 °C, to second order.

    Args:
        read_nm: length as read, in nm.
        gauge: the gauge's body.
        part: the part's body.

    Returns:
        Common and own temperature errors and the two expansion coefficients, in nm.
    """
    return (
        *_common(read_nm, gauge, part),
        _own(read_nm, gauge, "gauge", 1),
        _own(read_nm, part, "part", -1),
        _expansion(read_nm, gauge, "gauge", 1),
        _expansion(read_nm, part, "part", -1),
    )


_SAID = {"gauge": said("the_gauge"), "part": said("the_part")}


def temperature_notes(gauge: Body, part: Body) -> tuple[Said, ...]:
    """Notes that say which temperatures were not measured, none when both were."""
    both = ((_SAID["gauge"], gauge), (_SAID["part"], part))
    return tuple(_unmeasured(what, body) for what, body in both if body.known is not Known.MEASURED)


def _unmeasured(what: Said, body: Body) -> Said:
    half = celsius(body.own_milli + body.common_milli)
    if body.known is Known.ROOM:
        return said("taken_as_rooms", what=what, half=half)
    return said("taken_as_20", what=what, half=half)


def check_temperature(milli_celsius: int, of: str) -> None:
    """Refuse a temperature at which nobody measures.

    Raises:
        RulesError: it is below -20 °C or above 90 °C.
    """
    if not LEAST_MILLI_CELSIUS <= milli_celsius <= MOST_MILLI_CELSIUS:
        least, most = LEAST_MILLI_CELSIUS // 1000, MOST_MILLI_CELSIUS // 1000
        problem = said(
            "temperature_far_out",
            of=of,
            celsius=decimal(f"{milli_celsius / 1000:g}"),
            least=least,
            most=most,
        )
        raise RulesError([problem])


def _body(
    name: str, material: Material, known: tuple[int | None, int | None], widths: dict[Known, int]
) -> Body:
    own, room = known
    if own is not None:
        how, value = Known.MEASURED, own
    elif room is not None:
        how, value = Known.ROOM, room
    else:
        how, value = Known.ASSUMED, REFERENCE_MILLI_CELSIUS
    check_temperature(value, name)
    return Body(name, material, value - REFERENCE_MILLI_CELSIUS, how, widths[how])


def _common(read_nm: int, gauge: Body, part: Body) -> tuple[Component, ...]:
    """One line where gauge and part err together, two where their causes differ."""
    gauge_nm = _per_milli_nm(read_nm, gauge) * rectangular(gauge.common_milli)
    part_nm = _per_milli_nm(read_nm, part) * rectangular(part.common_milli)
    if gauge.common_cause == part.common_cause:
        name = f"{gauge.common_cause}, gauge and part alike"
        told = said("both_alike", cause=gauge.common_said)
        return (_signed(name, gauge_nm - part_nm, gauge.common_cause, told),)
    return (
        _signed(
            f"{gauge.common_cause}, gauge",
            gauge_nm,
            gauge.common_cause,
            said("of_the_gauge", cause=gauge.common_said),
        ),
        _signed(
            f"{part.common_cause}, part",
            -part_nm,
            part.common_cause,
            said("of_the_part", cause=part.common_said),
        ),
    )


def _own(read_nm: int, body: Body, what: str, sign: int) -> Component:
    share_nm = sign * _per_milli_nm(read_nm, body) * rectangular(body.own_milli)
    told = said("temperature_of", what=_SAID[what])
    return _signed(f"temperature of the {what}", share_nm, f"temperature of {body.name}", told)


def _expansion(read_nm: int, body: Body, what: str, sign: int) -> Component:
    """L·u(a)·(T - 20), and its second-order term L·u(a)·u(T) (GUM H.1.7), in quadrature."""
    u_ppb = rectangular(body.material.plus_minus_ppb)
    first_nm = read_nm * u_ppb * body.above_milli / _PER_UNIT
    second_nm = second_order_nm(read_nm / _PER_UNIT, u_ppb, body.u_milli)
    total_nm = (first_nm * first_nm + second_nm * second_nm) ** 0.5
    signed_nm = sign * (total_nm if body.above_milli >= 0 else -total_nm)
    told = said("expansion_of", what=_SAID[what])
    return _signed(f"expansion of the {what}", signed_nm, f"expansion of {body.name}", told)


def _per_milli_nm(read_nm: int, body: Body) -> float:
    """Growth of the length in nm per thousandth of a kelvin."""
    return read_nm * body.material.expansion_ppb / _PER_UNIT


def _signed(name: str, share_nm: float, shared: str, told: Said) -> Component:
    sign = -1 if share_nm < 0 else 1
    return Component(name, abs(share_nm), "B", "rectangular", shared=shared, sign=sign, said=told)
