"""The board's pages: Streamlit runs this script for each open page. The one door to Streamlit.

A page is a thin shell: what it shows is worked out by the pure modules of this room. The live
parts (bench, floor) are one component each that listens on the board's own WebSocket.
"""

from urllib.parse import quote, urlencode

import streamlit as st

from acquire.topics import BENCH_NAME
from dashboard.hub import installed
from dashboard.page_html import asset, bench_html, live_data, nav
from dashboard.shown import Shown, shown_from
from dashboard.words import say


def settings() -> tuple[Shown, str]:
    """How lengths are shown on this page, and the query text that keeps it so on other pages."""
    wanted = {key: st.query_params[key] for key in ("unit", "decimal") if key in st.query_params}
    shown = shown_from(wanted.get("unit", "mm"), wanted.get("decimal", "point"))
    return shown, urlencode(wanted)


def bench_page() -> None:
    """One bench, live; `?id=` names it."""
    bench = st.query_params.get("id", "")
    if not BENCH_NAME.fullmatch(bench):
        st.warning(say("bench_which"))
        floor_page()
        return
    shown, query = settings()
    live = st.components.v2.component(
        "bench", html=bench_html(), css=asset("live.css"), js=asset("live.js")
    )
    live(
        key=f"bench-{bench}",
        data=live_data(f"/live/bench/{quote(bench)}", shown, nav("bench", bench, query)),
    )


def floor_page() -> None:
    """Every bench the bus has told of."""
    names = installed().look(lambda boards, _now, _link: sorted(boards))
    if not names:
        st.info(say("no_bench") + " " + say("no_bench_more"))
    for name in names:
        st.markdown(f"[{name}](/bench?id={quote(name)})")


def main() -> None:
    """Choose the page by its address and run it."""
    st.set_page_config(page_title="barrelfit", layout="wide", initial_sidebar_state="collapsed")
    pages = [
        st.Page(floor_page, title=say("page_floor"), url_path="floor", default=True),
        st.Page(bench_page, title=say("page_bench"), url_path="bench"),
    ]
    st.navigation(pages, position="hidden").run()


if __name__ == "__main__":
    main()
