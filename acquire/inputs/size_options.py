"""Options of `barrelfit size` as values: the gauge's traits, and what corrects to 20 °C."""

from dataclasses import dataclass
from decimal import Decimal

from barrelfit.acquire.errors import UserError
from barrelfit.acquire.inputs.plain import plain_decimal
from barrelfit.acquire.inputs.shelf import parse_toml, shipped_text
from barrelfit.rules.engine.doubts import ANVIL, DIGIT, length_question, temperature_question
from barrelfit.rules.model import Movement
from barrelfit.rules.said import Said, said
from barrelfit.rules.sweep import GaugeTraits
from barrelfit.rules.uncertainty.materials import Material, materials_from
from barrelfit.rules.uncertainty.temperature import (
    Body,
    Temperatures,
    check_temperature,
    gauge_body,
    part_body,
)

DIGIT_MAX_MM = 1
ANVIL_MAX_MM = 60
SURE = said("give_sure")


@dataclass(frozen=True, slots=True)
class Correction:
    """Gauge and part at the temperatures they had."""

    gauge: Body
    part: Body


def questions_of(**options: str | None) -> list[Said]:
    """What is asked about unusual values of options; empty when all are usual.

    Args:
        options: what was given, by option: `part_temp`, `gauge_temp` in °C, `digit_mm`, `anvil_mm`.
            What can't be read is passed over; others say so.
    """
    asked = []
    for name, text in options.items():
        number = None if text is None else _decimal(text)
        question = None
        if number is not None and name in {"part_temp", "gauge_temp"}:
            question = temperature_question(int(number.scaleb(3)))
        elif number is not None:
            usual = DIGIT if name == "digit_mm" else ANVIL
            question = length_question(int(number.scaleb(6)), "mm", usual)
        if question is not None:
            option = said("with_colon", what=f"--{name.replace('_', '-')}")
            asked.append(said("asked_option", about=option, question=question, do=SURE))
    return asked


def traits_of(movement: str, digit_mm: str, anvil_mm: str, passes_min: int) -> GaugeTraits:
    """The gauge that the options describe; raises UserError with every problem."""
    problems: list[Said] = []
    if movement not in set(Movement):
        problems.append(said("no_such_movement", known=tuple(Movement), movement=movement))
    digit_nm = _length_nm("--digit-mm", digit_mm, DIGIT_MAX_MM, problems)
    anvil_nm = _length_nm("--anvil-mm", anvil_mm, ANVIL_MAX_MM, problems)
    if problems:
        raise UserError(problems)
    return GaugeTraits(Movement(movement), digit_nm, anvil_nm, passes_min=passes_min)


def correction_of(
    part_c: str | None, gauge_c: str | None, material: str | None, gauge_material: str
) -> Correction | None:
    """What corrects to 20 °C; None when no temperature and no material is given.

    Raises:
        UserError: a temperature is no number, or a material is missing or unknown.
        RulesError: a temperature is out of all reason.
    """
    if part_c is None and gauge_c is None and material is None:
        return None
    problems: list[Said] = []
    temperatures = Temperatures(
        part_milli_celsius=_milli("--part-temp", part_c, problems),
        gauge_milli_celsius=_milli("--gauge-temp", gauge_c, problems),
    )
    materials = materials_from(
        parse_toml(shipped_text("rules", "data", "materials"), "materials.toml")
    )
    part_of = _material("--material", material, materials, problems)
    gauge_of = _material("--gauge-material", gauge_material, materials, problems)
    if problems or part_of is None or gauge_of is None:
        raise UserError(problems)
    return Correction(
        gauge_body("gauge", gauge_of, temperatures), part_body("part", part_of, temperatures)
    )


def _length_nm(option: str, text: str, most_mm: int, problems: list[Said]) -> int:
    number = _decimal(text)
    if number is None or not 0 < number <= most_mm:
        problems.append(said("mm_expected", option=option, most=most_mm, text=text))
        return 0
    length = number.scaleb(6)
    if length != length.to_integral_value():
        problems.append(said("option_too_fine", option=option, text=text))
    return int(length)


def _milli(option: str, text: str | None, problems: list[Said]) -> int | None:
    if text is None:
        return None
    number = _decimal(text)
    if number is None:
        problems.append(said("celsius_expected", option=option, text=text))
        return None
    milli = int(number.scaleb(3).to_integral_value())
    check_temperature(milli, option)
    return milli


def _decimal(text: str) -> Decimal | None:
    number = plain_decimal(text)
    return number if number is not None and abs(number) < 10**6 else None


def _material(
    option: str, name: str | None, materials: dict[str, Material], problems: list[Said]
) -> Material | None:
    if name in materials:
        return materials[name]
    given = said("to_correct") if name is None else said("not_that", name=name)
    problems.append(said("one_expected", option=option, known=tuple(materials), given=given))
    return None
