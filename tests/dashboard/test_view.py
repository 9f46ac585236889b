"""What the bench page shows, and that nothing from the bus gets into the page unescaped."""

import re

import pytest

from barrelfit.acquire.bus.plan_told import Planned
from barrelfit.dashboard.board.model import Board, Link
from barrelfit.dashboard.html.blocks import bench_blocks, verdict_html
from barrelfit.dashboard.html.feed import BenchFeed
from barrelfit.dashboard.shown import Shown
from barrelfit.dashboard.view.bench import bench_view, figure
from barrelfit.dashboard.view.passes import caution, pass_marks, window_nm
from barrelfit.dashboard.view.verdicts import verdict_view
from barrelfit.rules.model import FeatureId
from barrelfit.rules.said import length, said
from tests.dashboard.scripted import ScriptedBench, finding, heard, place

UP, DOWN = Link(up=True), Link(up=False)
MM, INCH = Shown(), Shown("inch", comma=True)
NOW = 1_000_000_000


def board_after(messages, now_ns=NOW):
    board = Board("bench-1")
    for message in messages:
        heard(board, message, now_ns)
    return board


def test_an_empty_bench_says_so():
    view = bench_view(Board("bench-1"), NOW, UP, MM)
    assert view.trouble == "Nothing heard from bench bench-1 yet"
    assert view.ask.how == "Waiting for the plan"
    assert view.answer is None


def test_bus_down_is_said_first():
    assert bench_view(Board("bench-1"), NOW, DOWN, MM).trouble.startswith("Bus not reachable")


def test_progress_shows_done_now_and_open():
    script = ScriptedBench(cylinders=2)
    board = board_after([*script.sweep(0), script.batch(script.asked(1))])
    rows = bench_view(board, NOW, UP, MM).parts
    assert [row.part for row in rows] == ["P1", "P2", "B1", "B2"]
    assert [row.cells[0].state for row in rows] == ["done", "now", "open", "open"]
    assert rows[0].verdict == "serviceable"
    assert len(rows[2].cells) == 6


def test_verdict_has_word_reason_and_the_limits_origin():
    script = ScriptedBench()
    board = board_after([*script.sweep(0), *script.sweep(1)])
    view = verdict_view(board, "P2", MM)
    assert view.word == "REWORK"
    assert view.reasons[0].value == "found 84.9730 mm"
    assert view.reasons[0].limit == "limit 84.9940 mm: stamp on P2"
    assert verdict_view(board, "P2", INCH).reasons[0].value == "found 3,34539 in"


def test_a_value_a_nanometre_past_its_limit_is_written_so_that_it_shows():
    script = ScriptedBench()
    found = finding("W", 3, "P1", "…", value_nm=83_999_999, limit_nm=84_000_000, limit_from="sheet")
    board = board_after([script.batch(script.judged("P1", "discard", [found]))])
    reason = verdict_view(board, "P1", MM).reasons[0]
    assert (reason.value, reason.limit) == (
        "found 83.999999 mm",
        "limit 84.000000 mm: sheet",
    )


def test_worst_finding_first():
    script = ScriptedBench()
    found = [finding("A", 0, "P1", "a note"), finding("B", 3, "P1", "the reason")]
    board = board_after([script.batch(script.judged("P1", "discard", found))])
    assert [r.sentence for r in verdict_view(board, "P1", MM).reasons] == ["the reason", "a note"]


def swept(script, sizes, at=None):
    """A sweep of what is asked for, with the passes so far."""
    at = at or place("P1", "skirt")
    events = [script.asked(0), script.event("contact", {"at": at, "t_ns": 1})]
    for number, nm in enumerate(sizes, start=1):
        data = {"at": at, "number": number, "size_nm": nm, "start_ns": 1, "end_ns": 2}
        events.append(script.event("passed", data))
    return script.batch(*events)


def test_passes_on_a_ruler():
    script = ScriptedBench()
    board = board_after([script.snapshot(), swept(script, (84_000_000, 84_001_500, 84_000_500))])
    marks = pass_marks(board, MM)
    assert (marks.text, marks.count, marks.least) == ("3 of 5", 3, 5)
    assert marks.spread == "within 1.5 μm"
    assert marks.marks == (0.125, 0.875, 0.375)
    assert marks.ruler == "2.0 μm"


def test_the_traces_scale_stays_until_a_pass_lies_outside_it():
    script = ScriptedBench()
    board = board_after([script.snapshot()])
    seen = []
    for sizes in ((84_000_000,), (84_000_000, 84_009_000), (84_000_000, 84_009_000, 83_960_000)):
        heard(board, swept(script, sizes), NOW)
        seen.append(window_nm(board))
    assert seen == [
        (84_000_000 - 30_000, 84_000_000 + 30_000),
        (84_000_000 - 30_000, 84_000_000 + 30_000),
        (84_000_000 - 60_000, 84_000_000 + 60_000),
    ]


def test_a_doubtful_sweep_tells_its_doubt_against_its_aim_until_it_has_its_size():
    script = ScriptedBench()
    at = place("P1", "skirt")
    board = board_after([script.snapshot(), swept(script, [84_000_000] * 6)])
    span = {"size_nm": 84_000_100, "low_nm": 83_996_950, "high_nm": 84_003_250}
    heard(board, script.batch(script.event("still_doubtful", {"at": at, "passes": 6, **span})), NOW)
    marks = pass_marks(board, MM)
    assert (marks.text, marks.count) == ("6", 6)
    assert marks.doubt == "± 3.2 μm, enough at about ± 2.1 μm: go on"
    assert (marks.share, marks.aim) == (pytest.approx(0.5), pytest.approx(1 / 3))
    heard(board, script.batch(script.sized(at, 84_000_000, [84_000_000] * 2)), NOW)
    assert pass_marks(board, MM).doubt == ""


def test_for_how_long_a_part_must_be_away_is_counted_down():
    script = ScriptedBench()
    board = board_after([script.snapshot(), *script.sweep(0), script.batch(script.asked(1))])
    at = place("P2", "skirt")
    since = {"at": at, "since_ns": script.t_ns - 400_000_000, "gone_ns": 2_600_000_000}
    heard(board, script.batch(script.event("part_away", since)), NOW)
    gone_ns = board.lag.board_time(script.t_ns + 2_200_000_000)
    left = [caution(board, MM, gone_ns - more_ms * 1_000_000) for more_ms in (2_200, 1_000, 1, 0)]
    assert left == ["away: 3 s more", "away: 1 s more", "away: 1 s more", ""]
    feed = BenchFeed(MM)
    drawn = [feed.next(board, gone_ns - more_ns, UP) for more_ns in (2 * 10**9, 10**9, 10**9, 0)]
    assert [one.get("blocks", {}).get("caution") for one in drawn] == [
        *("away: 2 s more", "away: 1 s more", None, "")
    ]
    back = {"at": at, "since_ns": script.t_ns, "gone_ns": 0}
    heard(board, script.batch(script.event("part_away", back)), NOW)
    assert caution(board, MM, gone_ns - 10**9) == ""


def test_what_would_help_is_shown_while_the_sweep_goes_on():
    script = ScriptedBench()
    board = board_after([script.snapshot(), script.batch(script.asked(0))])
    at = place("P1", "skirt")
    heard(board, script.batch(script.event("contact", {"at": at, "t_ns": script.t_ns})), NOW)
    helps = {"at": at, "passes": 3, "sentence": said("do_rest_flatter")}
    heard(board, script.batch(script.event("coached", helps)), NOW)
    assert caution(board, MM, NOW) == "rest it flatter"
    heard(board, script.batch(script.sized(at, 84_000_000, [84_000_000] * 5)), NOW)
    assert caution(board, MM, NOW) == ""


def test_what_the_hand_does_for_nothing_is_said_until_the_next_contact():
    script = ScriptedBench()
    board = board_after([script.snapshot(), *script.sweep(0), script.batch(script.asked(1))])
    at = place("P2", "skirt")
    heard(board, script.batch(script.event("not_counted", {"at": at})), NOW)
    assert caution(board, MM, NOW) == "not counted: take it away first, for some seconds"
    contact = script.event("contact", {"at": at, "t_ns": script.t_ns})
    heard(board, script.batch(contact), NOW)
    assert caution(board, MM, NOW) == ""
    assert pass_marks(board, MM).text == "0 of 5"
    heard(board, script.batch(script.event("pass_lost", {"at": at, "t_ns": 1})), NOW)
    assert caution(board, MM, NOW) == "one pass lost: readings missing"
    put_down = script.event("interrupted", {"at": at, "passes": 2, "least": 5})
    heard(board, script.batch(put_down), NOW)
    assert caution(board, MM, NOW) == "put down: goes on when it comes back"
    heard(board, script.batch(script.event("contact", {"at": at, "t_ns": script.t_ns})), NOW)
    passed = {"at": at, "number": 3, "size_nm": 84_900_000, "start_ns": 1, "end_ns": 2}
    anew = script.event("started_anew", {"at": at, "passes": 1})
    heard(board, script.batch(script.event("passed", passed), anew), NOW)
    assert caution(board, MM, NOW) == "not what was put down: starts anew. Is it P2?"
    heard(board, script.batch(script.sized(at, 84_900_000, [84_900_000] * 5)), NOW)
    assert caution(board, MM, NOW) == ""


def test_figure_in_the_gauges_own_digits():
    script = ScriptedBench()
    board = board_after([script.heartbeat(), script.batch(script.reading("outside-1", 84_012_000))])
    assert figure(board, NOW, UP, MM).text == "84.012"
    assert figure(board, NOW, UP, INCH).text == "3,30756"


def test_the_gauge_asked_for_is_shown_not_the_one_that_moves():
    script = ScriptedBench()
    board = board_after(
        [
            script.heartbeat(),
            script.batch(script.asked(0), script.reading("outside-1", 84_000_000)),
            script.batch(script.reading("bore-1", 85_000_000)),
        ]
    )
    assert figure(board, NOW, UP, MM).text == "84.000"
    assert len(board.points) == 1


def test_text_from_the_bus_is_escaped_in_every_block():
    evil = "<img src=x onerror=alert(1)>"
    script = ScriptedBench(job=evil)
    found = finding("A", 3, evil, evil, value_nm=1, limit_nm=2, limit_from=evil)
    ask = {"at": place(evil, "bore", evil, evil), "gauge": evil, "sentence": evil}
    refused = {"at": place(evil, evil), "reason": evil, "sentence": evil, "advice": evil}
    lost = {"gauge": evil, "state": "lost", "reason": evil}
    board = board_after(
        [
            script.heartbeat(),
            script.batch(
                script.event("session_opened", {"job": evil}),
                script.event("asked", ask),
                script.event("refused", refused),
                script.judged(evil, "discard", [found], evil),
                script.event("gauge_changed", lost),
                script.event("overridden", {"about": evil, "verdict": evil, "who": evil}),
            ),
        ]
    )
    board.features = [Planned(FeatureId(evil, "bore", evil, evil), evil)]
    blocks = bench_blocks(bench_view(board, NOW, UP, MM))
    for name, html in blocks.items():
        assert "<img" not in html, name
    assert blocks["trouble"].count("&lt;img") == 2


def test_every_verdict_has_its_own_shape_and_word():
    script = ScriptedBench()
    shapes = set()
    for verdict in ("serviceable", "rework", "discard", "undecided"):
        board = board_after([script.batch(script.judged("P1", verdict, []))])
        block = verdict_html(verdict_view(board, "P1", MM))
        assert verdict.upper() in block
        shapes.add(re.sub(r'aria-label="\w+"', "", re.findall(r"<svg.*?</svg>", block)[0]))
    assert len(shapes) == 4


def test_feed_sends_only_what_changed():
    script = ScriptedBench(cylinders=1)
    board, feed = board_after([script.heartbeat()]), BenchFeed(MM)
    first = feed.next(board, NOW, UP)
    assert "blocks" in first
    assert "points" not in first
    heard(board, script.batch(script.reading("outside-1", 84_000_000)), NOW)
    second = feed.next(board, NOW, UP)
    assert second["points"] == [[5_050, 84_000_000]]
    assert "blocks" not in second
    assert second["figure"]["text"] == "84.000"
    assert set(feed.next(board, NOW, UP)) == {"figure"}


def test_feed_tells_every_point_once_to_a_page_that_lags():
    script = ScriptedBench(cylinders=1)
    board, feed, got = board_after([script.heartbeat()]), BenchFeed(MM), []
    for count in (1, 7, 0, 30):
        for _ in range(count):
            reading = script.reading("outside-1", 84_000_000 + 1_000 * script.seq)
            heard(board, script.batch(reading), NOW)
        got += feed.next(board, NOW, UP).get("points", [])
    assert got == [[p.t_ns // 1_000_000, p.nm] for p in board.points]
    assert len(got) == 38


def test_feed_has_no_sound_for_the_past_and_each_cue_once():
    script = ScriptedBench(cylinders=1)
    board, feed = board_after(script.sweep(0)), BenchFeed(MM)
    assert "cues" not in feed.next(board, NOW, UP)
    heard(board, script.batch(script.sized(place("B1", "bore"), 84_000_000, [])), NOW)
    assert feed.next(board, NOW, UP)["cues"] == [["sized", "B1 bore"]]
    assert "cues" not in feed.next(board, NOW, UP)


def test_without_an_ask_the_figure_stays_with_one_gauge():
    script = ScriptedBench()
    board = board_after([script.heartbeat()])
    for nm in range(84_000_000, 84_010_000, 1_000):
        for gauge in ("outside-1", "bore-1"):
            heard(board, script.batch(script.reading(gauge, nm)), NOW)
    assert board.points_gauge == "bore-1"
    assert len(board.points) == 10


def test_every_sentence_of_the_page_follows_the_unit():
    script = ScriptedBench()
    found = finding(
        "W", 2, "P1",
        said("is_below", what=said("skirt"), value=length(84_000_000), gap=length(21_000),
             limit=length(84_021_000)),
        value_nm=84_000_000, limit_nm=84_021_000,
        limit_from=said("original", origin=said("stamp_on", part="P1"), size=length(84_050_000)),
    )  # fmt: skip
    at = place("P1", "skirt")
    asked = {"at": at, "gauge": "", "done": 0, "total": 1,
             "sentence": said("ask_skirt", part="P1", height=length(12_000_000))}  # fmt: skip
    apart = said("gauge_found", size=length(50_000), read=length(50_000))
    refused = {"at": at, "reason": "r", "sentence": apart, "advice": "again"}
    hone = said("honed_to", part="B1", to=length(85_500_000))
    tight = said("fit_unsure", clearance=length(5_000), near=said("near_a_limit"))
    pair = said("in_barrel", piston="P1", barrel="B1", what=tight)
    matched = {"outcome": "impossible", "pairs": [], "spread_nm": None,
               "sentences": [pair]}  # fmt: skip
    board = board_after(
        [
            script.heartbeat(),
            script.batch(
                script.event("asked", asked),
                script.event("refused", refused),
                script.event("matched", matched),
                script.judged("P1", "rework", [found], hone),
                script.sized(at, 84_000_000, []),
                script.event("set_done", {}),
            ),
        ]
    )
    view = bench_view(board, NOW, UP, INCH)
    blocks = " ".join(bench_blocks(view).values())
    assert " mm" not in blocks
    assert " mm" not in " ".join(view.result.lines)
    assert "skirt 3,30709 in is 0,00083 in below the limit 3,30791 in" in blocks
    assert "B1 honed to 3,36614 in" in blocks
    assert board.state.judged["P1"].event.todo == hone  # what is kept stays as it came


def test_a_sentence_of_an_older_version_is_shown_as_it_was_written():
    script = ScriptedBench()
    found = finding("W", 2, "P1", "skirt 84.000 mm is too small", limit_from="sheet 84.050 mm")
    board = board_after([script.heartbeat(), script.batch(script.judged("P1", "rework", [found]))])
    (reason,) = verdict_view(board, "P1", INCH).reasons
    assert (reason.sentence, reason.limit) == (
        "skirt 84.000 mm is too small", "limit: sheet 84.050 mm",
    )  # fmt: skip


def planned(*places):
    return [Planned(FeatureId(*words), "g", nm) for words, nm in places]


def test_where_on_the_part_is_drawn_with_its_length():
    script = ScriptedBench()
    board = board_after([script.heartbeat()])
    board.features = planned(
        (("P1", "skirt"), 12_000_000),
        (("B1", "bore", "top", "thrust"), 12_000_000),
        (("B1", "bore", "bottom", "thrust"), 96_000_000),
        (("B1", "bore", "bottom", "pin"), 96_000_000),
    )
    for at, wanted in (
        (place("P1", "skirt"), "12.0 mm"),
        (place("B1", "bore", "bottom", "pin"), "96.0 mm"),
    ):
        asked = {"at": at, "gauge": "g", "sentence": "…", "done": 0, "total": 4}
        heard(board, script.batch(script.event("asked", asked)), NOW)
        assert wanted in bench_blocks(bench_view(board, NOW, UP, MM))["picture"]
    view = bench_view(board, NOW, UP, INCH)
    assert [(level.name, level.text) for level in view.levels] == [
        ("top", "0,472 in"),
        ("bottom", "3,780 in"),
    ]
    assert view.levels[0].down < view.levels[1].down < 1
    assert view.directions == ("thrust", "pin")


@pytest.mark.parametrize("feature", ["diameter", "side-all", "gap", "skirt", "novelty"])
def test_every_kind_of_feature_has_a_picture(feature):
    script = ScriptedBench()
    asked = {"at": place("P1", feature, "oil"), "gauge": "", "sentence": "…"}
    board = board_after([script.batch(script.event("asked", asked))])
    assert "<svg" in bench_blocks(bench_view(board, NOW, UP, MM))["picture"]


def test_another_gauge_that_is_lost_is_a_note_beside_the_work():
    script = ScriptedBench()
    lost = {
        "gauge": "bore-1",
        "state": "lost",
        "reason": "the port vanished",
    }
    board = board_after(
        [script.heartbeat(), script.batch(script.asked(0), script.event("gauge_changed", lost))]
    )
    view = bench_view(board, NOW, UP, MM)
    assert view.note == "Gauge bore-1 lost: the port vanished"
    assert view.trouble == ""


def test_rules_that_do_not_answer_are_told_while_the_hand_sweeps_on():
    script, board = ScriptedBench(), Board("bench-1")
    told = []
    for second in range(12):
        topic, beat, retained = script.heartbeat()
        grows = {"seq": 40 + 10 * second, "rules_seq": 40 if second < 4 else 44}
        heard(board, (topic, beat | grows, retained), NOW * (second + 1))
        told.append(bench_view(board, NOW * (second + 1), UP, MM).trouble)
    assert told[:3] == ["", "", ""]
    assert told[-1] == "Not recording what you sweep: the rules have not answered for 7 s"
