"""Redo: the same bytes give the same session again, and the first difference is named."""

import dataclasses

import msgspec
import pytest

from barrelfit.acquire.errors import UserError
from barrelfit.acquire.inputs.gauge_profiles import load_profile
from barrelfit.acquire.inputs.setup import setup_of
from barrelfit.acquire.journal.events import (
    FaultSeen,
    ReadingTaken,
    SessionClosed,
    SessionResumed,
    WireNote,
    WireOpened,
    of_outcome,
)
from barrelfit.acquire.journal.session import Session
from barrelfit.acquire.redo import redo as redo_module
from barrelfit.acquire.redo.differences import difference_of
from barrelfit.acquire.redo.gauge_wire import GaugeWire
from barrelfit.acquire.redo.redo import Redo
from barrelfit.acquire.redo.redo_journal import redo_session, wire_of
from barrelfit.drivers.decode import Wire
from barrelfit.rules.events import (
    EntryMade,
    GaugeChanged,
    Judged,
    PedalPressed,
    Sized,
    TemperatureTaken,
)
from barrelfit.rules.model import FeatureId
from barrelfit.rules.said import written
from barrelfit.simulators.trace import make_trace
from tests.acquire.recorded import Recording, opening, sweep
from tests.spoken import text_of

pytestmark = pytest.mark.slow  # a whole set is recorded


@pytest.fixture(scope="module")
def records(whole_set):
    return list(Session.open(whole_set).records())


def redone(records, **options):
    redo = Redo(setup_of, wire_of, options.get("code_version", "0.1.0"))
    redo.take(records)
    return redo.result()


def replaced(records, seq, **changes):
    """The records with other fields in one record's event."""
    was = records[seq - 1].event
    if dataclasses.is_dataclass(was):
        event = dataclasses.replace(was, **changes)
    else:
        event = msgspec.structs.replace(was, **changes)
    new = msgspec.structs.replace(records[seq - 1], event=event)
    return [*records[: seq - 1], new, *records[seq:]]


def first(records, wanted, number=0):
    """Seq of a record of a kind."""
    return [r.seq for r in records if isinstance(r.event, wanted)][number]


def test_a_whole_set_is_redone_equal(whole_set, records):
    done = redo_session(Session.open(whole_set))
    assert done.difference is None
    assert done.records == len(records)
    assert done.readings == sum(isinstance(r.event, ReadingTaken) for r in records)
    assert done.sizes == [r.event for r in records if isinstance(r.event, Sized)]
    assert len(done.sizes) == 29  # one piston is worn, and measured twice
    assert done.reworded == done.open == 0
    taught = [size for size in done.sizes if any(n.key == "taught_by" for n in size.notes)]
    assert {size.at.part for size in taught} == {"P2", "P3", "P4"}  # of what came before each


def test_blocks_of_any_size_give_the_same(records):
    redo = Redo(setup_of, wire_of, "0.1.0")
    for start in range(0, len(records), 7):
        redo.take(records[start : start + 7])
    assert redo.result().difference is None


def test_a_changed_length_is_named_with_both_values(records):
    seq = first(records, ReadingTaken, 40)
    was = records[seq - 1].event.length_nm
    done = redone(replaced(records, seq, length_nm=was + 1000))
    difference = done.difference
    assert (difference.seq, difference.kind) == (seq, "reading_taken")
    assert difference.field == "length_nm"
    assert (difference.was, difference.now) == (str(was + 1000), str(was))


def test_changed_bytes_are_found(records):
    seq = first(records, ReadingTaken, 40)
    raw = records[seq - 1].event.raw
    other = raw[:8] + ("30" if raw[8:10] != "30" else "31") + raw[10:]
    assert redone(replaced(records, seq, raw=other)).difference.seq == seq


def test_bytes_that_no_longer_are_a_reading_are_found(records):
    seq = first(records, ReadingTaken, 40)
    difference = redone(replaced(records, seq, raw="2b78780d0a")).difference
    assert (difference.seq, difference.field) == (seq, "kind")
    assert difference.now.startswith("fault_seen")


def test_bytes_that_are_none_are_named_not_a_crash(records):
    seq = first(records, ReadingTaken, 40)
    difference = redone(replaced(records, seq, raw="xyz")).difference
    assert (difference.seq, difference.field, difference.was) == (seq, "raw", "xyz")


def test_a_changed_size_is_named_with_its_field(records):
    seq = first(records, Sized)
    was = records[seq - 1].event.size_nm
    difference = redone(replaced(records, seq, size_nm=was + 1)).difference
    assert (difference.seq, difference.kind, difference.field) == (seq, "sized", "size_nm")
    assert (difference.was, difference.now) == (str(was + 1), str(was))


def test_a_changed_verdict_is_named(records):
    seq = first(records, Judged, 20)
    was = records[seq - 1].event.verdict
    other = next(v for v in type(was) if v != was)
    difference = redone(replaced(records, seq, verdict=other)).difference
    assert (difference.seq, difference.field) == (seq, "verdict")
    assert (difference.was, difference.now) == (other.value, was.value)


def test_a_difference_across_versions_is_explained_by_the_estimator(records):
    seq = first(records, Sized)
    changed = replaced(records, seq, estimator="older-estimator", size_nm=1)
    difference = redone(changed, code_version="0.2.0").first
    assert "the estimator was: older-estimator (barrelfit 0.1.0)" in text_of(difference.because)
    assert "(barrelfit 0.2.0)" in text_of(difference.because)


def test_a_difference_across_versions_names_both(records):
    seq = first(records, Sized)
    difference = redone(replaced(records, seq, size_nm=1), code_version="0.2.0").first
    assert text_of(difference.because) == "recorded by barrelfit 0.1.0, redone by 0.2.0"


def test_a_difference_within_a_version_is_called_what_it_is(records):
    seq = first(records, Sized)
    difference = redone(replaced(records, seq, size_nm=1)).difference
    assert "same version" in text_of(difference.because)


def test_better_words_are_no_difference(records):
    seq = first(records, Sized)
    done = redone(replaced(records, seq, notes=("another wording",)))
    assert (done.difference, done.reworded) == (None, 1)


def test_an_uncertainty_s_last_bits_are_no_difference(records):
    seq = first(records, Sized)
    u_nm = records[seq - 1].event.u_nm
    assert redone(replaced(records, seq, u_nm=u_nm * (1 + 1e-12))).difference is None
    difference = redone(replaced(records, seq, u_nm=u_nm * (1 + 1e-6))).difference
    assert difference.field == "u_nm"


def test_a_finding_taken_out_is_found(records):
    seq = first(records, Sized)
    difference = redone([r for r in records if r.seq != seq]).difference
    assert difference is not None
    assert difference.kind != "sized"


def test_a_finding_too_many_is_found(records):
    seq = first(records, Sized)
    extra = [*records[:seq], records[seq - 1], *records[seq:]]
    assert redone(extra).difference is not None


def test_a_finding_at_the_end_that_nothing_led_to_is_found(records):
    extra = [*records[:-1], records[first(records, Judged) - 1], records[-1]]
    difference = redone(extra).difference
    assert difference.now == "nothing"


def test_a_session_that_was_cut_off_may_lack_its_last_findings(records):
    seq = first(records, Sized, 3)
    done = redone(records[: seq - 1])
    assert done.difference is None
    assert done.open > 0


def test_a_session_closed_as_done_may_not(records):
    seq = first(records, Sized, 3)
    closing = [r for r in records if isinstance(r.event, SessionClosed)]
    difference = redone([*records[: seq - 1], *closing]).difference
    assert (difference.seq, difference.was) == (None, "nothing")
    assert difference.now.startswith("sized")


def test_a_gauge_nobody_set_up(records):
    seq = first(records, ReadingTaken, 3)
    difference = redone(replaced(records, seq, gauge="stranger")).difference
    assert (difference.field, difference.was) == ("gauge", "stranger")


def test_no_session_no_redo(records):
    with pytest.raises(UserError, match="no record"):
        Redo(setup_of, wire_of, "0.1.0").result()
    with pytest.raises(UserError, match="does not begin"):
        redone(records[1:])


# ---------------------------------------------------------------- everything else that can happen


def test_faults_notes_pedal_entries_and_temperatures_are_redone(tmp_path):
    document = opening(session="odd")
    recording = Recording(tmp_path / "odd.jsonl", document)
    recording.input(TemperatureTaken(recording.t_ns, "part", 24_000))
    sweep(recording, seed=1)
    recording.t_ns += 2_000_000_000
    recording.send("micrometer", b"ERR3\r\n")
    recording.send("micrometer", b"+08x.9\xb1\r\n")
    recording.input(PedalPressed(recording.t_ns, "undo"))
    recording.input(EntryMade(recording.t_ns, FeatureId("P1", "skirt"), "84.938", "mm", "A. Smith"))
    recording.input(EntryMade(recording.t_ns, FeatureId("P2", "skirt"), "8.4938", "mm", "A. Smith"))
    recording.send("micrometer", b"+084.")  # the plug is pulled inside a frame
    recording.t_ns += 3_000_000_000
    lost(recording, "micrometer")
    back(recording, "micrometer")
    sweep(recording, seed=2)
    recording.close("stopped")
    session = Session.open(tmp_path / "odd.jsonl")
    kinds = {type(r.event) for r in session.records()}
    assert {FaultSeen, PedalPressed, EntryMade, TemperatureTaken, GaugeChanged} <= kinds
    done = redo_session(session)
    assert done.difference is None
    assert done.sizes


def lost(recording, gauge):
    """The port goes: what the wire had half heard comes out as a fault."""
    for outcome in recording.wires[gauge].closed(recording.t_ns):
        recording.input(of_outcome(gauge, outcome))
    recording.input(GaugeChanged(gauge, recording.t_ns, "lost", written("unplugged")))


def back(recording, gauge):
    """The port is back, with an old line in its buffer."""
    recording.t_ns += 2_000_000_000
    recording.input(WireOpened(gauge, "/dev/pts/90"))
    recording.wires[gauge].opened(recording.t_ns)
    recording.send(gauge, recording.encoders[gauge].encode(84_000_000))
    recording.t_ns += 1_000_000_000


def test_old_bytes_at_opening_are_notes_again(tmp_path):
    recording = Recording(tmp_path / "old.jsonl", opening(session="old"))
    back(recording, "micrometer")
    sweep(recording, seed=2)
    recording.close("stopped")
    session = Session.open(tmp_path / "old.jsonl")
    assert any(isinstance(r.event, WireNote) for r in session.records())
    assert redo_session(session).difference is None


def test_a_resumed_session_is_redone(tmp_path):
    recording = Recording(tmp_path / "again.jsonl", opening(session="again"))
    sweep(recording, seed=1)
    recording.send("micrometer", b"+084.9")  # half a frame dies with the daemon
    recording.input(SessionResumed(recording.journal.last_seq))
    recording.wires = {name: wire_of(recording.opened, name) for name in recording.wires}
    for gauge in recording.wires:
        recording.input(WireOpened(gauge, "/dev/pts/90"))
        recording.wires[gauge].opened(recording.t_ns)
    sweep(recording, seed=2)
    recording.close("stopped")
    done = redo_session(Session.open(tmp_path / "again.jsonl"))
    assert done.difference is None
    assert len(done.sizes) == 2


def test_what_a_gauge_called_itself_outlives_a_restart_in_a_redo_too():
    wire = GaugeWire("g", lambda: Wire(load_profile("signed-decimal-cr")))
    wire.wire.feed(b"SY233.1\r", 0)
    wire.start_anew()
    (fault,) = wire.wire.feed(b"SY233.2\r", 1)
    assert fault.fault == "another gauge"


# ---------------------------------------------------------------- comparing


def test_the_quick_comparison_looks_at_every_field_of_a_reading():
    names = set(ReadingTaken.__struct_fields__) - {"gauge", "raw", "at_ns"}
    source = redo_module._same.__code__.co_names
    assert names <= set(source)


def test_the_first_field_that_differs():
    was = GaugeChanged("micrometer", 1, "present")
    assert difference_of(3, was, was) is None
    found = difference_of(3, was, GaugeChanged("micrometer", 2, "lost"))
    assert (found.field, found.was, found.now) == ("t_ns", "1", "2")


def test_a_redo_counts_no_pass_before_its_ask_either(tmp_path):
    """What was asked for next was on its way while the hand, told nothing, swept its part again."""
    path = tmp_path / "outage.jsonl"
    recording = Recording(path, opening())
    recording.hold_back()
    assert sweep(recording, seed=3) == FeatureId("P1", "skirt")
    for seed in (4, 5):
        trace = make_trace("to-and-fro", rate_hz=20, seed=seed, size_mm=84.936, bounce_share=0.0)
        recording.play("micrometer", trace)
    recording.let_through()
    recording.t_ns += 4_000_000_000
    sweep(recording, seed=6)
    sweep(recording, seed=7)
    recording.close("stopped")
    done = redo_session(Session.open(path))
    assert done.difference is None
    assert [size.at.part for size in done.sizes][:2] == ["P1", "P2"]
    second = next(size for size in done.sizes if size.at.part == "P2")
    assert abs(second.read_nm - 84_850_000) < 6_000
