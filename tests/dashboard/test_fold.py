"""The board's fold: every message once, gaps seen, retained messages never a reading."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from barrelfit.acquire.bus.payloads import RefusedError
from barrelfit.acquire.bus.plan_told import SetTold
from barrelfit.acquire.bus.snapshot import Telling
from barrelfit.dashboard.board.model import PRINTS_KEPT, TRACE_NS, Board, Link, Prints
from barrelfit.dashboard.shown import Shown
from barrelfit.dashboard.view.bench import bench_state, figure, trouble
from barrelfit.rules.model import FeatureId
from tests.dashboard.scripted import ScriptedBench, heard, place

UP = Link(up=True)
MM = Shown()
SECOND = 1_000_000_000


def plain(board):
    """What a board knows of its bench, without what depends on how it learned it."""
    gauges = {name: gauge.state for name, gauge in board.gauges.items()}
    return board.state, gauges, board.features


def told(board):
    """What a board knows of its session, whatever way it came: sizes stand without budgets."""
    telling = Telling("b", "s", lambda _: SetTold())
    telling.state = board.state
    return telling.snapshot(board.seq, "")


def journal_batches(script, count):
    return [m for m in list(script.session_messages())[:count] if m[0].endswith("journal")]


def test_a_whole_session_is_folded():
    board = Board("bench-1")
    for message in ScriptedBench(cylinders=2).session_messages():
        heard(board, message)
    assert len(board.state.sizes) == 14
    assert board.state.judged["P2"].event.verdict == "rework"
    assert board.state.finished
    assert board.bad == board.missed == 0
    assert board.job == "4711"
    assert board.points_gauge == "bore-1"


def test_messages_twice_change_nothing():
    once, twice = Board("b"), Board("b")
    for message in ScriptedBench(cylinders=1).session_messages():
        heard(once, message)
        heard(twice, message)
        heard(twice, message)
    assert plain(once) == plain(twice)
    assert once.points == twice.points
    assert once.cues == twice.cues
    assert twice.conflict is None


@settings(deadline=None, max_examples=40)  # a busy machine is no failure
@given(st.lists(st.integers(0, 30), max_size=8))
def test_old_batches_again_in_any_order_change_nothing(again):
    batches = journal_batches(ScriptedBench(cylinders=1), 40)
    board, disturbed = Board("b"), Board("b")
    for index, message in enumerate(batches):
        heard(board, message)
        heard(disturbed, message)
        for old in again:
            if old <= index:
                heard(disturbed, batches[old])
    assert plain(board) == plain(disturbed)
    assert disturbed.conflict is None


def test_same_number_with_other_content_is_an_alarm_not_a_drop():
    script, board = ScriptedBench(), Board("b")
    heard(board, script.batch(script.event("session_opened", {"job": "1", "who": "Kim"})))
    script.seq = 0
    heard(board, script.batch(script.event("session_opened", {"job": "2", "who": "Kim"})))
    assert board.conflict == 1
    assert board.job == "1"


def test_a_gap_is_seen_and_mended_by_the_next_snapshot():
    script, board, whole = ScriptedBench(cylinders=1), Board("b"), Board("b")
    messages = list(script.session_messages())
    cut = next(
        i for i, m in enumerate(messages) if m[1].get("events", [{}])[0].get("kind") == "judged"
    )
    for index, message in enumerate(messages):
        heard(whole, message)
        if index != cut:
            heard(board, message)
        if index == cut + 1:
            assert message[0].endswith("snapshot")
    assert told(board) == told(whole)
    assert board.missed == 0


def test_a_gap_without_a_snapshot_stays_visible():
    script, board = ScriptedBench(), Board("b")
    heard(board, script.batch(script.event("session_opened", {})))
    script.event("reading_taken", {})
    script.event("reading_taken", {})
    heard(board, script.batch(script.asked(0)))
    assert board.missed == 2
    early = script.snapshot()
    early[1]["seq"] = 2  # made before the gap's end: mends what was before it
    heard(board, early)
    assert board.missed == 1


def test_a_late_board_reaches_the_same_state_from_snapshot_and_journal():
    script, early = ScriptedBench(cylinders=1), Board("b")
    messages = list(script.session_messages())
    for message in messages:
        heard(early, message)
    for start in range(0, len(messages), 37):
        late = Board("b")
        snapshots = [m for m in messages[:start] if m[0].endswith("snapshot")]
        if snapshots:
            heard(late, snapshots[-1])
        for message in messages[start:]:
            heard(late, message)
        assert told(late) == told(early), start


def test_a_snapshot_never_makes_a_reading_a_sound_or_a_live_bench():
    script, board = ScriptedBench(cylinders=1), Board("b")
    for message in script.session_messages():
        last = message
    heard(board, script.snapshot(), 5 * SECOND)
    heard(board, script.state(), 5 * SECOND)
    assert figure(board, 5 * SECOND, UP, MM).state == "none"
    assert not board.points
    assert not board.cues
    assert bench_state(board, 5 * SECOND, UP) == "unknown"  # a retained "online" is no proof
    assert last is not None


def test_silence_of_the_bench_is_unknown_and_a_heartbeat_brings_it_back():
    script, board = ScriptedBench(), Board("b")
    heard(board, script.state())
    heard(board, script.heartbeat(), SECOND)
    assert bench_state(board, 2 * SECOND, UP) == "online"
    assert bench_state(board, 3 * SECOND + 2_000_000, UP) == "unknown"
    assert "silent" in trouble(board, 4 * SECOND, UP)
    heard(board, script.heartbeat(), 5 * SECOND)
    assert bench_state(board, 5 * SECOND, UP) == "online"
    heard(board, script.state("offline"))
    assert bench_state(board, 5 * SECOND, UP) == "offline"


def test_a_late_will_of_an_earlier_session_is_not_believed():
    old, new = ScriptedBench(session="s1"), ScriptedBench(session="s2")
    board = Board("b")
    heard(board, old.state())
    heard(board, new.state())
    heard(board, new.heartbeat(), SECOND)
    heard(board, old.state("offline"))
    assert bench_state(board, SECOND, UP) == "online"


def test_a_new_session_replaces_the_old_and_the_old_is_ignored():
    old, new = ScriptedBench(session="s1"), ScriptedBench(session="s2")
    board = Board("b")
    for message in list(old.sweep(0)):
        heard(board, message)
    heard(board, new.batch(new.event("session_opened", {"job": "new"})))
    assert board.session == "s2"
    assert not board.state.sizes
    assert not board.points
    heard(board, old.batch(old.asked(1)))
    assert board.session == "s2"
    assert board.state.asked is None


def test_a_reading_sent_again_after_an_outage_is_shown_with_its_true_age():
    script, board = ScriptedBench(), Board("b")
    heard(board, script.batch(script.reading("outside-1", 84_000_000)), 10 * SECOND)
    late = script.batch(script.reading("outside-1", 84_001_000))  # taken 50 ms later …
    heard(board, late, 17 * SECOND)  # … and heard 7 s after that
    now = figure(board, 17 * SECOND, UP, MM)
    assert now.state == "stale"
    assert now.age_ms == 6_950


def test_sounds_only_for_what_is_recent():
    script, board = ScriptedBench(), Board("b")
    contact = script.event("contact", {"at": place("P1", "skirt"), "t_ns": script.t_ns})
    heard(board, script.batch(contact), 10 * SECOND)
    assert [cue.name for cue in board.cues] == ["contact"]
    again = script.event("contact", {"at": place("P1", "skirt"), "t_ns": script.t_ns})
    heard(board, script.batch(again), 20 * SECOND)
    assert len(board.cues) == 1


def test_refused_twice_at_one_place_says_again():
    script, board = ScriptedBench(), Board("b")
    data = {"at": place("P1", "skirt"), "reason": "chords", "sentence": "…", "advice": "…"}
    heard(board, script.batch(script.event("refused", data), script.event("refused", data)))
    assert [cue.name for cue in board.cues] == ["refused", "again"]


@pytest.mark.parametrize("data", [{}, {"gauge": "g"}, {"gauge": "g", "length_nm": "84"}])
def test_a_malformed_event_is_counted_and_harms_nothing(data):
    script, board = ScriptedBench(), Board("b")
    heard(board, script.batch(script.reading("outside-1", 83_000_000) | {"data": data}))
    heard(board, script.batch(script.reading("outside-1", 84_000_000)))
    assert board.bad == 1
    assert board.gauges["outside-1"].nm == 84_000_000
    assert board.missed == 0


@pytest.mark.parametrize("payload", [{}, {"session": 1, "events": []}, {"session": "s"}])
def test_a_malformed_batch_is_refused(payload):
    for leaf in ("journal", "snapshot", "state", "heartbeat"):
        with pytest.raises(RefusedError):
            heard(Board("b"), (f"barrelfit/b/{leaf}", payload, False))


def test_an_unknown_kind_is_no_error():
    script, board = ScriptedBench(), Board("b")
    heard(board, script.batch(script.event("invented_later", {"x": 1})))
    assert board.bad == 0
    assert board.seq == 1


def test_gauge_lost_makes_the_figure_lost_at_once():
    script, board = ScriptedBench(), Board("b")
    heard(board, script.batch(script.reading("outside-1", 84_000_000)), SECOND)
    assert figure(board, SECOND, UP, MM).state == "live"
    lost = {
        "gauge": "outside-1",
        "state": "lost",
        "reason": "the port vanished",
    }
    heard(board, script.batch(script.event("gauge_changed", lost)), SECOND)
    assert figure(board, SECOND, UP, MM).state == "lost"
    assert "outside-1 lost: the port vanished" in trouble(board, SECOND, UP)
    heard(board, script.batch(script.reading("outside-1", 84_000_000)), SECOND)
    assert figure(board, SECOND, UP, MM).state == "live"


def test_figure_greys_at_two_seconds():
    script, board = ScriptedBench(), Board("b")
    heard(board, script.batch(script.reading("outside-1", 84_000_000)), SECOND)
    heard(board, script.heartbeat(), 3 * SECOND)
    assert figure(board, 3 * SECOND, UP, MM).state == "live"
    assert figure(board, 3 * SECOND + 1_000_000, UP, MM).state == "stale"


def test_what_fills_a_gap_late_overwrites_nothing_newer():
    script, board = ScriptedBench(), Board("b")
    opened = script.batch(script.event("session_opened", {}))
    late = script.batch(
        script.judged("P1", "rework", []),
        script.judged("P2", "discard", []),
        script.sized(place("P2", "skirt"), 84_000_000, []),
    )
    newer = script.batch(script.judged("P1", "serviceable", []))
    for message in (opened, newer):
        heard(board, message)
    assert board.missed == 3
    heard(board, late)
    assert board.missed == 0
    judged = {about: stood.event.verdict for about, stood in board.state.judged.items()}
    assert judged == {"P1": "serviceable", "P2": "discard"}
    assert board.last_verdict == "P1"
    assert len(board.state.sizes) == 1


def test_not_recording_is_shown_until_it_is_over():
    script, board = ScriptedBench(), Board("b")
    heard(board, script.heartbeat(), SECOND)
    heard(board, script.batch(script.event("recording_stopped", {"reason": "disk full"})), SECOND)
    assert trouble(board, SECOND, UP) == "NOT RECORDING: disk full"
    heard(
        board, script.batch(script.event("recording_resumed", {"refused": 0, "file": "x"})), SECOND
    )
    assert trouble(board, SECOND, UP) == ""
    beat = script.heartbeat()
    beat[1]["trouble"] = "disk full"
    heard(board, beat, SECOND)
    assert trouble(board, SECOND, UP) == "NOT RECORDING: disk full"


def test_undo_takes_the_size_back_at_once_and_opens_a_finished_set():
    script, board = ScriptedBench(cylinders=1), Board("b")
    for message in script.session_messages():
        heard(board, message)
    last = FeatureId("B1", "bore", "bottom", "pin")
    assert last in board.state.sizes
    pressed = script.event("pedal_pressed", {"t_ns": 1, "action": "undo"})
    heard(board, script.batch(pressed))
    heard(board, script.batch(script.asked(6, because=pressed["seq"])))
    assert last not in board.state.sizes
    assert len(board.state.sizes) == 6
    assert (board.state.done, board.state.latest) == (None, None)
    heard(board, script.batch(script.event("pedal_pressed", {"t_ns": 1, "action": "next"})))
    heard(board, script.batch(script.asked(0)))
    assert len(board.state.sizes) == 6


def test_two_undos_before_the_rules_have_answered_take_back_two_sizes():
    script, board = ScriptedBench(), Board("b")
    for part in ("P1", "P2"):
        heard(board, script.batch(script.sized(place(part, "skirt"), 84_000_000, [])))
    first, second = (
        script.event("pedal_pressed", {"t_ns": 1, "action": "undo"}, because=0) for _ in range(2)
    )
    heard(board, script.batch(first, second))
    assert len(board.state.sizes) == 2
    heard(board, script.batch(script.asked(1, because=first["seq"])))
    assert [at.part for at in board.state.sizes] == ["P1"]
    heard(board, script.batch(script.asked(0, because=second["seq"])))
    assert board.state.sizes == {}


def test_a_snapshot_after_missed_messages_lists_all_there_is():
    script, board = ScriptedBench(), Board("b")
    heard(board, script.batch(script.event("session_opened", {})))
    heard(board, script.batch(script.sized(place("P1", "skirt"), 84_000_000, [])))
    script.event("pedal_pressed", {"t_ns": 1, "action": "undo"})  # these two never came
    script.asked(0)
    heard(board, script.batch(script.event("recording_resumed", {})))
    assert board.missed == 2
    heard(board, script.snapshot())
    assert board.missed == 0
    assert board.state.sizes == {}


def test_a_board_that_was_away_knows_all_from_the_snapshot_of_its_return():
    script, board = ScriptedBench(), Board("b")
    heard(board, script.batch(script.event("session_opened", {})))
    script.sized(place("P1", "skirt"), 84_000_000, [])  # while it was away
    heard(board, script.snapshot())
    assert board.state.sizes == {}  # the record may still come
    for _ in range(2):
        heard(board, script.heartbeat())
    assert len(board.state.sizes) == 1
    assert board.missed == 0


def test_a_board_that_comes_late_has_missed_nothing():
    script, board = ScriptedBench(), Board("b")
    heard(board, script.batch(script.sized(place("P1", "skirt"), 84_000_000, [])))
    late, snapshot = Board("b"), script.snapshot()
    for _ in range(3):
        script.reading("outside-1", 84_000_000)
    heard(late, snapshot)
    heard(late, script.batch(script.reading("outside-1", 84_000_000)))
    assert late.missed == 0
    assert len(late.state.sizes) == 1


def test_a_board_keeps_no_more_of_a_long_stream_than_it_shows():
    now = [0]
    script = ScriptedBench(clock=lambda: now[0])
    board = Board("b")
    heard(board, script.batch(script.event("session_opened", {"job": "1"})))
    for number in range(900):
        now[0] = number * SECOND // 10
        heard(board, script.batch(script.reading("outside-1", 84_000_000 + 1_000 * number)))
    assert board.points[-1].nm == 84_899_000
    assert board.points[-1].t_ns - board.points[0].t_ns <= TRACE_NS
    assert 200 < len(board.points) <= 301


def test_an_altered_repeat_is_known_while_its_print_is_kept():
    prints = Prints()
    for seq in range(1, PRINTS_KEPT + 10):
        prints.note(seq, 7 * seq)
    assert not prints.differ(PRINTS_KEPT, 7 * PRINTS_KEPT)
    assert prints.differ(PRINTS_KEPT, 8)
    assert not prints.differ(5, 8)  # too long ago to know
