"""Scenarios: an invented set of parts, the gauges they are measured with, and the hand's slips.

A scenario is a TOML or JSON file; `scenarios/demo.toml` shows every key. Sizes are true sizes at
20 °C in mm; `spread_um` lets every further bench have parts of its own.
"""

import json
import math
import random
import tomllib
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, fields, replace
from importlib.resources import files
from pathlib import Path
from typing import Any

from barrelfit.simulators.errors import SimulatorError
from barrelfit.simulators.part import EXPANSION_PER_K, Barrel, Bore, Piston, Skirt, to_nm
from barrelfit.simulators.tables import TableReader

SCHEMA = 1
MOVEMENTS = ("to-and-fro", "in-and-out", "screw", "bore")
SLIPS = ("left-early", "two-parts", "chords-only")


@dataclass(frozen=True, slots=True)
class GaugePlan:
    """One gauge of a scenario: how it speaks and moves, and what its display is like."""

    name: str
    profile: str
    movement: str
    digit_nm: int = 1_000
    rate_hz: float = 10.0
    noise_um: float = 0.5
    bounce_share: float = 0.0
    missed_share: float = 0.0
    zero_um: float = 0.0
    face_mm: float = 3.25
    tip_mm: float = 2.0


@dataclass(frozen=True, slots=True)
class PistonPlan:
    """One piston: its skirt's true size across the thrust axis, and its shape."""

    name: str
    skirt_mm: float
    oval_mm: float = 0.0
    profile_mm: float = math.inf
    material: str = "aluminium-silicon"


@dataclass(frozen=True, slots=True)
class BarrelPlan:
    """One barrel: its bore as in `simulators.part.Barrel`."""

    name: str
    size_mm: float
    length_mm: float = 120.0
    wear_mm: float = 0.0
    worn_at_mm: float = 12.0
    worn_over_mm: float = 22.0
    taper_mm: float = 0.0
    oval_mm: float = 0.0
    lobes_mm: float = 0.0
    material: str = "grey-iron"


@dataclass(frozen=True, slots=True)
class Fumble:
    """A slip the hand makes once, at its first attempt at a feature."""

    part: str
    feature: str
    how: str
    depth: str = ""
    direction: str = ""
    with_part: str = ""


@dataclass(frozen=True, slots=True)
class Room:
    """Temperatures in °C."""

    part_c: float = 20.0
    gauge_c: float = 20.0


@dataclass(frozen=True, slots=True)
class HandPlan:
    """How still the hand is: root mean square of its tilt, in degrees."""

    tilt_deg: float = 0.12
    rock_tilt_deg: float = 0.05


@dataclass(frozen=True, slots=True)
class Place:
    """Where a size is taken: part and feature; a bore's depth and direction."""

    part: str
    feature: str
    depth: str = ""
    direction: str = ""


@dataclass(frozen=True, slots=True)
class Scenario:
    """A set of true parts with the gauges and slips of its bench."""

    title: str
    seed: int
    room: Room
    hand: HandPlan
    gauges: tuple[GaugePlan, ...]
    pistons: dict[str, Piston]
    barrels: dict[str, Barrel]
    directions: dict[str, float]
    fumbles: tuple[Fumble, ...] = field(default=())

    def places(self) -> list[Place]:
        """Every feature of the set."""
        skirts = [Place(name, "skirt") for name in self.pistons]
        bores = [
            Place(barrel.name, "bore", depth, direction)
            for barrel in self.barrels.values()
            for depth in barrel.depths_mm
            for direction in self.directions
        ]
        return skirts + bores

    def part_at(self, place: Place, *, now: bool) -> Skirt | Bore | None:
        """The true skirt or bore at a place, now or at 20 °C; None when there is none."""
        if place.feature == "skirt" and place.part in self.pistons:
            piston = self.pistons[place.part]
            return piston.skirt_now() if now else piston.skirt
        if place.feature == "bore" and place.part in self.barrels:
            barrel = self.barrels[place.part]
            if place.depth in barrel.depths_mm and place.direction in self.directions:
                depth, turn = barrel.depths_mm[place.depth], self.directions[place.direction]
                turn_rad = math.radians(turn)
                return barrel.bore_now(depth, turn_rad) if now else barrel.bore20(depth, turn_rad)
        return None

    def truth_nm(self, place: Place, *, now: bool) -> int:
        """The size flat faces or two tips can truly see at a place, in nm."""
        part = self.part_at(place, now=now)
        if part is None:
            message = f"no such place: {place}"
            raise SimulatorError([message])
        if isinstance(part, Bore):
            return to_nm(part.size_mm)
        return to_nm(part.truth_mm(self.gauges[0].face_mm))


def load_scenario(
    name: str, bench: int = 1, seed: int | None = None, profiles: Mapping[str, str] | None = None
) -> Scenario:
    """Load a shipped scenario by name, or one from a `.toml` or `.json` file.

    Args:
        name: `demo`, or a path.
        bench: 1 is the set as written; every further bench has its own parts and seed.
        seed: instead of the file's.
        profiles: for gauges by name, instead of the file's.

    Raises:
        SimulatorError: with every problem of the file.
    """
    shipped = files("barrelfit.simulators").joinpath("scenarios", f"{name}.toml")
    try:
        if name.endswith((".toml", ".json")):
            text = Path(name).read_text(encoding="utf-8")
        else:
            text = shipped.read_text(encoding="utf-8")
        data = json.loads(text) if name.endswith(".json") else tomllib.loads(text)
    except (OSError, ValueError) as error:
        message = f"{name}: {error}"
        raise SimulatorError([message]) from None
    if seed is not None:
        data["seed"] = seed
    scenario = scenario_from(data, name, bench)
    return _respeaking(scenario, profiles or {})


def _respeaking(scenario: Scenario, profiles: Mapping[str, str]) -> Scenario:
    """The same bench with other profiles for some gauges."""
    strange = sorted(set(profiles) - {g.name for g in scenario.gauges})
    if strange:
        raise SimulatorError([f"no gauge is called '{name}'" for name in strange])
    gauges = (replace(g, profile=profiles.get(g.name, g.profile)) for g in scenario.gauges)
    return replace(scenario, gauges=tuple(gauges))


def scenario_from(data: dict[str, Any], name: str, bench: int = 1) -> Scenario:
    """Build a scenario from its parsed file; raises SimulatorError with every problem."""
    problems: list[str] = []
    if data.get("schema") != SCHEMA:
        problems.append(f"{name}: schema must be {SCHEMA}")
    tables = ("room", "hand", "gauge", "depths", "directions", "piston", "barrel", "fumble")
    known = {"schema", "title", "seed", "spread_um", *tables}
    problems += [f"{name}: no key is called '{key}'" for key in data if key not in known]
    read = TableReader(name, problems)
    room = read.one(Room, data.get("room", {}), "room")
    hand = read.one(HandPlan, data.get("hand", {}), "hand")
    gauges = read.many(GaugePlan, data.get("gauge", []), "gauge")
    pistons = read.many(PistonPlan, data.get("piston", []), "piston")
    barrels = read.many(BarrelPlan, data.get("barrel", []), "barrel")
    fumbles = read.many(Fumble, data.get("fumble", []), "fumble")
    problems += [
        f"{name}: {text}" for text in _contradictions(gauges, [*pistons, *barrels], fumbles)
    ]
    if problems or room is None or hand is None:
        raise SimulatorError(problems)
    seed = int(data.get("seed", 1)) + 1000 * (bench - 1)
    vary = _variation(bench, float(data.get("spread_um", 0.0)), random.Random(seed))
    return Scenario(
        title=str(data.get("title", name)),
        seed=seed,
        room=room,
        hand=hand,
        gauges=tuple(gauges),
        pistons={p.name: _piston(p, room, vary) for p in pistons},
        barrels={b.name: _barrel(b, room, data.get("depths", {}), vary) for b in barrels},
        directions={str(k): float(v) for k, v in data.get("directions", {}).items()},
        fumbles=tuple(fumbles),
    )


def _variation(bench: int, spread_um: float, chance: random.Random) -> Callable[[float], float]:
    def vary(size_mm: float) -> float:
        if bench == 1:
            return size_mm
        return round(size_mm + chance.uniform(-spread_um, spread_um) / 1e3, 6)

    return vary


def _piston(plan: PistonPlan, room: Room, vary: Callable[[float], float]) -> Piston:
    skirt = Skirt(vary(plan.skirt_mm), plan.oval_mm, plan.profile_mm)
    return Piston(plan.name, skirt, plan.material, room.part_c)


def _barrel(
    plan: BarrelPlan, room: Room, depths: dict[str, float], vary: Callable[[float], float]
) -> Barrel:
    keys = {f.name: getattr(plan, f.name) for f in fields(BarrelPlan)}
    barrel = Barrel(**keys, part_c=room.part_c, depths_mm=dict(depths))
    return replace(barrel, size_mm=vary(plan.size_mm))


def _contradictions(
    gauges: Sequence[GaugePlan],
    parts: Sequence[PistonPlan | BarrelPlan],
    fumbles: Sequence[Fumble],
) -> list[str]:
    """What the tables say against each other."""
    names = [p.name for p in parts]
    found = [] if gauges else ["there is no gauge"]
    found += [f"part '{name}' stands there twice" for name in _twice(names)]
    found += [f"gauge '{name}' stands there twice" for name in _twice([g.name for g in gauges])]
    for gauge in gauges:
        found += _choice(f"gauge '{gauge.name}': movement", gauge.movement, MOVEMENTS)
    for part in parts:
        found += _choice(f"part '{part.name}': material", part.material, tuple(EXPANSION_PER_K))
    for slip in fumbles:
        found += _choice(f"fumble at '{slip.part}': how", slip.how, SLIPS)
        strange = {slip.part, slip.with_part} - {*names, ""}
        found += [f"fumble: there is no part '{name}'" for name in sorted(strange)]
    return found


def _twice(names: list[str]) -> list[str]:
    return sorted({name for name in names if names.count(name) > 1})


def _choice(what: str, value: str, choices: Sequence[str]) -> list[str]:
    return [] if value in choices else [f"{what} must be one of {', '.join(choices)}"]
