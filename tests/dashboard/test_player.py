"""Replaying a recorded session: the same board as live, at any speed, by steps, from the start."""

import json
from dataclasses import dataclass, replace

from barrelfit.acquire.bus.payloads import BATCHES
from barrelfit.dashboard.board.fold import fold_record
from barrelfit.dashboard.board.model import Board, Link
from barrelfit.dashboard.board.player import EVENTS_A_TICK, STEPS, SessionPlayer
from barrelfit.dashboard.board.record import BoardRecord
from barrelfit.dashboard.shown import Shown
from barrelfit.dashboard.view.bench import figure
from tests.dashboard.scripted import ScriptedBench

SECOND = 1_000_000_000


def records(cylinders=1):
    script = ScriptedBench(cylinders=cylinders)
    return [
        Recorded(told.seq, told.because, told.t_ns, told.utc, told.event())
        for topic, payload, _ in script.session_messages()
        if topic.endswith("journal")
        for told in BATCHES.decode(json.dumps(payload)).events
    ]


@dataclass(frozen=True)
class Recorded:
    """As a journal's record."""

    seq: int
    because: int | None
    t_ns: int
    utc: str
    event: object


def live(events):
    board = Board("bench-1")
    for event in events:
        fold_record(board, BoardRecord.of_journal(event), event.t_ns)
    return board


def play(player, seconds, frame_ns=50_000_000):
    now = 0
    while now <= seconds * SECOND and not player.ended:
        player.tick(now)
        now += frame_ns


def test_at_the_end_it_knows_what_a_live_board_knew():
    events = records()
    player = SessionPlayer("s", lambda: iter(events))
    player.command("speed", 64)
    play(player, 60)
    assert player.ended
    board, wanted = player.board, live(events)
    assert board.state == wanted.state
    assert list(board.points) == list(wanted.points)
    assert (board.missed, board.bad) == (0, 0)


def test_speed_is_session_time_by_wall_time():
    player = SessionPlayer("s", lambda: iter(records()))
    start = player.now_ns
    play(player, 1.95)
    assert player.now_ns - start == 1_950_000_000
    player.command("speed", 4)
    for now in (2 * SECOND, 3 * SECOND):
        player.tick(now)
    assert abs(player.now_ns - start - 1_950_000_000 - 4_200_000_000) <= 50_000_000


def test_while_it_plays_the_figure_is_fresh_and_a_gap_makes_it_old():
    events = records()
    player = SessionPlayer("s", lambda: iter(events))
    play(player, 0.5)
    assert figure(player.board, player.now_ns, Link(up=True), Shown()).state == "live"
    cut = [e for e in events if not 6 * SECOND < e.t_ns < 9 * SECOND]
    player = SessionPlayer("s", lambda: iter(cut))
    play(player, 3.5)
    assert figure(player.board, player.now_ns, Link(up=True), Shown()).state == "stale"


def test_step_goes_to_the_next_pass_size_or_refusal():
    player = SessionPlayer("s", lambda: iter(records()))
    counts = []
    for _ in range(4):
        player.command("step")
        state = player.board.state
        counts.append((len(state.sweep.passes), len(state.sizes)))
    assert counts == [(1, 0), (2, 0), (3, 0), (3, 1)]
    before = player.now_ns
    player.tick(0)
    player.tick(10 * SECOND)
    assert player.now_ns == before  # a step leaves it at rest


def test_a_step_back_shows_what_stood_after_the_pass_before():
    events = records()
    player = SessionPlayer("s", lambda: iter(events))
    boards = []
    for _ in range(5):
        player.command("step")
        boards.append(player.board.state.copy())
    for wanted in reversed(boards[:-1]):
        player.command("back")
        assert player.board.state == wanted
        assert not player.playing
    player.command("back")  # before the first pass there is only the beginning
    assert player.board.seq == 0
    player.command("step")
    assert player.board.seq == boards[0].seq


def test_back_from_between_two_passes_goes_to_the_one_behind():
    player = SessionPlayer("s", lambda: iter(records()))
    player.command("step")
    at = player.board.seq
    player.command("play")
    player.tick(0)
    player.tick(SECOND // 2)
    assert player.board.seq > at
    player.command("back")
    assert player.board.seq == at
    player.command("back")
    assert player.board.seq == 0


def test_a_long_way_is_gone_in_several_ticks():
    events = records(8)
    player = SessionPlayer("s", lambda: iter(events))
    player.command("speed", 64)
    play(player, 600)
    assert player.ended
    steps = [e.seq for e in events if isinstance(e.event, STEPS)]
    player.command("back")
    assert player.seeking
    ticks = 0
    while player.seeking:
        player.tick(ticks)
        ticks += 1
    assert 1 <= ticks == steps[-2] // EVENTS_A_TICK
    assert player.board.seq == steps[-2]
    assert list(player.board.points) == list(live(events[: steps[-2]]).points)


def test_pause_play_restart_and_nonsense():
    player = SessionPlayer("s", lambda: iter(records()))
    play(player, 3)
    player.command("pause")
    at = player.now_ns
    player.tick(9 * SECOND)
    assert player.now_ns == at
    player.command("play")
    player.tick(9 * SECOND + 50_000_000)
    assert player.now_ns == at + 50_000_000
    for name, value in (("speed", 3), ("speed", "x"), ("burn", None)):
        player.command(name, value)
    assert player.speed == 1
    player.command("restart")
    assert player.board.seq == 0
    assert not player.ended


def test_a_burst_never_takes_longer_than_a_frame():
    burst = [replace(e, t_ns=5 * SECOND) for e in records(8)]
    player = SessionPlayer("s", lambda: iter(burst))
    player.tick(0)
    player.tick(50_000_000)
    first = player.board.seq
    assert 0 < first < len(burst)
    for tick in range(2, 10):
        player.tick(tick * 50_000_000)
    assert player.ended


def test_an_empty_journal_is_an_end():
    player = SessionPlayer("s", lambda: iter([]))
    player.tick(0)
    player.command("step")
    assert player.ended
