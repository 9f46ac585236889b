"""The board's pages in a browser, fed by a scripted bench over a real broker."""

# ruff: noqa: F811  fixtures are imported by their names

import json

import pytest

from barrelfit.dashboard.server.launcher import PAGE_PATHS
from tests.dashboard.scripted import place, wave
from tests.system.board_browser import (
    IN_PAGE,
    bench,  # noqa: F401
    open_bench,
    page,  # noqa: F401
    rig,  # noqa: F401
    text_of,
    wait_state,
    wait_text,
)
from tests.system.board_rig import Repeater, wait_for
from tests.system.patience import promptly

pytestmark = [pytest.mark.system, pytest.mark.slow, pytest.mark.timeout(300)]


def readings(rig, bench):
    return Repeater(
        rig.publisher,
        lambda: bench.batch(bench.reading("outside-1", wave(bench.t_ns, 84_000_000))),
        0.05,
    )


def test_live_figure_changes_and_a_verdict_appears(rig, page, bench):
    open_bench(rig, page, bench)
    moving = readings(rig, bench)
    wait_state(page, "live")
    first = text_of(page, "[data-id=digits]")
    page.wait_for_function(f"old => ({IN_PAGE})('[data-id=digits]').textContent !== old", arg=first)
    moving.stop()
    rig.say(bench.snapshot(), *bench.sweep(2))
    wait_text(page, "[data-id=answer] .word", "DISCARD")
    wait_text(page, "[data-id=answer]", "sheet flat-four-85 rev A")
    wait_text(page, "[data-id=answer]", "P3 skirt")
    assert page.evaluate(f"() => !!({IN_PAGE})('[data-id=answer] svg.shape')")


def test_a_silent_gauge_greys_within_two_seconds_and_tells_its_age(rig, page, bench):
    open_bench(rig, page, bench)
    moving = readings(rig, bench)
    wait_state(page, "live")
    with promptly(2.6, "a silent gauge is grey"):  # 2 s, and what the browser needs to look
        moving.stop()
        wait_state(page, "stale")
    wait_text(page, "[data-id=age]", "no reading for ")
    first = text_of(page, "[data-id=age]")
    page.wait_for_function(f"old => ({IN_PAGE})('[data-id=age]').textContent !== old", arg=first)
    wait_text(page, "[data-id=age]", "no reading for ")
    moving = readings(rig, bench)
    wait_state(page, "live")
    moving.stop()


def test_a_lost_gauge_shows_at_once(rig, page, bench):
    open_bench(rig, page, bench)
    rig.say(bench.batch(bench.reading("outside-1", 84_000_000)))
    wait_state(page, "live")
    bench.gauge_states["outside-1"] = "lost"
    lost = {
        "gauge": "outside-1",
        "state": "lost",
        "reason": "the port vanished",
    }
    with promptly(1.0, "a lost gauge shows"):
        rig.say(bench.batch(bench.event("gauge_changed", lost)))
        wait_state(page, "lost")
    wait_text(page, "[data-id=trouble]", "Gauge outside-1 lost: the port vanished")
    wait_text(page, "[data-id=cue]", "gauge lost")


def test_broker_away_and_back(rig, page, bench):
    open_bench(rig, page, bench)
    moving = readings(rig, bench)
    wait_state(page, "live")
    with promptly(4.0, "a broker that went is told"):
        rig.broker.stop()
        wait_text(page, "[data-id=trouble]", "Bus not reachable")
    wait_state(page, "stale")
    rig.broker.start()
    wait_for(rig.publisher.client.is_connected, "the publisher's connection")
    wait_state(page, "live")
    moving.stop()


def test_server_killed_and_started_again_under_an_open_page(rig, page, bench):
    page.forgives = True  # the browser itself logs each refused connection
    open_bench(rig, page, bench)
    moving = readings(rig, bench)
    wait_state(page, "live")
    with promptly(3.0, "a server that went is told"):
        rig.board.kill()
        wait_text(page, "[data-id=server]", "Board server not reachable")
    wait_state(page, "stale")
    rig.board.start()
    wait_state(page, "live")
    assert text_of(page, "[data-id=server]") == ""
    moving.stop()


def test_two_tabs_share_one_bus_client_and_leave_nothing(rig, page, bench):
    open_bench(rig, page, bench)
    other = page.context.new_page()
    open_bench(rig, other, bench)
    rig.say(bench.batch(bench.reading("outside-1", 84_001_000)))
    for tab in (page, other):
        wait_text(tab, "[data-id=digits]", "84.001")
    other.close()
    wait_for(lambda: health(page)["pages"] == 1, "the closed page's end")
    for _ in range(5):
        open_bench(rig, page, bench)
    wait_for(lambda: health(page)["pages"] == 1, "the left pages' end")
    counted = []
    topic = "$SYS/broker/clients/connected"
    rig.publisher.client.message_callback_add(topic, lambda *a: counted.append(int(a[2].payload)))
    rig.publisher.client.subscribe(topic)
    # This test's publisher and the board. The broker counts once a second.
    wait_for(lambda: counted[-1:] == [2], "a count of two clients")


def health(page):
    return json.loads(page.evaluate("async () => await (await fetch('/health')).text()"))


EVERY_PAGE = ["", *PAGE_PATHS]


@pytest.mark.parametrize("path", EVERY_PAGE)
def test_every_page_opens_quietly_with_nothing_to_show(rig, page, path):
    query = {"replay": "?file=none.jsonl", "override": "?id=nobench&about=P1"}.get(path, "")
    page.goto(f"{rig.board.url}/{path}{query}")
    page.wait_for_selector("[data-testid=stMain]")
    page.wait_for_function("() => !document.querySelector('[data-testid=stStatusWidget]')")
    page.wait_for_timeout(700)  # whatever a page does on its own, it has begun by then


def test_floor_shows_state_verdict_and_queue(rig, page, bench):
    rig.say(bench.snapshot(), *bench.sweep(3))
    page.goto(f"{rig.board.url}/floor")
    card = f"[data-key='{bench.bench}']"
    wait_text(page, card, "UNDECIDED")
    wait_text(page, card, "on")
    wait_text(page, f"[data-key='{bench.bench}/P4']", "too near its limit")


def test_set_page_has_sizes_and_charts(rig, page, bench):
    bench.cylinders = 1
    rig.say(bench.snapshot(), *bench.session_messages())
    page.goto(f"{rig.board.url}/set?id={bench.bench}")
    wait_text(page, "[data-id=tables]", "84.9700")
    wait_text(page, "[data-id=clearances]", "P1+B1")
    wait_text(page, "[data-id=maps]", "B1")


def test_gauges_page_shows_faults_with_their_bytes(rig, page, bench):
    fault = {"gauge": "outside-1", "raw": "2b3834ff0d", "fault": "unreadable", "hint": ""}
    page.goto(f"{rig.board.url}/gauges")
    rig.say(bench.batch(bench.event("fault_seen", fault)))
    row = f"[data-key='{bench.bench}/outside-1']"
    wait_text(page, row, "2b 38 34 ff 0d")
    wait_text(page, row, "+84··")


def test_settings_change_the_text_alone(rig, page, bench):
    page.goto(f"{rig.board.url}/bench?id={bench.bench}&unit=inch&decimal=comma")
    rig.say(bench.batch(bench.reading("outside-1", 25_400_000)))
    wait_text(page, "[data-id=digits]", "1,00000")
    wait_text(page, "[data-id=sign]", "in")


def test_a_unit_chosen_on_one_page_holds_on_all_of_them(rig, page, bench):
    rig.say(bench.snapshot(), *bench.sweep(0))
    page.goto(f"{rig.board.url}/set?id={bench.bench}")
    wait_text(page, "[data-id=tables]", "84.9700")
    page.get_by_role("link", name="in", exact=True).click()
    page.get_by_role("link", name="1,5", exact=True).click()
    wait_text(page, "[data-id=tables]", "3,34528")
    open_bench(rig, page, bench)
    rig.say(bench.batch(bench.reading("outside-1", 25_400_000)))
    wait_text(page, "[data-id=digits]", "1,00000")
    page.goto(f"{rig.board.url}/jobs?id={bench.bench}")
    page.get_by_role("link", name="Bench", exact=True).click()
    wait_text(page, "[data-id=sign]", "in")


def test_each_cue_is_heard_and_seen_and_can_be_muted(rig, page, bench):
    page.add_init_script("""
      window.tones = 0; window.said = [];
      const audio = AudioContext.prototype, make = audio.createOscillator;
      audio.createOscillator = function () { window.tones++; return make.call(this) };
      speechSynthesis.speak = words => window.said.push(words.text);""")
    open_bench(rig, page, bench)
    page.get_by_text("touch for sound").click()
    page.get_by_text("sound on").wait_for()
    page.get_by_text("voice off").click()
    rig.say(bench.batch(bench.sized(place("P1", "skirt"), 84_971_000, [])))
    wait_text(page, "[data-id=cue]", "size taken P1 skirt")
    page.wait_for_function("() => window.tones === 3")
    page.wait_for_function("() => window.said[0] === '84.9710 mm'")
    page.get_by_text("sound on").click()
    contact = {"at": place("P2", "skirt"), "t_ns": bench.t_ns}
    rig.say(bench.batch(bench.event("contact", contact)))
    wait_text(page, "[data-id=cue]", "part on the gauge P2 skirt")
    assert page.evaluate("() => window.tones") == 3


def test_place_of_the_trace_marks(rig, page, bench):
    """What counts is drawn: the trace's canvas has more of its colours after a pass."""
    open_bench(rig, page, bench)
    rig.say(*list(bench.sweep(0))[:34])
    at = place("P1", "skirt")
    wait_text(page, "[data-id=ask]", f"{at['part']} {at['feature']}")
    wait_text(page, "[data-id=passes]", "1 of 5")
    page.wait_for_function(
        f"""() => {{
        const c = ({IN_PAGE})('canvas'), g = c.getContext('2d');
        const d = g.getImageData(0, 0, c.width, c.height).data;
        let counted = 0;
        for (let i = 0; i < d.length; i += 4)
          if (d[i + 3] > 200 && d[i + 2] > 130 && d[i] < 60) counted++;
        return counted > 200 }}"""
    )
