"""Writes a bench file for a gauge that was identified, or adds the gauge to one."""

import json
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from barrelfit.acquire.errors import UserError
from barrelfit.acquire.inputs.bench_file import SETTLING, bench_file
from barrelfit.acquire.inputs.gauge_profiles import load_profile
from barrelfit.acquire.inputs.shelf import file_text, parse_toml
from barrelfit.drivers.recognise import ProfileFit
from barrelfit.drivers.teaching.writing import toml_of
from barrelfit.rules.engine.sheet import Sheet
from barrelfit.rules.model import Movement
from barrelfit.rules.said import said


@dataclass(frozen=True, slots=True)
class GaugePlace:
    """Where an identified gauge will stand: its name, what it measures, how its reading moves."""

    name: str
    port: str
    measures: str
    movement: str


def gauge_table(place: GaugePlace, fit: ProfileFit, baud: int, own: str = "") -> str:
    """The bench file's `[[gauge]]` for an identified gauge; the line only where it differs.

    `own` is the file of a profile that is not a shipped one.
    """
    profile = fit.profile
    lines = [
        "[[gauge]]",
        f"id = {json.dumps(place.name)}",
        f"profile = {json.dumps(own or profile.id)}",
        f"port = {json.dumps(place.port)}",
        f"measures = {json.dumps(place.measures)}",
        f"movement = {json.dumps(place.movement)}",
    ]
    if not profile.weighs:
        lines.append(f'digit_mm = "{_millimetres(profile.digit_nm)}"')
    said = {"baud": baud, "bits": fit.bits, "parity": fit.parity}
    differs = {k: v for k, v in said.items() if getattr(profile.port, k) != v}
    if differs:
        values = ", ".join(f"{key} = {json.dumps(value)}" for key, value in differs.items())
        lines.append(f"line = {{ {values} }}")
    return "\n".join(lines) + "\n"


def scale_place(name: str, port: str, fit: ProfileFit) -> GaugePlace:
    """Where a scale will stand: what it measures, and how, its wire says."""
    once = fit.profile.sends == "button"
    return GaugePlace(name, port, "mass", str(Movement.HELD) if once else SETTLING)


def new_bench_text(sheet_name: str, sheet: Sheet, gauge: str) -> str:
    """A whole bench file with one gauge; what only the user knows is the sheet's first choice."""
    variant = sheet.variants[0]
    choices = {
        "variant": [v.id for v in sheet.variants],
        "group": [g.id for g in variant.groups],
        "barrel_kind": [k.id for k in sheet.barrel.kinds],
    }
    lines = ["schema = 1", 'bench = "bench-1"', f"sheet = {json.dumps(sheet_name)}", ""]
    lines += ["[set]", 'job = "job-1"']
    for key, values in choices.items():
        lines.append(f"{key} = {json.dumps(values[0])}  # the sheet has: {', '.join(values)}")
    lines += ["", "# [temperature] part_c, gauge_c: without them the uncertainty is wider", ""]
    return "\n".join(lines) + "\n" + gauge


def write_gauge(path: Path, gauge: str, sheet_name: str, sheet: Sheet) -> str:
    """Add a gauge to a bench file, or begin one; says in a sentence what was done.

    Raises:
        UserError: the file would not be right afterwards (a second gauge of that name or port).
            It is left as it was.
    """
    if path.exists():
        text = file_text(path).rstrip("\n") + "\n\n" + gauge
        done = f"added to {path}"
    else:
        text = new_bench_text(sheet_name, sheet, gauge)
        done = f"wrote {path}; look at its [set] before you run it"
    bench = bench_file(text, str(path))
    for table in bench.gauge:
        load_profile(table.profile)
    try:
        path.write_text(text, encoding="utf-8")
    except OSError as error:
        raise UserError([said("of_file", file=str(path), what=str(error.strerror))]) from None
    return done


@dataclass(frozen=True, slots=True)
class ChosenGauge:
    """A gauge as somebody set it up: its place, what was found of its wire, unit and range.

    `unit` is empty where the wire tells it or the profile's is meant; `range_mm` are two texts, or
    none. `own` is the file of a profile that is not a shipped one; `channel` is its own where
    several gauges hang on its wire.
    """

    place: GaugePlace
    fit: ProfileFit
    baud: int
    unit: str = ""
    range_mm: tuple[str, str] | None = None
    own: str = ""
    channel: str = ""


def set_up_text(
    bench: str, who: str, sheet: str, gauges: Sequence[ChosenGauge | str], before: str = ""
) -> str:
    """A whole bench file without a set, as it is set up; checked.

    Args:
        bench: its name.
        who: who is at the bench.
        sheet: the engine's sheet.
        gauges: those to read; a port's name alone for what stays there as the file has it.
        before: the file's text until now: whatever else it says stays.

    Raises:
        UserError: it is not as it must be; every problem is listed.
    """
    was = parse_toml(before, "bench") if before else {}
    known = was.get("gauge", ())
    head = {"schema": 1, "bench": bench, "sheet": sheet, "who": who}
    rest = {key: value for key, value in was.items() if key not in {*head, "gauge"}}
    tables = []
    for chosen in gauges:
        if isinstance(chosen, str):
            tables += [table for table in known if table.get("port") == chosen]
            continue
        own = parse_toml(_chosen_table(chosen), "gauge")["gauge"][0]
        kept = table_of(known, chosen.place.port, chosen.channel)
        tables.append({**{k: v for k, v in kept.items() if k not in _set_up(kept, own)}, **own})
    text = toml_of({**head, **rest, "gauge": tables})
    bench_file(text, "bench.toml")
    return text


def table_of(tables: Sequence[dict[str, Any]], port: str, channel: str) -> dict[str, Any]:
    """A file's table of a port's gauge, by its channel where several are there; else empty."""
    own = [table for table in tables if table.get("port") == port]
    if len(own) == 1 and "" in {channel, own[0].get("channel", "")}:
        return own[0]
    return next((table for table in own if table.get("channel", "") == channel), {})


_SET_UP: Final = frozenset({"line", "unit", "range_mm", "channel"})


def _set_up(kept: dict[str, Any], own: dict[str, Any]) -> set[str]:
    """The keys that are as they are set up now, and of another sort of gauge all of them."""
    is_other = (kept.get("measures") == "mass") != (own["measures"] == "mass")
    return set(kept) if is_other else set(_SET_UP)


def _chosen_table(chosen: ChosenGauge) -> str:
    lines = [gauge_table(chosen.place, chosen.fit, chosen.baud, chosen.own).rstrip()]
    if chosen.unit and not chosen.fit.profile.unit_on_wire:
        lines.append(f"unit = {json.dumps(chosen.unit)}")
    if chosen.channel:
        lines.append(f"channel = {json.dumps(chosen.channel)}")
    if chosen.range_mm is not None:
        lines.append(f"range_mm = {json.dumps(list(chosen.range_mm))}")
    return "\n".join(lines) + "\n"


def write_bench(path: Path, text: str, *, may_replace: bool) -> None:
    """Write a bench file; one that is there and says something else only where that is meant.

    Raises:
        UserError: it is there, or can't be written.
    """
    try:
        if path.exists() and not may_replace and path.read_text(encoding="utf-8") != text:
            raise UserError([said("bench_file_there", path=str(path))])
        path.write_text(text, encoding="utf-8")
    except OSError as error:
        raise UserError([said("of_file", file=str(path), what=str(error.strerror))]) from None


def _millimetres(length_nm: int) -> str:
    text = f"{length_nm // 1_000_000}.{length_nm % 1_000_000:06}".rstrip("0")
    return text + "0" if text.endswith(".") else text
