"""What holds for every live page of the lead: troubles show, and pass, without a reload."""

# ruff: noqa: F811  fixtures are imported by their names

import pytest
from msgspec import to_builtins

from barrelfit.rules.said import length, said
from tests.dashboard.scripted import finding
from tests.journals.make_fixture import VERSION, record
from tests.system.board_browser import (
    IN_PAGE,
    bench,  # noqa: F401
    page,  # noqa: F401
    rig,  # noqa: F401
    text_of,
    wait_empty,
    wait_text,
)
from tests.system.board_rig import wait_for
from tests.system.patience import promptly

pytestmark = [pytest.mark.system, pytest.mark.slow, pytest.mark.timeout(300)]

# The page, and where on it a gauge that is lost shows within two seconds.
LIVE_PAGES = ("floor", "set", "gauges")


def address(rig, path, bench):
    return f"{rig.board.url}/{path}" + (f"?id={bench.bench}" if path == "set" else "")


def shows(path, bench):
    return {
        "floor": f"[data-key='{bench.bench}']",
        "set": "[data-id=tables]",
        "gauges": f"[data-key='{bench.bench}/outside-1']",
    }[path]


def recorded(rig):
    """Put a recorded session into the board's folder, once."""
    if not (rig.board.sessions / f"v{VERSION}.jsonl").exists():
        record(rig.board.sessions)


def word_of(path):
    return "SERVICEABLE" if path != "gauges" else "answering"


def opened(rig, page, bench, path):
    """A live page that shows what its bench has said."""
    rig.say(bench.snapshot(), *bench.sweep(0))
    page.goto(address(rig, path, bench))
    # What stays: a gauge that answered is silent two seconds later, and a page may take them.
    wait_text(page, shows(path, bench), "SERVICEABLE" if path != "gauges" else "84.")


def lose_gauge(rig, bench):
    bench.gauge_states["outside-1"] = "lost"
    lost = {
        "gauge": "outside-1",
        "state": "lost",
        "reason": "the port vanished",
    }
    rig.say(bench.batch(bench.event("gauge_changed", lost)))


@pytest.mark.parametrize("path", LIVE_PAGES)
def test_lost_gauge_shows_in_2_s(rig, page, bench, path):
    opened(rig, page, bench, path)
    in_full = {"set": "[data-id=trouble]", "floor": f"[data-key='{bench.bench}/']"}
    where = in_full.get(path, shows(path, bench))
    with promptly(2.0, "a lost gauge shows"):
        lose_gauge(rig, bench)
        wait_text(page, where, "lost")
        wait_text(page, where, "the port vanished")


def tabs(page, number):
    """So many tabs of one window, the first is the page itself."""
    return [page, *(page.context.new_page() for _ in range(number - 1))]


def test_broker_away_and_back(rig, page, bench):
    opened_tabs = tabs(page, len(LIVE_PAGES))
    for tab, path in zip(opened_tabs, LIVE_PAGES, strict=True):
        opened(rig, tab, bench, path)
    with promptly(4.0, "a broker that went is told"):
        rig.broker.stop()
        for tab in opened_tabs:
            wait_text(tab, "[data-id=trouble]", "Bus not reachable")
    rig.broker.start()
    wait_for(rig.publisher.client.is_connected, "the publisher's connection")
    for tab in opened_tabs:
        wait_empty(tab, "[data-id=trouble]")


def test_server_away_and_back(rig, page, bench):
    page.forgives = True  # the browser itself logs each refused connection
    opened_tabs = tabs(page, len(LIVE_PAGES))
    for tab, path in zip(opened_tabs, LIVE_PAGES, strict=True):
        opened(rig, tab, bench, path)
    with promptly(3.0, "a server that went is told"):
        rig.board.kill()
        for tab in opened_tabs:
            wait_text(tab, "[data-id=server]", "Board server not reachable")
    rig.board.start()
    for tab in opened_tabs:
        wait_empty(tab, "[data-id=server]")
    rig.say(bench.snapshot())
    for tab, path in zip(opened_tabs, LIVE_PAGES, strict=True):
        wait_text(tab, shows(path, bench), word_of(path))


FORMS = {
    "entry": ("/entry?id={bench}", "Value, as read"),
    "override": ("/override?id={bench}&about=P1", "Decide otherwise"),
    "sessions": ("/sessions", "Choose a session"),
}


def test_a_form_outlives_broker_and_server(rig, page, bench):
    page.forgives = True  # the browser itself logs each refused connection
    recorded(rig)
    rig.say(bench.snapshot(), *bench.sweep(0))
    forms = [
        (tab, rig.board.url + where.format(bench=bench.bench), words)
        for tab, (where, words) in zip(tabs(page, len(FORMS)), FORMS.values(), strict=True)
    ]
    for tab, url, words in forms:
        tab.goto(url)
        tab.get_by_text(words).first.wait_for()
    on_the_bus = forms[:2]  # the sessions page asks the disk alone
    rig.broker.stop()
    for tab, url, _ in on_the_bus:
        wait_for(lambda tab=tab, url=url: cut_off(tab, url), "word of the bus")
    rig.broker.start()
    wait_for(rig.publisher.client.is_connected, "the publisher's connection")
    for tab, url, _ in on_the_bus:
        wait_for(lambda tab=tab, url=url: not cut_off(tab, url), "the bus again")
    rig.board.kill()
    for tab, _, _ in forms:
        tab.locator(
            "[data-test-connection-state]:not([data-test-connection-state=CONNECTED])"
        ).wait_for()
    rig.board.start()
    for tab, _, _ in forms:
        tab.locator("[data-test-connection-state=CONNECTED]").wait_for()
    rig.say(bench.snapshot(), *bench.sweep(0))
    for tab, url, words in forms:
        tab.goto(url)
        tab.get_by_text(words).first.wait_for()


def cut_off(page, url):
    """Whether a form, looked at anew, says that the bus is away."""
    page.goto(url)
    page.locator("h1, h2, h3, [data-testid=stAlert], label").first.wait_for()
    return page.get_by_text("Bus not reachable").count() > 0


def test_a_replay_outlives_the_server(rig, page):
    page.forgives = True
    recorded(rig)
    page.goto(f"{rig.board.url}/replay?file=v{VERSION}.jsonl")
    wait_text(page, "[data-id=ask]", "P1 skirt")
    with promptly(3.0, "a server that went is told"):
        rig.board.kill()
        wait_text(page, "[data-id=server]", "Board server not reachable")
    rig.board.start()
    wait_empty(page, "[data-id=server]")
    wait_text(page, "[data-id=ask]", "P1 skirt")


@pytest.mark.parametrize("path", LIVE_PAGES)
def test_two_tabs_show_the_same(rig, page, bench, path):
    other = page.context.new_page()
    for tab in (page, other):
        tab.goto(address(rig, path, bench))
    rig.say(bench.snapshot(), *bench.sweep(0))
    for tab in (page, other):
        wait_text(tab, shows(path, bench), "SERVICEABLE" if path != "gauges" else "84.")


FOCUSED = """() => { let e = document.activeElement;
  while (e && e.shadowRoot && e.shadowRoot.activeElement) e = e.shadowRoot.activeElement;
  return e && (e.dataset.id || e.dataset.do || e.textContent || e.tagName) }"""


@pytest.mark.parametrize(
    ("path", "wanted"),
    [
        ("bench", {"sound", "voice", "volume", "Floor", "Set", "Sessions", "Gauges", "Entry"}),
        ("floor", {"sound", "voice", "volume", "Floor", "Set", "Sessions", "Gauges", "Entry"}),
        ("replay", {"restart", "back", "play", "pause", "step", "speed"}),
    ],
)
def test_the_keyboard_reaches_everything(rig, page, bench, path, wanted):
    if path == "replay":
        recorded(rig)
    query = {"bench": f"?id={bench.bench}", "replay": f"?file=v{VERSION}.jsonl"}.get(path, "")
    page.goto(f"{rig.board.url}/{path}{query}")
    wait_text(page, "[data-id=nav]", "Floor")
    reached = set()
    for _ in range(40):
        page.keyboard.press("Tab")
        reached.add(page.evaluate(FOCUSED))
        if wanted <= reached:
            break
    assert wanted <= reached


def test_the_floor_says_what_is_new(rig, page, bench):
    rig.say(bench.snapshot(), *bench.sweep(0))
    page.goto(f"{rig.board.url}/floor")
    wait_text(page, shows("floor", bench), "SERVICEABLE")
    near = finding("L1", 1, "P1", "too near its limit")
    with promptly(3.0, "what is new is said"):
        rig.say(bench.batch(bench.judged("P1", "undecided", [near])))
        wait_text(page, "[data-id=cue]", f"waits for the lead {bench.bench} P1")


def test_a_page_in_inches_has_no_millimetre_left(rig, page, bench):
    sizes = {"value": length(84_000_000), "gap": length(21_000), "limit": length(84_021_000)}
    wear = said("less_wear", original=length(84_050_000), wear=length(29_000), origin="a sheet")
    found = finding(
        "L1", 2, "P1", to_builtins(said("is_below", what="skirt", **sizes)),
        value_nm=84_000_000, limit_nm=84_021_000, limit_from=to_builtins(wear),
    )  # fmt: skip
    rig.say(bench.snapshot(), *bench.sweep(0), bench.batch(bench.judged("P1", "rework", [found])))
    for path in (f"bench?id={bench.bench}&", f"set?id={bench.bench}&", "floor?"):
        page.goto(f"{rig.board.url}/{path}unit=inch&decimal=comma")
        wait_text(page, ".board", "REWORK")
        shown = text_of(page, ".board").replace(text_of(page, "[data-id=nav]"), "")
        assert " mm" not in shown
        assert "μm" not in shown


def test_a_replay_steps_on_and_back(rig, page):
    recorded(rig)
    page.goto(f"{rig.board.url}/replay?file=v{VERSION}.jsonl")
    wait_text(page, "[data-id=ask]", "P1 skirt")

    def press(do):
        page.evaluate(f"d => ({IN_PAGE})(`[data-do=${{d}}]`).click()", do)

    press("pause")
    press("restart")
    for number in (1, 2, 3):
        press("step")
        wait_text(page, "[data-id=passes]", f"{number} of ")
    press("back")
    wait_text(page, "[data-id=passes]", "2 of ")
    wait_text(page, "[data-id=replay_at]", "at rest")
    press("back")
    wait_text(page, "[data-id=passes]", "1 of ")
    press("play")
    wait_text(page, "[data-id=replay_at]", "as fast as life")
