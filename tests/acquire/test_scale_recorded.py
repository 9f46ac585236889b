"""A scale's masses in a session's record: its bytes, the facts, redo, report, index, export."""

import random
from importlib.metadata import version

import pytest
from sqlalchemy import select

from barrelfit.acquire.errors import UserError
from barrelfit.acquire.index.store import Store
from barrelfit.acquire.index.tables import FACTS
from barrelfit.acquire.inputs.bench_file import bench_file
from barrelfit.acquire.inputs.bench_writer import ChosenGauge, scale_place, set_up_text
from barrelfit.acquire.inputs.gauge_profiles import load_profile
from barrelfit.acquire.inputs.gauge_wire import profile_on_bench
from barrelfit.acquire.inputs.set_now import set_text_of
from barrelfit.acquire.inputs.shelf import shipped_text
from barrelfit.acquire.journal.events import MassTaken, WireNote
from barrelfit.acquire.journal.job_events import GaugeSetup
from barrelfit.acquire.journal.sentences import line_of
from barrelfit.acquire.journal.session import Session
from barrelfit.acquire.journal.tables import frame_of
from barrelfit.acquire.redo.redo_journal import redo_session
from barrelfit.acquire.report.from_session import session_lines
from barrelfit.acquire.said_json import texts
from barrelfit.drivers.errors import DriverError
from barrelfit.drivers.outcome import WireMass
from barrelfit.drivers.recognise import ProfileFit
from barrelfit.rules.told import FactTaken
from barrelfit.simulators.line import profile_tables
from barrelfit.simulators.scale import SimulatedScale
from tests.acquire.recorded import CONFIG, SET, Recording, opening
from tests.acquire.test_config import GOOD, problems
from tests.acquire.test_facts_recorded import typed_through

STREAM, ONCE = "steady-letter-mass-unit-crlf", "settled-mass-unit-cr"
SCALE = """
[[gauge]]
id = "scale"
profile = "{profile}"
port = "/dev/pts/92"
measures = "mass"
movement = "{movement}"
"""
LOADS = {"P1": 512.4, "P2": 513.8, "P3": 511.0, "P4": 515.2}


def with_scale(profile):
    movement = "settling" if profile == STREAM else "held"
    text = shipped_text("drivers", "profiles", profile)
    document = opening(code_version=version("barrelfit"))
    config = CONFIG.replace("[temperature]", SCALE.format(profile=profile, movement=movement)
                            + "\n[temperature]")  # fmt: skip
    return opening(
        code_version=version("barrelfit"),
        config_text=config,
        gauges={**document.gauges, "scale": GaugeSetup(profile, text, movement)},
        set_text=SET.format(job="job-7", serial="K-1").replace(
            'left_out = ["looked-at", "rings", "pins", "mass", "height-groups", "head-seal"]',
            'left_out = ["looked-at", "rings", "pins", "height-groups", "head-seal"]\n'
            'steps = ["mass"]',
        ),
    )


class Weigher:
    """Lays parts on a simulated scale whose bytes are recorded."""

    def __init__(self, recording, profile):
        self.recording = recording
        self.scale = SimulatedScale(profile_tables(profile), random.Random(7))  # noqa: S311

    def lay(self, grams, seconds):
        recording = self.recording
        self.scale.lay(grams, recording.t_ns / 1e9)
        for _ in range(round(seconds * self.scale.rate_hz)):
            recording.t_ns += round(1e9 / self.scale.rate_hz)
            data = self.scale.sample(recording.t_ns / 1e9)
            if data:
                recording.send("scale", data)


@pytest.fixture(scope="module", params=[STREAM, ONCE])
def weighed(request, tmp_path_factory):
    path = tmp_path_factory.mktemp("weighed") / "bench1-20261125T010203Z.jsonl"
    recording = Recording(path, with_scale(request.param))
    typed_through(recording)
    recording.asked = None
    path_of = [said for said in recording.bench.way if said.telling is not None]
    assert [p.at.part for p in path_of] == list(LOADS)
    weigher = Weigher(recording, request.param)
    for grams in LOADS.values():
        weigher.lay(0.0, 3.0)
        weigher.lay(grams, 5.0)
    recording.close("done")
    return path


def masses(path):
    facts = [r.event for r in Session.open(path).records() if isinstance(r.event, FactTaken)]
    return {f.at.part: (float(f.value), f.by) for f in facts}


def test_each_mass_is_its_parts_fact_and_came_by_the_gauge(weighed):
    found = masses(weighed)
    assert set(found) == set(LOADS)
    for part, (grams, by) in found.items():
        assert by == "gauge"
        assert grams == pytest.approx(LOADS[part], abs=0.11)


def test_a_redo_finds_the_same_in_the_bytes(weighed):
    redone = redo_session(Session.open(weighed))
    assert redone.difference is None
    assert redone.is_same


def test_each_fact_says_by_which_record_it_came(weighed):
    records = {r.seq: r for r in Session.open(weighed).records()}
    for record in records.values():
        if isinstance(record.event, FactTaken):
            cause = records[record.because].event
            assert isinstance(cause, MassTaken)
            assert cause.gauge == "scale"
            assert float(cause.value) == float(record.event.value)


def test_the_report_and_the_set_file_know_the_masses(weighed):
    lines = texts(session_lines(str(weighed)))
    facts = [f for f in lines if f["kind"] == "fact"]
    assert {f["by"] for f in facts} == {"gauge"}
    assert {f["at"] for f in facts} == {f"{part}/mass_g" for part in LOADS}
    text = set_text_of(Session.open(weighed).records())
    assert text.count("mass_g = ") == 4


def test_the_index_and_the_table_know_the_masses(weighed):
    store = Store(weighed.parent / "index.sqlite")
    try:
        assert store.take(weighed)
        rows = store.rows(select(FACTS).where(FACTS.c.fact == "mass_g"))
        assert {r["part"] for r in rows} == set(LOADS)
    finally:
        store.close()
    frame = frame_of(Session.open(weighed).records(), "readings")
    shown = frame[frame["gauge"] == "scale"]
    assert (shown["mass_g"] != "").any()
    assert (shown["length_mm"] == "").all()
    assert shown["length_nm"].isna().all()


def test_a_mass_is_told_in_a_line(weighed):
    session = Session.open(weighed)
    record = next(r for r in session.records() if isinstance(r.event, MassTaken))
    assert f"scale: {record.event.value} g" in line_of(record)
    notes = [r for r in session.records() if isinstance(r.event, WireNote)]
    assert all("not at rest yet" in line_of(r) for r in notes if r.event.note == "unsteady")


# ---------------------------------------------------------------- the bench file


@pytest.mark.parametrize(
    ("change", "wanted"),
    [
        ('movement = "following"', "a scale has movement settling"),
        ('movement = "settling"\nsetting = { u_um = 1 }', "setting can't be said of a scale"),
        ('movement = "held"\nrange_mm = [1, 2]', "range_mm can't be said of a scale"),
    ],
)
def test_what_can_not_be_said_of_a_scale_is_refused(change, wanted):
    text = GOOD + SCALE.format(profile=STREAM, movement="held").replace('movement = "held"', change)
    (found,) = problems(text)
    assert wanted in found


def test_a_length_gauge_does_not_settle():
    (found,) = problems(GOOD.replace('"following"', '"settling"'))
    assert "movement" in found


@pytest.mark.parametrize(
    ("profile", "measures", "movement"),
    [(STREAM, "outside", "following"), ("signed-decimal-cr", "mass", "settling")],
)
def test_a_scale_measures_no_length_and_a_gauge_weighs_nothing(profile, measures, movement):
    text = GOOD.replace('"outside"', f'"{measures}"').replace('"following"', f'"{movement}"')
    table = bench_file(text, "bench.toml").gauge[0]
    with pytest.raises(DriverError):
        profile_on_bench(load_profile(profile), table)


@pytest.mark.parametrize(("profile", "movement"), [(STREAM, "settling"), (ONCE, "held")])
def test_the_set_up_writes_a_scale(profile, movement):
    mass = WireMass(b"", 0, "512.4", "g", 512_400_000_000_000_000)
    fit = ProfileFit(load_profile(profile), 8, "none", 2, mass)
    chosen = ChosenGauge(scale_place("scale", "/dev/p", fit), fit, 9600)
    was = GOOD.replace("/dev/ttyUSB0", "/dev/p").replace('id = "m"', 'id = "m"\npasses = 7')
    text = set_up_text("b", "A", "flat-four-85", [chosen], was)  # another stood at that port
    (table,) = bench_file(text, "b.toml").gauge
    assert (table.measures, table.movement) == ("mass", movement)
    with pytest.raises(UserError):
        bench_file(text + "passes = 7\n", "b.toml")
