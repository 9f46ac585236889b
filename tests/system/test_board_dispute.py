"""A dispute in the browser: find the session, verify, redo, what-if, report; and show it."""

from pathlib import Path

import pytest

from tests.acquire.recorded import record_set
from tests.system.board_browser import choose_first_session
from tests.system.board_rig import BoardProcess, browser, need
from tests.system.ports import free_port

pytestmark = [pytest.mark.system, pytest.mark.slow, pytest.mark.timeout(300)]


@pytest.fixture
def page(tmp_path):
    need("chromium")
    record_set(tmp_path, features=1)
    board = BoardProcess(free_port(), tmp_path)
    try:
        with browser() as opened:
            page = opened.new_page(viewport={"width": 1920, "height": 1080})
            page.goto(f"{board.url}/sessions")
            yield page
    finally:
        board.stop()


def run(page, name):
    page.get_by_role("button", name=name).click()


def test_a_dispute_is_settled_on_the_sessions_page(page):
    page.get_by_label("Part or serial number").fill("P1")
    page.keyboard.press("Enter")
    choose_first_session(page)
    page.get_by_text("Is it whole, and as it was written?").wait_for()
    run(page, "Verify it")
    page.get_by_text("whole: ").wait_for()
    run(page, "Make the report")
    page.get_by_role("button", name="Save the report").wait_for()
    with page.expect_download() as taken:
        page.get_by_role("button", name="Save the report").click()
    assert b"head hash" in Path(taken.value.path()).read_bytes().lower()
    run(page, "Redo it")
    page.get_by_text("verdicts as recorded").wait_for()
    page.get_by_label("Variant").fill("late")
    page.keyboard.press("Enter")
    what_if = page.get_by_role("button", name="Judge it so")
    page.wait_for_function("e => !e.disabled", arg=what_if.element_handle())
    what_if.click()
    page.locator(".whatif tbody tr").first.wait_for()
    page.get_by_text("pairing waiting").wait_for()
    assert page.get_by_text("encountered an error").count() == 0
    page.get_by_text("Show it as it was").click()
    page.wait_for_url("**/replay?file=*")
