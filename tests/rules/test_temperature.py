"""From the bench's temperature to 20 °C: exact, and with the doubt of what was not measured."""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from uncertainties import ufloat

from barrelfit.rules.errors import RulesError
from barrelfit.rules.manner import told_all
from barrelfit.rules.uncertainty.budget import Budget, difference, rectangular
from barrelfit.rules.uncertainty.temperature import (
    Body,
    Known,
    Temperatures,
    gauge_body,
    part_body,
    temperature_components,
    temperature_notes,
    to_20_nm,
)
from tests.rules.shipped import shipped_materials
from tests.spoken import text_of

MATERIALS = shipped_materials()
STEEL, IRON, PISTON = (MATERIALS[n] for n in ("gauge-steel", "grey-iron", "aluminium-4032"))
temperatures = st.integers(-20_000, 90_000)
materials = st.sampled_from(sorted(MATERIALS.values(), key=lambda m: m.name))


def body(material, celsius, known=Known.MEASURED, own_milli=500, name="P1"):
    return Body(name, material, int(Decimal(celsius) * 1000) - 20_000, known, own_milli)


@given(st.integers(1, 500_000_000), materials, materials, temperatures, temperatures)
def test_the_correction_is_exact_and_rounded_half_to_even(read_nm, a, b, gauge_t, part_t):
    gauge = gauge_body("g", a, Temperatures(gauge_milli_celsius=gauge_t))
    part = part_body("p", b, Temperatures(part_milli_celsius=part_t))
    top = 1 + Fraction(a.expansion_ppb * (gauge_t - 20_000), 10**12)
    bottom = 1 + Fraction(b.expansion_ppb * (part_t - 20_000), 10**12)
    assert to_20_nm(read_nm, gauge, part) == round(read_nm * top / bottom)


def test_a_tie_goes_to_the_even_nanometre():
    # 1e9 nm of 1.5 ppb per kelvin, one kelvin over: x.5 nm exactly, with a part that never grows.
    grows = body(STEEL, "20")
    half = Body("g", type(STEEL)("g", 1, 1, "made up"), 500, Known.MEASURED, 500)
    assert to_20_nm(10**9, half, grows) == 10**9  # + 0.5 nm: down to the even one
    assert to_20_nm(3 * 10**9, half, grows) == 3 * 10**9 + 2  # + 1.5 nm: up to the even one


@given(st.integers(1, 500_000_000), materials, temperatures)
def test_one_material_at_one_temperature_needs_no_correction(read_nm, material, celsius):
    both = Temperatures(celsius, celsius)
    assert to_20_nm(read_nm, gauge_body("g", material, both), part_body("p", material, both)) == (
        read_nm
    )


@pytest.mark.parametrize(
    ("material", "um_per_kelvin"),
    [
        ("steel-1040", "0.904"),
        ("gauge-steel", "0.920"),
        ("grey-iron", "0.912"),
        ("aluminium-4032", "1.552"),
        ("aluminium-2618", "1.784"),
    ],
)
def test_growth_of_80_mm_per_kelvin(material, um_per_kelvin):
    """Handbook coefficients (see materials.toml) times 80 mm: arithmetic."""
    gauge = body(STEEL, "20")
    warm = body(MATERIALS[material], "21")
    grown_nm = 80_000_000 - to_20_nm(80_000_000, gauge, warm)
    assert grown_nm == pytest.approx(float(um_per_kelvin) * 1000, abs=1)


def test_a_piston_of_85_mm_grows_1_8_um_per_kelvin():
    """85 mm of a light alloy: about 1.8 um per kelvin (arithmetic with 21.5e-6)."""
    warm = body(MATERIALS["aluminium-356-cast"], "21")
    grown_nm = 85_000_000 - to_20_nm(85_000_000, body(STEEL, "20"), warm)
    assert grown_nm == pytest.approx(1_800, abs=50)


def test_a_clearance_shrinks_when_both_parts_are_warm():
    """Both at 25 °C: a 4032 piston in a grey-iron bore of 80 mm loses 3.20 um (arithmetic)."""
    gauge = body(STEEL, "20")
    bore, skirt = 80_050_000, 80_000_000
    at_20 = to_20_nm(bore, gauge, body(IRON, "25")) - to_20_nm(skirt, gauge, body(PISTON, "25"))
    assert at_20 - (bore - skirt) == pytest.approx(3_200, abs=5)


def test_20_celsius_is_68_fahrenheit_is_293_15_kelvin():
    """ISO 1:2016, clause 3: the reference temperature is fixed at 20 °C."""
    assert (Fraction(68) - 32) * 5 / 9 == 20
    assert body(STEEL, "20").above_milli == 0


@pytest.mark.parametrize(
    ("given_", "gauge", "part"),
    [
        (Temperatures(32_000, 22_000), (2_000, Known.MEASURED), (12_000, Known.MEASURED)),
        (Temperatures(32_000), (0, Known.ASSUMED), (12_000, Known.MEASURED)),
        (Temperatures(32_000, None, 22_000), (2_000, Known.ROOM), (12_000, Known.MEASURED)),
        (Temperatures(None, 22_000), (2_000, Known.MEASURED), (2_000, Known.ROOM)),
        (Temperatures(None, 22_000, 19_000), (2_000, Known.MEASURED), (-1_000, Known.ROOM)),
        (Temperatures(None, None, 22_000), (2_000, Known.ROOM), (2_000, Known.ROOM)),
        (Temperatures(), (0, Known.ASSUMED), (0, Known.ASSUMED)),
    ],
)
def test_what_is_taken_for_each_temperature(given_, gauge, part):
    g, p = gauge_body("g", STEEL, given_), part_body("p", PISTON, given_)
    assert (g.above_milli, g.known) == gauge
    assert (p.above_milli, p.known) == part
    notes = temperature_notes(g, p)
    assert len(notes) == sum(b.known is not Known.MEASURED for b in (g, p))


def test_a_temperature_not_measured_widens_and_says_so():
    known = Temperatures(20_000, 20_000)
    u = {}
    for name, one in {
        "known": known,
        "room": Temperatures(None, None, 20_000),
        "none": Temperatures(),
    }.items():
        g, p = gauge_body("g", STEEL, one), part_body("p", PISTON, one)
        u[name] = Budget(temperature_components(84_000_000, g, p)).u_nm
    assert u["known"] < u["room"] < u["none"]
    notes = temperature_notes(
        gauge_body("g", STEEL, Temperatures()), part_body("p", PISTON, Temperatures())
    )
    assert told_all(notes) == (
        "temperature of the gauge not measured: taken as 20 °C ± 6 °C",
        "temperature of the part not measured: taken as 20 °C ± 7 °C",
    )


def linear(read_nm, gauge, part, causes):
    """The size by the `uncertainties` package, to first order, from ISO 1's equation.

    `causes` keeps every cause by its name, so that two sizes share what they share.
    """

    def cause(name, middle, half_width):
        if name not in causes:
            causes[name] = ufloat(0.0, rectangular(half_width))
        return middle + causes[name]

    def temperature(b):
        common = cause(b.common_cause, 0.0, b.common_milli)
        return (cause(f"temperature of {b.name}", b.above_milli, b.own_milli) + common) / 1000.0

    def alpha(b):
        material = b.material
        middle, half_width = material.expansion_ppb, material.plus_minus_ppb
        return cause(f"expansion of {b.name}", middle, half_width) * 1e-9

    top = 1.0 + alpha(gauge) * temperature(gauge)
    bottom = 1.0 + alpha(part) * temperature(part)
    return read_nm * top / bottom


@pytest.mark.parametrize(
    ("gauge", "part"),
    [
        (body(STEEL, "22", name="g"), body(PISTON, "32")),
        (body(STEEL, "25", Known.ROOM, 1_000, "g"), body(PISTON, "25", Known.ROOM, 2_000)),
        (body(STEEL, "20", Known.ASSUMED, 1_000, "g"), body(PISTON, "35")),
        (body(STEEL, "11", name="g"), body(IRON, "8")),
    ],
)
def test_the_budget_agrees_with_the_uncertainties_package(gauge, part):
    first = linear(84_000_000, gauge, part, {}).std_dev
    ours = Budget(temperature_components(84_000_000, gauge, part)).u_nm
    second = (
        sum(
            (84e6 * rectangular(b.material.plus_minus_ppb) * 1e-9 * b.u_milli / 1000.0) ** 2
            for b in (gauge, part)
        )
        ** 0.5
    )
    assert ours == pytest.approx((first**2 + second**2) ** 0.5, rel=2e-3)
    assert ours >= first * 0.999


OTHER = body(STEEL, "22", name="h")
PAIRS = {
    "skirt and bore": (
        (body(STEEL, "22", name="g"), body(PISTON, "32")),
        (OTHER, body(IRON, "24", name="B1")),
    ),
    "one part, above and below 20 °C": (
        (body(STEEL, "20", name="g"), body(PISTON, "33")),
        (body(STEEL, "20", name="g"), body(PISTON, "7")),
    ),
    "gauge measured once, part once": (
        (body(STEEL, "22", name="g"), body(PISTON, "20", Known.ASSUMED, 2_000)),
        (body(STEEL, "20", Known.ASSUMED, 1_000, "g"), body(PISTON, "32")),
    ),
    "the gauge above and below 20 °C": (
        (body(STEEL, "31", name="g"), body(PISTON, "20")),
        (body(STEEL, "9", name="g"), body(IRON, "20", name="B1")),
    ),
}


@pytest.mark.parametrize("pair", PAIRS)
def test_what_cancels_agrees_with_the_uncertainties_package(pair):
    """Every shared cause enters both sizes with its own sign."""
    causes = {}
    sizes = [linear(84_000_000, *bodies, causes) for bodies in PAIRS[pair]]
    budgets = [Budget(temperature_components(84_000_000, *bodies)) for bodies in PAIRS[pair]]
    # The second-order shares, under 0.1 µm each, are in ours alone.
    assert difference(*budgets).u_nm == pytest.approx((sizes[0] - sizes[1]).std_dev, rel=0.02)


def test_one_thermometer_hardly_matters_to_a_clearance_of_one_material():
    """Its error moves bore and skirt alike: only the difference of their sizes is left."""
    at = Temperatures(25_000, 25_000)
    gauge_a, gauge_b = gauge_body("gauge a", STEEL, at), gauge_body("gauge b", STEEL, at)
    bore = Budget(temperature_components(84_050_000, gauge_a, part_body("B1", IRON, at)))
    skirt = Budget(temperature_components(84_000_000, gauge_b, part_body("P1", IRON, at)))
    shares = {c.shared: c.u_nm for c in difference(bore, skirt).components}
    assert shares["thermometer"] < 0.1
    assert shares["temperature of B1"] > 250.0


def test_sizes_of_one_part_by_one_gauge_share_all_of_it():
    """Taper is top less bottom: what warmed the whole barrel is no taper."""
    at = Temperatures(28_000, 22_000)
    gauge, part = gauge_body("gauge b", STEEL, at), part_body("B1", IRON, at)
    top = Budget(temperature_components(84_050_000, gauge, part))
    bottom = Budget(temperature_components(84_030_000, gauge, part))
    assert difference(top, bottom).u_nm < 1.0


@pytest.mark.parametrize("milli", [-20_001, 90_001, 293_150])
def test_a_temperature_out_of_all_reason_is_refused(milli):
    with pytest.raises(RulesError) as refused:
        part_body("P1", PISTON, Temperatures(part_milli_celsius=milli))
    assert "degrees Celsius" in text_of(refused.value)
