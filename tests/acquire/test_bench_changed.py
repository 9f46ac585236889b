"""A job goes on by a bench that is set up otherwise: what stands stands, and a redo is equal."""

from importlib.metadata import version

import msgspec
import pytest

from barrelfit.acquire.bench.findings_queue import FindingsQueue
from barrelfit.acquire.cli import run_cli
from barrelfit.acquire.inputs.bench_changes import bench_changed, with_bench
from barrelfit.acquire.inputs.setup import setup_of
from barrelfit.acquire.inputs.shelf import shipped_text
from barrelfit.acquire.journal.disk import RealDisk
from barrelfit.acquire.journal.events import WireOpened
from barrelfit.acquire.journal.job_events import BenchChanged, GaugeSetup
from barrelfit.acquire.journal.sentences import line_of
from barrelfit.acquire.journal.session import Session
from barrelfit.acquire.journal.writer import JournalFile
from barrelfit.acquire.redo.redo_journal import redo_session, wire_of
from barrelfit.acquire.report.from_session import session_lines
from barrelfit.acquire.said_json import texts
from barrelfit.rules.bench.set_anew import set_anew
from barrelfit.rules.bench.step import step
from barrelfit.rules.events import Asked, GaugeChanged, Sized, WentOn
from barrelfit.simulators.line import Encoder
from barrelfit.simulators.trace import make_trace
from tests.acquire.recorded import CONFIG, Recording, opening, sweep
from tests.spoken import text_of

NONE_LEFT = "no outside gauge is left: what it would measure is typed in"
PROFILE = "signed-decimal-streaming-crlf"
OTHER = CONFIG.replace('id = "micrometer"', 'id = "micrometer"\npasses = 6').replace(
    "part_c = 20.0", "part_c = 24.0"
)
NO_OUTSIDE = CONFIG[: CONFIG.index("[[gauge]]")] + CONFIG[CONFIG.index('[[gauge]]\nid = "bore"') :]


def changed_to(config, **gauges):
    was = opening(code_version=OWN)
    now = msgspec.structs.replace(was, config_text=config, gauges={**was.gauges, **gauges})
    names = {name: g for name, g in now.gauges.items() if f'id = "{name}"' in config}
    return bench_changed(was, msgspec.structs.replace(now, gauges=names))


OWN = version("barrelfit")


@pytest.mark.parametrize(
    ("config", "wanted"),
    [
        (OTHER, "gauge micrometer has another passes; another temperature"),
        (
            NO_OUTSIDE,
            f"gauge micrometer is gone; {NONE_LEFT}",
        ),
        (CONFIG.replace('id = "bore"', 'id = "b2"'), "gauge bore is gone; gauge b2 is new"),
        (f"# a note\n{CONFIG}", "its text alone, not what it says"),
    ],
)
def test_what_changed_is_said_plainly(config, wanted):
    extra = {"b2": opening().gauges["bore"]} if '"b2"' in config else {}
    assert text_of(changed_to(config, **extra).changes) == wanted


def test_another_text_of_a_profile_is_told():
    text = shipped_text("drivers", "profiles", PROFILE) + "# better\n"
    found = changed_to(CONFIG, micrometer=GaugeSetup(PROFILE, text, "following"))
    assert text_of(found.changes) == "gauge micrometer has another profile"
    assert bench_changed(opening(), opening()) is None


# ---------------------------------------------------------------- a session


def go_on(recording, path, changed):
    """The daemon ends and comes back with another bench file."""
    assert recording.journal.close()
    recording.t_ns += 5_000_000_000
    recording.journal = JournalFile.resume(path, RealDisk(), recording.stamp)
    seq = recording.journal.last_seq
    recording.bench, found = step(recording.bench, WentOn(recording.t_ns))
    recording._say(found, seq)
    now = with_bench(recording.opened, changed)
    seq = recording.journal.append(changed)
    recording._say(set_anew(recording.bench, setup_of(now)), seq)
    recording.wires = {name: wire_of(now, name) for name in now.gauges}
    recording.encoders = {n: Encoder.for_profile(g.profile) for n, g in now.gauges.items()}
    for name in now.gauges:
        recording.input(WireOpened(name, "/dev/x"))
        recording.wires[name].opened(recording.t_ns)
        recording.input(GaugeChanged(name, recording.t_ns, "present"))
    return recording


def measure(recording, count, seed):
    done = 0
    for number in range(20):
        before = recording.asked.at
        sweep(recording, seed=seed + number)
        done += recording.asked.at != before
        if done == count:
            return
    pytest.fail("never a size")


@pytest.fixture(scope="module", params=[OTHER, NO_OUTSIDE], ids=["other", "no outside gauge"])
def taken_up(request, tmp_path_factory):
    path = tmp_path_factory.mktemp("changed") / "bench1-20261125T010203Z.jsonl"
    recording = Recording(path, opening(code_version=OWN))
    measure(recording, 2, 1)
    begin_sweep(recording)
    changed = changed_to(request.param)
    go_on(recording, path, changed)
    if request.param == OTHER:
        measure(recording, 2, 40)
    else:
        assert recording.asked.sentence.key == "ask_type_in"
    recording.close("stopped")
    return path


def begin_sweep(recording):
    """A sweep whose end nobody sees."""
    trace = make_trace("to-and-fro", rate_hz=20, seed=9, size_mm=84.93, bounce_share=0.0)
    start_ns = recording.t_ns + 3_000_000_000
    for t_ns, length_nm in trace.samples_ns[: len(trace.samples_ns) // 8]:
        recording.t_ns = start_ns + t_ns
        recording.send("micrometer", recording.encoders["micrometer"].encode(length_nm))


def test_a_redo_is_equal_over_the_change(taken_up):
    redone = redo_session(Session.open(taken_up))
    assert redone.difference is None
    assert redone.is_same


def test_sizes_of_before_stand_and_what_comes_is_by_the_new_bench(taken_up):
    records = list(Session.open(taken_up).records())
    place = next(n for n, r in enumerate(records) if isinstance(r.event, BenchChanged))
    before = [r.event for r in records[:place] if isinstance(r.event, Sized)]
    after = [r.event for r in records[place:] if isinstance(r.event, Sized)]
    assert len({s.at for s in before}) == 2
    assert not {s.at for s in before} & {s.at for s in after}
    asked = next(r.event for r in records[place:] if isinstance(r.event, Asked))
    assert asked.at not in {s.at for s in before}
    assert all(len(size.pass_sizes_nm) >= 6 for size in after)
    assert "SET UP OTHERWISE" in line_of(records[place])


def test_the_rules_service_comes_to_the_same(taken_up):
    records = list(Session.open(taken_up).records())
    opened = records[0].event
    queue = FindingsQueue(opened.session, setup_of(opened), OWN)
    for record in records:
        queue.take(record.seq, record.event, record.t_ns, record.because)
        if isinstance(record.event, BenchChanged):
            opened = with_bench(opened, record.event)
            queue.set_anew(record.seq, setup_of(opened))
    assert queue.waiting == 0


def test_the_report_is_made_of_all_of_it(taken_up, tmp_path, capsys):
    lines = texts(session_lines(str(taken_up)))
    sizes = {line["at"] for line in lines if line["kind"] == "size"}
    assert len(sizes) >= 2 or any(line["kind"] == "part" for line in lines)
    assert run_cli(["report", str(taken_up), "-o", str(tmp_path / "r.html")]) == 0
    assert run_cli(["verify", str(taken_up)]) == 0
