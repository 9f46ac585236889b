"""Reads a bench file, and asks about what nobody has: temperatures, uncertainties, gauges' traits.

Asked when a bench is run; a recorded session is read without (see `rules.engine.doubts`).
"""

from collections.abc import Iterator
from decimal import Decimal
from pathlib import Path as FilePath

from barrelfit.acquire.errors import UserError
from barrelfit.acquire.inputs.bench_file import BenchFile, GaugeTable, bench_file, nm_of_mm
from barrelfit.acquire.inputs.shelf import given_text, parse_toml
from barrelfit.acquire.inputs.toml_places import located
from barrelfit.acquire.streams import name_of
from barrelfit.rules.engine.doubts import (
    ANVIL,
    DIGIT,
    STANDARD_U,
    UM,
    Usual,
    length_doubt,
    number_doubt,
    temperature_doubt,
    text_problems,
    unanswered,
)
from barrelfit.rules.engine.form import Path, Problem
from barrelfit.rules.said import said

_REPEAT_U = Usual(0, 5 * UM, said("usual_repeat_u"))
_GUARD = Usual(1, 4, said("usual_guard"))
_FORCE = Usual(0, 20, said("usual_force"))


def bench_doubts(bench: BenchFile) -> list[Problem]:
    """Every doubt about a bench file that is sound by its keys, and that it does not confirm."""
    return unanswered(_doubts(bench), bench.confirmed)


def load_bench(path: FilePath) -> tuple[BenchFile, str]:
    """Read and check a bench file; returns it with its text (which goes into the journal).

    Raises:
        UserError: the file is not as it must be, or holds what is asked about.
    """
    text, name = given_text(path), name_of(path)
    strange = list(text_problems(parse_toml(text, name)))
    if strange:
        raise UserError(located(strange, text, name))
    bench = bench_file(text, name)
    doubts = bench_doubts(bench)
    if doubts:
        raise UserError(located(doubts, text, name))
    return bench, text


def _doubts(bench: BenchFile) -> Iterator[Problem | None]:
    for key in ("part_c", "gauge_c", "room_c"):
        celsius = getattr(bench.temperature, key)
        if celsius is not None:
            yield temperature_doubt(("temperature", key), int(celsius * 1000))
    guard = bench.verdict.guard_factor
    if guard:  # nought is simple acceptance
        yield number_doubt(("verdict", "guard_factor"), guard, "", _GUARD)
    for number, gauge in enumerate(bench.gauge):
        yield from _gauge(gauge, ("gauge", number))


def _gauge(gauge: GaugeTable, path: Path) -> Iterator[Problem | None]:
    yield length_doubt((*path, "digit_mm"), nm_of_mm(gauge.digit_mm), "mm", DIGIT)
    if gauge.measures == "outside":
        yield length_doubt((*path, "anvil_mm"), nm_of_mm(gauge.anvil_mm), "mm", ANVIL)
    if gauge.force_n is not None:
        yield number_doubt((*path, "force_n"), gauge.force_n, "N", _FORCE)
    setting = gauge.setting
    if setting is not None:
        yield _um((*path, "setting", "u_um"), setting.u_um, STANDARD_U)
        yield _um((*path, "setting", "repeat_um"), setting.repeat_um, _REPEAT_U)


def _um(path: Path, u_um: Decimal, usual: Usual) -> Problem | None:
    """An uncertainty in µm, which the room of doubts wants in nm."""
    return length_doubt(path, u_um * 1000, "µm", usual)
