"""The pages of forms: title, headings, the way back, our own markup; on a desk and a phone.

What the framework makes of its own parts is not ours to mend; `DEVELOPERS.md` tells it in a line.
"""

# ruff: noqa: F811  fixtures are imported by their names

import time
from pathlib import Path

import pytest

from tests.dashboard.states import messages
from tests.journals.make_fixture import VERSION, record
from tests.system.board_browser import bench, page, rig  # noqa: F401

pytestmark = [pytest.mark.system, pytest.mark.slow, pytest.mark.timeout(300)]

CHECKS = Path(__file__).with_name("form_checks.js").read_text(encoding="utf-8")
LOOK = CHECKS[CHECKS.index("(() =>") :].strip()
SIZES = ((1280, 800), (390, 844))
PAGES = {
    "entry": ("/entry?id={bench}", "Entry"),
    "override": ("/override?id={bench}&about=P1", "Override"),
    "parts": ("/parts?id=forms", "Parts"),
    "jobs": ("/jobs?id=forms", "Jobs"),
    "sessions": ("/sessions", "Sessions"),
    "phone": ("/phone?id={bench}", "Phone"),
    "setup": ("/setup", "Set up"),
    "which": ("/parts", "Parts"),
}
KNOWN = (
    "small target 1×1: a.",  # to skip what comes first; it grows when the keyboard comes to it
    "small target 32×38: button.",  # the arrow of a list to choose from, and
    "small target 16×16: button.",  # what empties it; the whole list opens by a touch
    "small target 32×16: button.",  # shows a passphrase that is typed
    *(f"small target {n}×38: input." for n in range(150, 1_300)),  # such a list itself
)
"""What the framework makes so; `DEVELOPERS.md` says it."""
DRAWN = """title => document.title.startsWith(title) && document.querySelector('.plainhead h1')
  && document.querySelector('.stApp')?.dataset.testScriptState === 'notRunning'"""


def opened(rig, tab, bench, name):
    where, title = PAGES[name]
    tab.goto(rig.board.url + where.format(bench=bench.bench))
    tab.wait_for_function(DRAWN, arg=title)


def test_every_page_of_forms(rig, page, bench):
    if not (rig.board.sessions / f"v{VERSION}.jsonl").exists():
        record(rig.board.sessions)
    rig.say(bench.snapshot(), *bench.sweep(0))
    rig.say(*messages("asks-look", "forms", time.monotonic_ns))
    found, theirs = {}, {}
    for scheme in ("light", "dark"):
        page.emulate_media(color_scheme=scheme)
        for name in PAGES:
            page.set_viewport_size({"width": 1280, "height": 800})
            opened(rig, page, bench, name)
            for width, height in SIZES:
                page.set_viewport_size({"width": width, "height": height})
                page.evaluate(
                    "() => new Promise(done => requestAnimationFrame(() => setTimeout(done, 80)))"
                )
                told = page.evaluate(f"({LOOK})()")
                wrong = told["ours"] + ([] if told["back"] else ["no way back to the bench"])
                if wrong:
                    found[name, scheme, width] = wrong
                unknown = [one for one in told["theirs"] if not one.startswith(KNOWN)]
                if unknown:
                    theirs[name, scheme, width] = unknown
    assert found == {}
    assert theirs == {}
