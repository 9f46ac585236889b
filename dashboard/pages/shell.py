"""What the pages have in common: settings and bench by address, the head of plain ones."""

from urllib.parse import urlencode

import streamlit as st

from barrelfit.acquire.topics import BENCH_NAME
from barrelfit.dashboard.board.hub import installed
from barrelfit.dashboard.html.page_html import asset, head_html
from barrelfit.dashboard.shown import Shown, shown_from


def settings() -> tuple[Shown, str]:
    """How lengths are shown on this page, and the query text that keeps it so on other pages."""
    wanted = {key: st.query_params[key] for key in ("unit", "decimal") if key in st.query_params}
    shown = shown_from(wanted.get("unit", "mm"), wanted.get("decimal", "point"))
    return shown, urlencode(wanted)


def bench_meant() -> str:
    """The bench that `?id=` names; without it the only bench, or none."""
    bench: str = st.query_params.get("id", "")
    if not BENCH_NAME.fullmatch(bench):
        names = installed().look(lambda boards, _now, _link: sorted(boards))
        bench = names[0] if len(names) == 1 else ""
    return bench


def plain_page(here: str, head: str, bench: str = "") -> None:
    """The head of a page that is made of Streamlit's own parts."""
    _, query = settings()
    st.html(f"<style>{asset('plain.css')}</style>")
    st.html(head_html(head, here, bench, query))


def way_back(*, arrived: bool) -> None:
    """Bring a lead back to the verdict after signing in: Streamlit's sign-in ends at `/`.

    Mounted where a sign-in begins (`arrived` false), and where it ends (true).
    """
    mount = st.components.v2.component("way_back", html="<i></i>", js=asset("way_back.js"))
    mount(key=f"way-back-{arrived}", data={"arrived": arrived})
