"""Every page of the board against a running demo: real daemon, real rules, simulated gauges."""

import json
import os
import signal
import subprocess
import sys

import pytest

from tests.system.board_browser import IN_PAGE, wait_state, wait_text
from tests.system.board_rig import browser, need, wait_for
from tests.system.patience import PATIENCE_S
from tests.system.ports import free_port

pytestmark = [pytest.mark.system, pytest.mark.slow, pytest.mark.timeout(300)]


@pytest.fixture(scope="module")
def demo(tmp_path_factory):
    """A demo of two benches at five times life; ended as a user ends it."""
    need("chromium")
    said = tmp_path_factory.mktemp("demo") / "said.jsonl"
    command = [
        sys.executable,
        "-m",
        "barrelfit.acquire",
        "demo",
        "--benches",
        "2",
        "--speed",
        "5",
        "--json",
    ]
    command += ["--board-port", str(free_port())]
    with said.open("wb") as out:
        child = subprocess.Popen(  # noqa: S603
            command,
            stdout=out,
            stderr=subprocess.DEVNULL,
            env={**os.environ, "TMPDIR": str(said.parent)},
        )

    def words():
        return [json.loads(line) for line in said.read_text().splitlines()]

    try:
        seen = lambda: any(w["kind"] == "board" for w in words())  # noqa: E731
        wait_for(seen, "the board's address", 2 * PATIENCE_S)
        yield next(w["url"] for w in words() if w["kind"] == "board"), words
    finally:
        child.send_signal(signal.SIGINT)
        child.wait(PATIENCE_S)


@pytest.fixture(scope="module")
def chromium():
    with browser() as opened:
        yield opened


@pytest.fixture
def page(demo, chromium):
    url, _ = demo
    context = chromium.new_context(viewport={"width": 1920, "height": 1080})
    page = context.new_page()
    asked, errors = [], []
    page.on("request", lambda request: asked.append(request.url))
    page.on("console", lambda m: errors.append(m.text) if m.type == "error" else None)
    page.on("pageerror", lambda error: errors.append(str(error)))
    yield page
    context.close()
    ours = (url, url.replace("http", "ws", 1), "data:", "blob:")
    assert [u for u in asked if not u.startswith(ours)] == []
    assert errors == []


def test_the_bench_works_before_ones_eyes(demo, page):
    url, words = demo
    page.goto(f"{url}/bench?id=bench-1")
    wait_state(page, "live")
    first = page.evaluate(f"() => ({IN_PAGE})('[data-id=digits]').textContent")
    page.wait_for_function(f"old => ({IN_PAGE})('[data-id=digits]').textContent !== old", arg=first)
    # Which part it is by now is the demonstration's affair: a slow page comes late.
    page.wait_for_function(f"() => /^[PB][1-4] /.test(({IN_PAGE})('[data-id=ask]').textContent)")
    # Asked and read in one: in the next moment a busy machine may have a sweep refused.
    about, shown = page.wait_for_function(
        f"() => ({IN_PAGE})('[data-id=answer] .size ~ .word')"
        f" && ['.about', '.word'].map(s => ({IN_PAGE})(`[data-id=answer] ${{s}}`).textContent)"
    ).json_value()
    about = about.split()[0]
    given = [
        w["verdict"].upper() for w in words() if w["kind"] == "verdict" and w["about"] == about
    ]
    assert shown in given


@pytest.mark.parametrize(
    ("path", "selector", "text"),
    [
        ("", "[data-list=cards]", "bench-2"),
        ("floor", "[data-key=bench-1]", "micrometer"),
        ("set?id=bench-1", "[data-id=tables]", "skirt"),
        ("gauges", "[data-key='bench-2/bore-gauge']", "readings"),
    ],
)
def test_the_leads_pages(demo, page, path, selector, text):
    page.goto(f"{demo[0]}/{path}")
    wait_text(page, selector, text)


def test_the_entry_page_reaches_the_bench(demo, page):
    page.goto(f"{demo[0]}/entry?id=bench-2")
    page.get_by_label("°C").fill("20.5")
    page.get_by_label("°C").press("Tab")
    page.get_by_role("button", name="Send").last.click()
    page.get_by_text("Recorded by the bench.").wait_for()


def test_an_override_by_nobody_is_turned_down(demo, page):
    page.goto(f"{demo[0]}/override?id=bench-1&about=P1")
    page.get_by_label("Lead's name").fill("Mallory")
    page.get_by_label("Reason").first.fill("it looks fine to me")
    page.get_by_label("Passphrase", exact=True).fill("open sesame")
    page.get_by_label("Passphrase", exact=True).press("Tab")
    page.get_by_role("button", name="Sign and send").click()
    page.get_by_text("Mallory is not among this bench's leads").wait_for()
