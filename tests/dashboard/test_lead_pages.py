"""Floor, set and gauges pages: what they show, worked out without a browser."""

import pytest

from barrelfit.acquire.bus.payloads import ServiceHealth
from barrelfit.acquire.wires.ports_found import FoundPort
from barrelfit.dashboard.board.model import Board, GaugeFault, Link
from barrelfit.dashboard.html.feed import Item, Parts, PartsFeed
from barrelfit.dashboard.html.floor_html import floor_parts, gauges_parts
from barrelfit.dashboard.html.set_html import set_parts
from barrelfit.dashboard.shown import Shown
from barrelfit.dashboard.view.bench import trouble
from barrelfit.dashboard.view.floor import FloorCues, by_name, floor_view
from barrelfit.dashboard.view.gauges import fault_line, gauge_rows, helper_lines
from barrelfit.dashboard.view.set import set_view
from barrelfit.rules.said import written
from tests.dashboard.scripted import ScriptedBench, finding, heard, place

UP, DOWN, MM, NOW = Link(up=True), Link(up=False), Shown(), 1_000_000_000


def board_after(script, *messages):
    board = Board(script.bench)
    for message in messages:
        heard(board, message, NOW)
    return board


def whole(script):
    return board_after(script, *script.session_messages(), script.heartbeat())


def test_names_in_the_order_people_count():
    assert sorted(["b11", "b2", "a", "b1"], key=by_name) == ["a", "b1", "b2", "b11"]


def test_floor_of_nothing_and_without_a_bus():
    assert floor_view({}, NOW, UP, MM).cards == ()
    assert floor_view({}, NOW, DOWN, MM).trouble.startswith("Bus not reachable")
    assert "No bench" in floor_parts(floor_view({}, NOW, UP, MM), "").blocks["nothing"]


def test_a_card_tells_state_progress_verdict_gauges_and_alarm():
    script = ScriptedBench(cylinders=1)
    board = board_after(script, script.snapshot(), *script.sweep(0), script.heartbeat())
    board.gauge("bore-1").state = "lost"
    card = floor_view({"bench-1": board}, NOW, UP, MM).cards[0]
    assert (card.state, card.doing, card.progress) == ("online", "P1 skirt", "0 of 7")
    assert (card.about, card.verdict) == ("P1", "serviceable")
    assert [(g.name, g.state) for g in card.gauges] == [
        ("outside-1", "answering"),
        ("bore-1", "lost"),
    ]
    assert card.alarm == "gauge"  # though it is not the one in use
    (need,) = floor_view({"bench-1": board}, NOW, UP, MM).queue
    assert "bore-1 lost" in need.sentence


def test_the_queue_holds_undecided_verdicts_and_requests_first():
    script = ScriptedBench()
    board = board_after(
        script,
        script.snapshot(),
        *[m for i in range(4) for m in script.sweep(i)],
        script.batch(
            script.event("override_asked", {"about": "P3", "who": "Kim", "reason": "new"})
        ),
    )
    queue = floor_view({"bench-1": board}, NOW, UP, MM).queue
    assert [(entry.about, bool(entry.asked)) for entry in queue] == [("P3", True), ("P4", False)]
    over = {"about": "P4", "verdict": "serviceable", "who": "R.", "reason": "seen"}
    heard(board, script.batch(script.event("overridden", over)), NOW)
    assert [entry.about for entry in floor_view({"b": board}, NOW, UP, MM).queue] == ["P3"]


def test_what_needs_a_person_is_ranked_by_how_urgent_it_is():
    boards = {}
    for number, name in enumerate(("undecided", "lost", "well", "not-recording", "off"), start=1):
        script = ScriptedBench(bench=f"bench-{number}", session=f"s{number}", cylinders=1)
        board = boards[script.bench] = Board(script.bench)
        for message in (script.snapshot(), *script.sweep(0)):
            heard(board, message, NOW)
        if name == "undecided":
            near = finding("L1", 1, "P1", "too near its limit")
            heard(board, script.batch(script.judged("P1", "undecided", [near])), NOW)
        script.trouble = "the disk is full" if name == "not-recording" else ""
        script.gauge_states["bore-1"] = "lost" if name == "lost" else "answering"
        heard(board, script.heartbeat(), NOW)
        if name == "off":
            heard(board, script.state("offline"), NOW)
    view = floor_view(boards, NOW, UP, MM)
    needs = [(need.bench, need.kind) for need in view.queue]
    assert needs == [("bench-4", "not-recording"), ("bench-2", "gauge"), ("bench-1", "undecided")]
    assert [card.alarm for card in view.cards] == ["", "gauge", "", "not-recording", ""]


def test_what_is_merely_missing_needs_nobody():
    script = ScriptedBench(cylinders=1)
    unseen = finding("E101", 1, "P1", "nobody has looked at it yet")
    board = board_after(
        script, *script.sweep(0), script.batch(script.judged("P1", "undecided", [unseen]))
    )
    board.daemon, board.heard_at_ns = "online", NOW
    assert floor_view({"b": board}, NOW, UP, MM).queue == ()


def test_a_part_that_is_not_measured_yet_does_not_wait_for_the_lead():
    script = ScriptedBench(cylinders=1)
    missing = finding("M", 1, "B1", "the bore has no size yet")
    board = board_after(
        script, script.snapshot(), script.batch(script.judged("B1", "undecided", [missing]))
    )
    assert floor_view({"b": board}, NOW, UP, MM).queue == ()
    assert board.last_verdict == ""


def test_set_view_has_sizes_maps_and_clearances():
    view = set_view(whole(ScriptedBench(cylinders=2)), MM)
    pistons, barrels = view.tables
    assert pistons.columns == ("skirt",)
    assert barrels.columns[0] == "bore top thrust"
    assert pistons.rows[1].cells[0].text == "84.9730"
    assert pistons.rows[1].cells[0].doubt == "± 1.3 μm"
    assert [m.part for m in view.maps] == ["B1", "B2"]
    first = view.maps[0]
    assert [p.above_nm for p in first.lines[0][1]] == [0, 6_000, 12_000]
    assert [p.down for p in first.lines[0][1]] == [0.0, 0.5, 1.0]
    pair = view.clearances[0]
    small, large = pair.ends
    assert (pair.pair, small.nm, large.nm) == ("P1+B1", 6_000, 21_000)
    assert (small.limit_nm, large.limit_nm) == (15_000, 66_000)
    html = set_parts(view, "t", "", "", MM).blocks["clearances"]
    assert html.count("<svg") == 1
    for word in ("P1+B1", "P2+B2", "smallest allowed 15 µm", "Hatched"):
        assert word in html


def test_a_pair_without_a_size_has_a_row_all_the_same():
    script = ScriptedBench(cylinders=1)
    board = board_after(
        script, script.snapshot(), script.batch(script.judged("P1+B1", "undecided", []))
    )
    [pair] = set_view(board, MM).clearances
    assert (pair.ends, pair.figures, pair.verdict) == (None, "no clearance yet", "none")
    assert (
        "no clearance yet" in set_parts(set_view(board, MM), "t", "", "", MM).blocks["clearances"]
    )


def test_a_bores_map_reaches_its_limit_and_says_how_far_that_is():
    script = ScriptedBench(cylinders=1)
    board = whole(script)
    largest = max(s.event.size_nm for at, s in board.state.sizes.items() if at.part == "B1")
    found = finding("B1", 0, "B1", "…", value_nm=largest, limit_nm=largest + 85_000)
    heard(board, script.batch(script.judged("B1", "serviceable", [found])), NOW)
    view = set_view(board, MM)
    assert (view.maps[0].limit_nm, view.maps[0].widest_nm) == (100_000, 100_000)
    html = set_parts(view, "t", "", "", MM).blocks["maps"]
    assert "largest allowed" in html
    assert "100.0 μm" in html


def test_columns_stand_in_one_order_whatever_way_the_gauge_was_turned():
    script = ScriptedBench(cylinders=1)
    board = whole(script)
    board.features = board.features[::-1]
    assert set_view(board, MM).tables[0].columns[0] == "bore bottom pin"


def test_what_to_do_is_worst_first_and_shows_an_override_beside_its_verdict():
    script = ScriptedBench()
    board = whole(script)
    over = {"about": "P1", "verdict": "rework", "who": "R.", "reason": "scored"}
    heard(board, script.batch(script.event("overridden", over)), NOW)
    todo = set_view(board, MM).todo
    assert [v.verdict for v in todo] == [
        "discard",
        "rework",
        "rework",
        "rework",
        "undecided",
        "serviceable",
    ]
    assert todo[-1].overridden == "R. decided REWORK: scored"


def test_pairing_is_shown_with_its_reasons():
    script = ScriptedBench(cylinders=1)
    pair = {"cylinder": 1, "bank": "left", "piston": "P1", "barrel": "B1", "tight_nm": 45_000,
            "loose_nm": 60_000}  # fmt: skip
    matched = {"outcome": "matched", "pairs": [pair], "spread_nm": 0, "sentences": ["as it came"]}
    board = board_after(script, script.batch(script.event("matched", matched)))
    (seat,) = set_view(board, MM).result.seats
    assert (seat.cylinder, seat.bank, seat.clearance) == ("1", "left", "0.0450 … 0.0600 mm")
    assert (seat.piston.name, seat.barrel.name, seat.verdict) == ("P1", "B1", "none")
    html = set_parts(set_view(board, MM), "t", "", "", MM).blocks["pairing"]
    assert "as it came" in html
    assert "WAITS FOR P1, B1" in html  # neither has a verdict


def test_gauges_in_trouble_come_first_and_faults_newest_first():
    script = ScriptedBench()
    board = board_after(
        script,
        script.heartbeat(),
        script.batch(
            script.event("fault_seen", {"gauge": "outside-1", "raw": "4552", "fault": "one"}),
            script.event("fault_seen", {"gauge": "outside-1", "raw": "00", "fault": "two"}),
        ),
    )
    rows = gauge_rows({"bench-1": board}, NOW, UP, MM)
    assert [row.name for row in rows] == ["outside-1", "bore-1"]
    assert [(f.what, f.raw, f.text) for f in rows[0].faults] == [
        ("two", "00", "·"),
        ("one", "45 52", "ER"),
    ]
    board.gauge("bore-1").state = "lost"
    assert gauge_rows({"bench-1": board}, NOW, UP, MM)[0].name == "bore-1"


def test_of_a_bench_that_is_away_no_gauge_is_said_to_answer():
    script = ScriptedBench()
    board = board_after(script, script.heartbeat())
    boards, later = {"bench-1": board}, NOW + 10_000_000_000
    assert {row.state for row in gauge_rows(boards, NOW, UP, MM)} == {"answering"}
    for now, link, word in ((later, UP, "Bench silent for"), (NOW, DOWN, "")):
        rows = gauge_rows(boards, now, link, MM)
        assert [row.state for row in rows] == ["unknown"] * 2
        assert all(row.reason.startswith(word) and bool(row.reason) == bool(word) for row in rows)
        (shown,) = floor_view(boards, now, link, MM).cards
        assert {line.state for line in shown.gauges} == {"unknown"}


def test_bytes_that_are_no_hex_are_shown_as_they_came():
    assert fault_line(GaugeFault("", "x", "zz")).raw == "zz"


def test_text_from_the_bus_is_escaped_on_the_leads_pages():
    evil = "<img src=x onerror=alert(1)>"
    script = ScriptedBench(bench=evil)
    found = finding("A", 1, evil, evil)
    board = board_after(
        script,
        script.batch(
            script.sized(place(evil, "bore", evil, evil), 1, []),
            script.sized(place(evil, "skirt"), 1, []),
            script.judged(evil, "undecided", [found], evil),
            script.judged(f"{evil}+{evil}", "rework", [found], evil),
            script.event("override_asked", {"about": evil, "who": evil, "reason": evil}),
            script.event("fault_seen", {"gauge": evil, "raw": evil, "fault": evil}),
            script.event(
                "gauge_changed",
                {
                    "gauge": evil,
                    "state": evil,
                    "reason": evil,
                },
            ),
            script.event("matched", {"outcome": evil, "sentences": [evil]}),
        ),
    )
    boards = {evil: board}
    pages = [
        floor_parts(floor_view(boards, NOW, UP, MM), ""),
        gauges_parts(gauge_rows(boards, NOW, UP, MM), [FoundPort(evil, evil, evil, evil)], ""),
        set_parts(set_view(board, MM), evil, evil, evil, MM),
    ]
    for parts in pages:
        html = "".join(parts.blocks.values())
        html += "".join(item.html + item.href for items in parts.lists.values() for item in items)
        assert "<img" not in html
        assert "lt;img" in html


def test_a_list_is_sent_by_its_changes():
    feed = PartsFeed()
    one, two = Item("a", "", "1"), Item("b", "/x", "2")
    assert feed.next(Parts({"t": "x"}, {"l": [one, two]})) == {
        "blocks": {"t": "x"},
        "lists": {"l": {"order": ["a", "b"], "items": [["a", "", "1"], ["b", "/x", "2"]]}},
    }
    assert feed.next(Parts({"t": "x"}, {"l": [one, two]})) == {}
    new = Item("b", "/x", "3")
    assert feed.next(Parts({"t": "x"}, {"l": [new, one]})) == {
        "lists": {"l": {"order": ["b", "a"], "items": [["b", "/x", "3"]]}}
    }


@pytest.mark.parametrize("count", [1, 24])
def test_many_benches(count):
    boards = {}
    for i in range(count):
        script = ScriptedBench(bench=f"bench-{i}", session=f"s{i}", cylinders=1)
        boards[script.bench] = whole(script)
    view = floor_view(boards, NOW, UP, MM)
    assert len(view.cards) == count
    assert view.summary.startswith(f"benches: {count} ")


def test_ports_are_shown_with_what_is_wrong_with_them():
    ports = [FoundPort("/dev/serial/by-id/x", "/dev/ttyUSB0", "adapter", "a note", "no right")]
    assert "no right" in gauges_parts((), ports, "").blocks["ports"]
    assert "no serial adapter" in gauges_parts((), [], "").blocks["ports"]


def test_what_is_new_on_the_floor_is_heard_once_and_the_past_is_not():
    script = ScriptedBench()
    board = board_after(script, script.snapshot(), *script.sweep(3), script.heartbeat())
    cues, boards = FloorCues(), {"bench-1": board}
    assert cues.next(floor_view(boards, NOW, UP, MM)) == []  # P4 waited before the page opened
    verdict = script.judged("P1", "rework", [])
    request = script.event("override_asked", {"about": "P1", "who": "Kim", "reason": "look"})
    heard(board, script.batch(verdict, request), NOW)
    board.gauge("bore-1").state = "lost"
    assert cues.next(floor_view(boards, NOW, UP, MM)) == [
        ["trouble", "bench-1"],
        ["waiting", "bench-1 P1"],
    ]
    assert cues.next(floor_view(boards, NOW, UP, MM)) == []


def test_what_is_away_and_what_was_refused_is_on_the_gauges_page_and_the_bench_screen():
    board = Board("bench-1", daemon="online", heard_at_ns=NOW)
    assert helper_lines({"bench-1": board}) == ()
    assert "nothing was refused" in gauges_parts((), [], "").blocks["helpers"]
    board.services = {
        "bus": ServiceHealth("running"),
        "rules": ServiceHealth("away", written("it ended")),
    }
    board.bench_refused, board.refused = {"results": 2, "command": 1}, {"journal": 7}
    away, by_bench, by_board = helper_lines({"bench-1": board})
    assert away == "bench-1: the rules service is away: it ended"
    assert "bench-1 refused 3 messages" in by_bench
    assert "command: 1, results: 2" in by_bench
    assert "7 messages in the name of bench-1" in by_board
    assert by_board in gauges_parts((), [], "", (by_board,)).blocks["helpers"]
    assert "nothing is sized or judged" in trouble(board, NOW, UP)
