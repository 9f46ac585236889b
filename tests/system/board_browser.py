"""Fixtures for the board in a browser: a rig a module, a page and a bench a test."""

import re
import time

import pytest

from tests.dashboard.scripted import ScriptedBench
from tests.system.board_rig import BoardProcess, Broker, Publisher, Repeater, browser, need

FIRST_ROW = (20, 58)  # the box before the first row of a table, from its top left corner
IN_PAGE = """(selector) => {
  const seek = root => {
    const found = root.querySelector(selector);
    if (found) return found;
    for (const e of root.querySelectorAll('*'))
      if (e.shadowRoot) { const deep = seek(e.shadowRoot); if (deep) return deep }
    return null };
  return seek(document) }"""


@pytest.fixture(scope="module")
def rig(tmp_path_factory):
    """Broker, publisher, board and browser; ended with the module."""
    need("chromium")
    folder = tmp_path_factory.mktemp("board")
    broker = Broker(folder)
    publisher = Publisher(broker.port)
    board = BoardProcess(broker.port, folder)
    with browser() as opened:
        yield Rig(broker, publisher, board, opened)
    board.stop()
    publisher.close()
    broker.stop()


class Rig:
    def __init__(self, broker, publisher, board, opened):
        self.broker, self.publisher, self.board, self.browser = broker, publisher, board, opened

    def say(self, *messages):
        for message in messages:
            self.publisher.say(message)


@pytest.fixture
def page(rig):
    """A page that, with its further tabs, must ask nobody but the board and log no error."""
    context = rig.browser.new_context(viewport={"width": 1920, "height": 1080})
    asked, errors = [], []

    def listen(tab):
        tab.on("request", lambda request: asked.append(request.url))
        tab.on("console", lambda m: errors.append(m.text) if m.type == "error" else None)
        tab.on("pageerror", lambda error: errors.append(str(error)))

    context.on("page", listen)
    page = context.new_page()
    page.forgives = False
    yield page
    context.close()
    ours = (rig.board.url, rig.board.url.replace("http", "ws", 1), "data:", "blob:")
    assert [url for url in asked if not url.startswith(ours)] == []
    if not page.forgives:
        assert errors == []


@pytest.fixture
def bench(rig, request):
    """A bench of its own for each test, its heart beating."""
    name = re.sub(r"\W+", "-", request.node.name)[5:40]
    script = ScriptedBench(bench=name, session=f"s-{name}", clock=time.monotonic_ns)
    rig.say(script.state(), script.batch(script.event("session_opened", {"job": "77"})))
    beat = Repeater(rig.publisher, script.heartbeat, 0.4)
    yield script
    beat.stop()


def text_of(page, selector):
    return page.evaluate(f"s => ({IN_PAGE})(s)?.textContent", selector)


def state_of(page):
    return page.evaluate(f"() => ({IN_PAGE})('[data-id=figure]')?.dataset.state")


def wait_state(page, wanted):
    page.wait_for_function(f"w => ({IN_PAGE})('[data-id=figure]')?.dataset.state === w", arg=wanted)


def wait_text(page, selector, wanted):
    page.wait_for_function(
        f"([s, w]) => (({IN_PAGE})(s)?.textContent || '').includes(w)", arg=[selector, wanted]
    )


def wait_empty(page, selector):
    page.wait_for_function(f"s => ({IN_PAGE})(s).textContent === ''", arg=selector)


def choose_first_session(page):
    """Choose the first row of the table of sessions, by the box before it."""
    table = page.get_by_test_id("stDataFrame")
    table.wait_for()
    corner = table.bounding_box()
    page.mouse.click(corner["x"] + FIRST_ROW[0], corner["y"] + FIRST_ROW[1])


def open_bench(rig, page, bench):
    page.goto(f"{rig.board.url}/bench?id={bench.bench}")
    wait_text(page, "[data-id=name]", bench.bench)
