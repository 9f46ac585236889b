"""The report in a real browser: it asks for nothing, fits the page, and prints on A4 and Letter."""

from pathlib import Path

import pytest

from barrelfit.acquire.inputs.set_file import load_set
from barrelfit.acquire.report.content import report_of
from barrelfit.acquire.report.html import html_of
from barrelfit.acquire.report.set_result import result_lines
from barrelfit.rules.judge import judge_set
from tests.system.board_rig import browser

SET = Path(__file__).parents[1] / "sets" / "11-rings-and-pins.toml"


@pytest.fixture(scope="module")
def report(tmp_path_factory):
    loaded = load_set(SET, "flat-four-85", 1.65)
    lines = list(result_lines(loaded, judge_set(loaded.evidence)))
    file = tmp_path_factory.mktemp("report") / "report.html"
    file.write_text(html_of(report_of(lines, {})), encoding="utf-8")
    return file


@pytest.mark.system
@pytest.mark.timeout(300)
@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_the_report_prints(report, paper):
    asked: list[str] = []
    with browser() as chromium:
        page = chromium.new_page(viewport={"width": 800, "height": 1000})
        page.on("request", lambda request: asked.append(request.url))
        page.goto(report.as_uri())
        wide = page.evaluate("document.documentElement.scrollWidth")
        pdf = page.pdf(format=paper, prefer_css_page_size=False)
    assert asked == [report.as_uri()]
    assert wide <= 800
    assert pdf.startswith(b"%PDF-")
    assert 4 <= pdf.count(b"/Type /Page\n") + pdf.count(b"/Type /Page/") <= 16
