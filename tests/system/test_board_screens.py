"""Every state of a bench's screen at every size, light and dark, looked at in a real browser.

One page and one board for all of them: each state is a session of its own that the bench goes over
to. Heights are of capitals and digits as they are drawn, in pixels of 1920 by 1080.
"""

# ruff: noqa: F811  fixtures are imported by their names

import json
import time
from itertools import count
from pathlib import Path

import pytest

from tests.dashboard.floors import floor
from tests.dashboard.scripted import ScriptedBench
from tests.dashboard.states import STATES, messages
from tests.system.board_browser import IN_PAGE, page, rig, wait_text  # noqa: F401
from tests.system.board_rig import Repeater, wait_for

pytestmark = [pytest.mark.system, pytest.mark.slow, pytest.mark.timeout(300)]

CHECKS = Path(__file__).with_name("board_checks.js").read_text(encoding="utf-8")
LOOK = f"how => ({CHECKS.split('//', 3)[-1].split(chr(10), 1)[1]})({{seek: {IN_PAGE}, ...how}})"
SIZES = {(1920, 1080): False, (1280, 800): False, (820, 1180): True, (390, 844): True}
"""Each size, and whether its page may be scrolled."""
GROUNDS = {"light": "#ffffff", "dark": "#0d1014"}
PAINT = f"""ground => {{ const board = ({IN_PAGE})('.board');
  board.getRootNode().host.style.setProperty('--st-background-color', ground);
  board.dataset.dark = ground === '#0d1014' ? 'yes' : 'no' }}"""
SPOIL = f"""() => {{ const style = (selector, words) => {{
    ({IN_PAGE})(selector).style.cssText = words }};
  style('h1', 'position: fixed; left: -60px; color: #bbb');
  style('[data-id=job]', 'position: fixed; top: 130px; left: 100px; z-index: 9');
  style('header a', 'min-height: 20px; height: 20px');
  style('.what', 'margin: 0'); ({IN_PAGE})('.what').nextSibling.remove();
  style('.answer .why', 'position: relative; top: 9em');
  style('.answer .word b', 'display: inline-block; width: 2em; overflow-wrap: anywhere') }}"""
HIDDEN = f"""() => [...({IN_PAGE})('.cards').querySelectorAll('.alarm')]
  .filter(e => e.getBoundingClientRect().bottom > innerHeight)
  .map(e => `an alarm out of sight: ${{e.parentElement.textContent}}`)"""
CAPITALS = f"""selector => {{
  const e = ({IN_PAGE})(selector), style = getComputedStyle(e);
  const g = document.createElement('canvas').getContext('2d');
  g.font = `${{style.fontWeight}} ${{style.fontSize}} ${{style.fontFamily}}`;
  return g.measureText('H8').actualBoundingBoxAscent }}"""
LEAST = {
    "asks-skirt": {".how": 42, ".what": 42},
    "asks-bore": {".how": 42},
    "sweeping": {".count b": 42, ".what": 42},
    "doubtful": {".count b": 42, ".doubt": 34},
    "serviceable": {".size b": 84, ".word b": 84, ".why p": 34, "[data-id=ask] .how": 42},
    "discard": {".size b": 84, ".word b": 84, ".why p": 34, ".why .todo": 34},
    "refused": {".word": 84, ".why p": 34},
    "answered-place": {".size b": 84, ".why p": 34, "[data-id=ask] .how": 42},
    "refused-once": {".word": 84, "[data-id=ask] .how": 42},
    "set-empty": {".set .word b": 84, ".set .why p": 34},
    "not-recording": {"[data-id=trouble]": 34},
}
"""Heights in pixels at 1920 by 1080 on 24 inches, to be read from two metres."""


def show(rig, page, name, bench="bench-1"):
    """Let a bench be in a state, and wait until the page is."""
    for message in messages(name, bench, time.monotonic_ns):
        rig.publisher.say(message)
    wait_text(page, "[data-id=job]", f"job {name}")
    page.wait_for_function(f"() => !({IN_PAGE})('[data-id=stage]')?.unfit")
    page.evaluate("() => new Promise(done => requestAnimationFrame(() => setTimeout(done, 30)))")


def test_a_floor_of_two_eight_and_thirty_two_benches(rig, page):
    benches, turn = floor(32), count()
    page.goto(f"{rig.board.url}/floor")
    alive = [benches[0][0]]

    def beat():
        return alive[next(turn) % len(alive)].heartbeat()

    beats = Repeater(rig.publisher, beat, 0.03)
    found = {}
    for many in (2, 8, 32):
        for bench, said in benches[len(alive) if many > 2 else 0 : many]:
            for message in said:
                rig.publisher.say(message)
            alive += [bench] if bench not in alive else []
        wait_text(page, f"[data-key='floor-{many}']", "P2 skirt")
        for size, scrolls in SIZES.items():
            page.set_viewport_size({"width": size[0], "height": size[1]})
            page.evaluate("() => new Promise(requestAnimationFrame)")
            wrong = page.evaluate(LOOK, {"layout": True, "contrast": True, "scrolls": scrolls})
            if not scrolls:
                wrong += page.evaluate(HIDDEN)
            if wrong:
                found[many, size] = wrong
    beats.stop()
    assert found == {}
    first = page.evaluate(f"() => ({IN_PAGE})('.queue .item').textContent")
    assert "not recording" in first


def test_the_set_and_gauges_pages_at_every_size(rig, page):
    bench = ScriptedBench(bench="whole", session="whole", clock=time.monotonic_ns)
    fault = {"gauge": "outside-1", "raw": "2b3834ff0d", "fault": "unreadable", "hint": ""}
    for message in (*bench.session_messages(), bench.batch(bench.event("fault_seen", fault))):
        rig.publisher.say(message)
    beats = Repeater(rig.publisher, bench.heartbeat, 0.4)
    found = {}
    for path, filled in (("set?id=whole", "DISCARD"), ("gauges", "2b 38 34 ff 0d")):
        page.goto(f"{rig.board.url}/{path}")
        wait_text(page, ".board", filled)
        for size, scrolls in SIZES.items():
            page.set_viewport_size({"width": size[0], "height": size[1]})
            page.evaluate("() => new Promise(requestAnimationFrame)")
            wrong = page.evaluate(LOOK, {"layout": True, "contrast": True, "scrolls": scrolls})
            if wrong:
                found[path, size] = wrong
    beats.stop()
    assert found == {}


def test_an_answer_that_is_tapped_goes_to_the_bench_and_waits_for_its_record(rig, page):
    heard = []
    script = ScriptedBench(bench="bench-2", session="s-asks-look", seq=20, clock=time.monotonic_ns)
    rig.publisher.client.message_callback_add(
        script.topic("command"), lambda *a: heard.append(json.loads(a[2].payload))
    )
    rig.publisher.client.subscribe(script.topic("command"), 1)
    page.goto(f"{rig.board.url}/bench?id=bench-2")
    rig.say(*messages("asks-look", "bench-2", time.monotonic_ns))
    wait_text(page, "[data-id=picture]", "good")
    rig.say(script.batch(script.event("signed_on", {"who": "Kim"})))
    page.wait_for_timeout(600)  # whoever is at the bench is known with the next message
    page.get_by_role("button", name="good", exact=True).click()
    wait_for(lambda: heard, "the command")
    answer = {"kind": "fact", "value": "good", "who": "Kim", "ask": 1}
    assert answer.items() <= heard[0].items()
    assert page.evaluate(f"() => !!({IN_PAGE})('.glove[aria-busy=true]')")  # not taken yet
    wait_text(page, "[data-id=cue]", "No answer from the bench: nothing was changed.")


def test_every_state_at_every_size_light_and_dark(rig, page):
    page.goto(f"{rig.board.url}/bench?id=bench-1")
    wait_text(page, "[data-id=name]", "bench-1")
    found = {}
    for name in STATES:
        show(rig, page, name)
        for size, scrolls in SIZES.items():
            page.set_viewport_size({"width": size[0], "height": size[1]})
            page.evaluate("() => new Promise(requestAnimationFrame)")
            wrong = page.evaluate(LOOK, {"layout": True, "contrast": False, "scrolls": scrolls})
            if size == (1920, 1080):
                for theme, ground in GROUNDS.items():
                    page.evaluate(PAINT, ground)
                    seen = page.evaluate(LOOK, {"layout": False, "contrast": True})
                    wrong += [f"{theme}: {one}" for one in seen]
                for selector, least in LEAST.get(name, {}).items():
                    height = page.evaluate(CAPITALS, selector)
                    wrong += [f"{selector} is {height} high"] if height < least else []
            if wrong:
                found[name, size] = wrong
    assert found == {}


def test_the_checks_themselves_find_what_is_wrong(rig, page):
    page.goto(f"{rig.board.url}/bench?id=bench-3")
    show(rig, page, "overridden", "bench-3")
    page.evaluate(PAINT, GROUNDS["light"])
    page.evaluate(SPOIL)
    wrong = " ".join(page.evaluate(LOOK, {"layout": True, "contrast": True, "scrolls": False}))
    for kind in (
        *("cut", "over one another", "small target", "contrast"),
        *("run together", "broken", "over its frame"),
    ):
        assert kind in wrong
