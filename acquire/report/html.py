"""A report as one HTML file: nothing is fetched from anywhere, and it prints on A4 and Letter."""

from importlib.resources import files

from markupsafe import Markup

from barrelfit.acquire.report.blocks import Block, NewPage, Report
from barrelfit.acquire.report.drawn import made


def html_of(report: Report) -> str:
    """Write a report as a whole HTML document (`templates/report.html`)."""
    style = files("barrelfit.acquire.report").joinpath("report.css").read_text(encoding="utf-8")
    blocks: list[tuple[bool, Block]] = []
    new_page = False
    for block in report.blocks:
        if not isinstance(block, NewPage):
            blocks.append((new_page, block))
        new_page = isinstance(block, NewPage)
    return made("report", "page", report.title, Markup(style), blocks)  # noqa: S704  our own file
