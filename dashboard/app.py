"""The board's pages: Streamlit runs this script for each open page. The one door to Streamlit.

A page is a thin shell: what it shows is worked out by the pure modules of this room. The live
parts (bench, floor) are one component each that listens on the board's own WebSocket.
"""

from urllib.parse import quote, urlencode

import streamlit as st

from acquire.topics import BENCH_NAME
from dashboard.floor_html import floor_html, gauges_html
from dashboard.hub import installed
from dashboard.page_html import asset, bench_html, live_data, nav
from dashboard.set_html import set_html
from dashboard.shown import Shown, shown_from
from dashboard.words import say


def settings() -> tuple[Shown, str]:
    """How lengths are shown on this page, and the query text that keeps it so on other pages."""
    wanted = {key: st.query_params[key] for key in ("unit", "decimal") if key in st.query_params}
    shown = shown_from(wanted.get("unit", "mm"), wanted.get("decimal", "point"))
    return shown, urlencode(wanted)


def live(name: str, html: str, path: str, here: str, bench: str = "") -> None:
    """Mount one of the live components; its data is constant, so it is sent once."""
    shown, query = settings()
    mount = st.components.v2.component(name, html=html, css=asset("live.css"), js=asset("live.js"))
    mount(key=f"{name}-{bench}", data=live_data(path, shown, nav(here, bench, query)))


def bench_page() -> None:
    """One bench, live; `?id=` names it."""
    bench = st.query_params.get("id", "")
    if BENCH_NAME.fullmatch(bench):
        live("bench", bench_html(), f"/live/bench/{quote(bench)}", "bench", bench)
    else:
        floor_page()


def home_page() -> None:
    """The only bench, or the floor when there are several or none."""
    names = installed().look(lambda boards, _now, _link: sorted(boards))
    if len(names) == 1:
        live("bench", bench_html(), f"/live/bench/{quote(names[0])}", "bench", names[0])
    else:
        floor_page()


def floor_page() -> None:
    """Every bench at once, and what waits for the lead."""
    live("floor", floor_html(), "/live/floor", "floor")


def set_page() -> None:
    """One bench's set; without `?id=` the only bench's, or a choice of benches."""
    bench = st.query_params.get("id", "")
    if not BENCH_NAME.fullmatch(bench):
        names = installed().look(lambda boards, _now, _link: sorted(boards))
        bench = names[0] if len(names) == 1 else ""
    path = f"/live/set/{quote(bench)}" if bench else "/live/set"
    live("set", set_html(), path, "set", bench)


def gauges_page() -> None:
    """Every gauge of every bench."""
    live("gauges", gauges_html(), "/live/gauges", "gauges")


def main() -> None:
    """Choose the page by its address and run it."""
    st.set_page_config(page_title="barrelfit", layout="wide", initial_sidebar_state="collapsed")
    pages = [
        st.Page(home_page, title="barrelfit", default=True),
        st.Page(floor_page, title=say("page_floor"), url_path="floor"),
        st.Page(bench_page, title=say("page_bench"), url_path="bench"),
        st.Page(set_page, title=say("page_set"), url_path="set"),
        st.Page(gauges_page, title=say("page_gauges"), url_path="gauges"),
    ]
    st.navigation(pages, position="hidden").run()


if __name__ == "__main__":
    main()
