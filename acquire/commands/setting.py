"""`barrelfit setting`: how well a gauge is set, from readings on one standard or several."""

import json
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from barrelfit.rules.said import decimal, said

if TYPE_CHECKING:
    from barrelfit.acquire.inputs.standard_file import StandardReading
    from barrelfit.rules.uncertainty.calibration import Study

U_UM_MAX = 100.0  # as in the bench file

Readings = Annotated[
    Path,
    typer.Argument(
        metavar="READINGS.csv", help="CSV file: standard_mm,round,reading_mm; - is standard input."
    ),
]
Standard = Annotated[
    str, typer.Option(metavar="NAME", help="Name of the standard, for the bench file.")
]
UUm = Annotated[
    float,
    typer.Option(
        "--u-um",
        metavar="UM",
        help="The standard's standard uncertainty in µm, 0 to 100 (U/k).",
    ),
]
AtMm = Annotated[
    str | None,
    typer.Option(
        "--at-mm", metavar="MM", help="With several standards: the length to find the error at."
    ),
]
DigitMm = Annotated[
    str,
    typer.Option("--digit-mm", metavar="MM", help="The last digit of the gauge's display, in mm."),
]


def setting(  # noqa: PLR0913  one argument an option
    readings: Readings,
    *,
    standard: Standard,
    u_um: UUm,
    at_mm: AtMm = None,
    digit_mm: DigitMm = "0.001",
    sure: Annotated[bool, typer.Option("--sure", help="Unusual values are meant so.")] = False,
    as_json: Annotated[bool, typer.Option("--json", help="One JSON object.")] = False,
) -> int:
    """Find how well a gauge is set, and the lines for the bench file.

    One standard: set the gauge on it, read it once or several times (one round), set it anew, read
    it again, five rounds or more. The scatter between rounds is what one setting adds to every
    size. Write one line a reading:

    standard_mm,round,reading_mm

    84.0003,1,84.001

    Three standards or more: a straight line through the errors gives the error at --at-mm.

    Example:
      barrelfit setting readings.csv --standard ring-84 --u-um 0.8

    Exit code: 0 when the gauge agrees with the standard within the 95 % interval, 1 when it does
    not and is to be set anew, 2 for a file or option that is not right.
    """
    from barrelfit.acquire.errors import UserError
    from barrelfit.acquire.inputs.standard_file import setting_questions, standard_readings

    _check_standard(standard, u_um)
    digit_nm = _option_nm("--digit-mm", digit_mm)
    at_nm = None if at_mm is None else _option_nm("--at-mm", at_mm)
    found = standard_readings(readings)
    questions = setting_questions(found, str(readings), u_um, digit_nm)
    if questions and not sure:
        raise UserError(questions)
    study = _study(found, readings, at_nm)
    fields = _fields(study, standard, u_um, digit_nm)
    print(json.dumps(fields, ensure_ascii=False) if as_json else _text(fields))
    return 0 if fields["agrees"] else 1


def _study(found: "tuple[StandardReading, ...]", path: Path, at_nm: int | None) -> "Study":
    from barrelfit.acquire.errors import UserError
    from barrelfit.acquire.inputs.standard_file import rounds_of
    from barrelfit.rules.uncertainty.calibration import study_line, study_setting

    lengths = {one.standard_nm for one in found}
    try:
        if len(lengths) == 1:
            return study_setting(lengths.pop(), rounds_of(found))
        if at_nm is None:
            raise UserError([said("several_standards", path=str(path))])
        return study_line([(one.standard_nm, one.reading_nm) for one in found], at_nm)
    except ValueError as error:
        raise UserError([said("of_file", file=str(path), what=str(error))]) from None


def _check_standard(standard: str, u_um: float) -> None:
    """Hold the options to what the bench file will take."""
    from barrelfit.acquire.errors import UserError
    from barrelfit.acquire.topics import BENCH_NAME

    problems = []
    if not BENCH_NAME.fullmatch(standard):
        expected = "letters, digits, dot, dash and underscore, at most 40"
        problems.append(said("standard_malformed", expected=expected, standard=standard))
    if not 0.0 <= u_um <= U_UM_MAX:
        problems.append(said("u_um_range", most=decimal(f"{U_UM_MAX:g}"), u_um=str(u_um)))
    if problems:
        raise UserError(problems)


def _option_nm(option: str, text: str) -> int:
    from barrelfit.acquire.errors import UserError
    from barrelfit.acquire.inputs.standard_file import length_nm

    length = length_nm(text)
    if length is None:
        raise UserError([said("mm_above_0", option=option, text=text)])
    return length


def _fields(study: "Study", standard: str, u_um: float, digit_nm: int) -> dict[str, object]:
    """The result by name, in µm; the interval holds the gauge's error, the standard's included."""
    from barrelfit.rules.uncertainty.budget import Budget, Component
    from barrelfit.rules.uncertainty.size_budget import digit_u_nm

    digit = Component("digit", digit_u_nm(digit_nm), "B", "rectangular")
    readings = Component("readings", study.u_error_nm, "A", "t", study.dof)
    of_standard = Component(f"standard {standard}", u_um * 1000.0)
    error_nm = round(study.error_nm)
    low_nm, high_nm = Budget((digit, readings, of_standard)).interval_nm(error_nm)
    # Readings that all show the same digit say no more than that the scatter is below it.
    repeat_nm = max(study.repeat_nm, digit.u_nm)
    return {
        "standard": standard,
        "u_um": u_um,
        "error_um": error_nm / 1000,
        "interval95_um": [low_nm / 1000, high_nm / 1000],
        "agrees": low_nm <= 0 <= high_nm,
        "within_um": None if study.within_nm is None else round(study.within_nm) / 1000,
        "repeat_um": round(repeat_nm) / 1000,
        "repeat_dof": study.dof,
    }


def _text(fields: dict[str, object]) -> str:
    low, high = fields["interval95_um"] if isinstance(fields["interval95_um"], list) else (0, 0)
    agrees = "agrees with the standard" if fields["agrees"] else "disagrees: set it anew"
    within = "" if fields["within_um"] is None else f", within a round {fields['within_um']:g} µm"
    return f"""\
the gauge shows {fields["error_um"]:+g} µm, 95 % between {low:+g} and {high:+g} µm: it {agrees}
scatter of one setting {fields["repeat_um"]:g} µm{within}
for the bench file, under its [[gauge]]:
[gauge.setting]
standard = {json.dumps(fields["standard"])}
u_um = {fields["u_um"]:g}
repeat_um = {fields["repeat_um"]:g}
repeat_dof = {fields["repeat_dof"]}"""
