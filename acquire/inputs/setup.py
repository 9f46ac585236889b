"""Builds what the rules start from out of a session's first record: texts in, `Setup` out. Pure.

Live and redo come through here, so that a session's texts alone decide what its bytes mean.
"""

import math
from collections.abc import Mapping
from typing import Final

import msgspec

from barrelfit.acquire.inputs.bench_file import (
    SETTLING,
    BenchFile,
    GaugeTable,
    SettingTable,
    bench_file,
    nm_of_mm,
)
from barrelfit.acquire.inputs.shelf import parse_toml
from barrelfit.acquire.journal.events import SessionOpened
from barrelfit.rules.bench.setup import GaugeOnBench, Scale, Setup
from barrelfit.rules.engine.form import Filled
from barrelfit.rules.engine.parts import EngineSet
from barrelfit.rules.engine.setfile import set_from
from barrelfit.rules.engine.sheet import sheet_from
from barrelfit.rules.model import Movement
from barrelfit.rules.sweep import GaugeTraits
from barrelfit.rules.uncertainty.materials import Material, materials_from
from barrelfit.rules.uncertainty.size_budget import BALLS, FACES, GaugeFacts
from barrelfit.rules.uncertainty.size_budget import Setting as GaugeSetting
from barrelfit.rules.uncertainty.temperature import Temperatures

MATERIALS: Final = "materials"
"""Key of `SessionOpened.settings` under which the materials' text stands."""
PHOTOS: Final = "photos"
"""Key under which the SHA-256 of the set's photos stand, by name: a JSON object."""
NO_JOB: Final = EngineSet(job="", variant="")
"""The set of a session without a job: the bench waits for one."""

ORDER: Final = "order"
"""Key under which a job's order stands that was given at the board: a JSON object."""


def photos_of(opened: SessionOpened) -> dict[str, str]:
    """The SHA-256 of each photo as it was when the session was opened, by name."""
    text = opened.settings.get(PHOTOS, "{}")
    return msgspec.json.decode(text, type=dict[str, str])


def asked_for(opened: SessionOpened) -> str:
    """What was asked for when the job was begun at the board, as told; empty where nothing was."""
    order = msgspec.json.decode(opened.settings.get(ORDER, "{}"), type=dict[str, object])
    return str(order.get("asked_for", ""))


def setup_of(opened: SessionOpened) -> Setup:
    """The rules' setup of a session; raises UserError or RulesError for texts that are wrong."""
    bench = bench_file(opened.config_text, "bench file")
    sheet = sheet_from(parse_toml(opened.sheet_text, opened.sheet_id), opened.sheet_id)
    materials = materials_from(parse_toml(opened.settings[MATERIALS], MATERIALS), MATERIALS)
    engine, keys = NO_JOB, Filled(())
    if opened.set_text:
        file = set_from(parse_toml(opened.set_text, "set"), sheet, "set")
        engine, keys = file.engine, file.filled
    return Setup(
        sheet=sheet,
        engine=engine,
        gauges={
            table.id: gauge_on_bench(table, materials)
            for table in bench.gauge
            if table.measures != "mass"
        },
        scales={
            table.id: Scale(table.id, by_print=table.movement != SETTLING)
            for table in bench.gauge
            if table.measures == "mass"
        },
        materials=materials,
        temperatures=_temperatures(bench),
        guard_factor=opened.guard_factor,
        keys=keys,
        who=opened.who,
    )


def gauge_on_bench(table: GaugeTable, materials: Mapping[str, Material]) -> GaugeOnBench:
    """What the rules must know of one gauge of the bench file."""
    low_mm, high_mm = table.range_mm or (None, None)
    traits = GaugeTraits(
        movement=Movement(table.movement),
        digit_nm=nm_of_mm(table.digit_mm),
        anvil_nm=nm_of_mm(table.anvil_mm),
        low_nm=None if low_mm is None else nm_of_mm(low_mm),
        high_nm=None if high_mm is None else nm_of_mm(high_mm),
        averages_ms=table.averages_ms,
    )
    facts = GaugeFacts(
        name=table.id,
        material=materials[table.material],
        contact=BALLS if table.measures == "bore" else FACES,
        setting=_setting(table.setting),
        force_mn=None if table.force_n is None else int(table.force_n * 1_000),
    )
    is_bore = table.measures == "bore"
    return GaugeOnBench(table.id, "bore" if is_bore else "outside", traits, facts, table.passes)


def _setting(table: SettingTable | None) -> GaugeSetting | None:
    if table is None:
        return None
    return GaugeSetting(
        standard=table.standard or "",
        u_nm=float(table.u_um) * 1_000,
        u_repeat_nm=float(table.repeat_um) * 1_000,
        repeat_dof=math.inf if table.repeat_dof is None else float(table.repeat_dof),
    )


def _temperatures(bench: BenchFile) -> Temperatures:
    table = bench.temperature
    milli = {
        name: None if value is None else int(value * 1000)
        for name, value in (
            ("part_milli_celsius", table.part_c),
            ("gauge_milli_celsius", table.gauge_c),
            ("room_milli_celsius", table.room_c),
        )
    }
    return Temperatures(**milli)
