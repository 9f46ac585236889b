"""The board's pages: Streamlit runs this script for each open page.

A page is a thin shell: what it shows is worked out by the pure modules of this room. The live
parts (bench, floor) are one component each that listens on the board's own WebSocket.
"""

from urllib.parse import quote

import streamlit as st
from streamlit.runtime.scriptrunner import get_script_run_ctx

from barrelfit.acquire.topics import BENCH_NAME
from barrelfit.dashboard.board.hub import installed
from barrelfit.dashboard.html.floor_html import floor_html, gauges_html
from barrelfit.dashboard.html.page_html import (
    bench_html,
    live_data,
    nav,
    replay_html,
    script,
    style,
)
from barrelfit.dashboard.html.set_html import choice_html, set_html
from barrelfit.dashboard.pages.jobs_page import jobs_page
from barrelfit.dashboard.pages.lead_pages import entry_page, override_page
from barrelfit.dashboard.pages.parts_page import parts_page
from barrelfit.dashboard.pages.phone_page import phone_page
from barrelfit.dashboard.pages.sessions_page import sessions_page
from barrelfit.dashboard.pages.setup_page import change_page, setup_page
from barrelfit.dashboard.pages.shell import bench_meant, settings, way_back
from barrelfit.dashboard.words import say


def live(name: str, html: str, path: str, bench: str = "") -> None:
    """Mount one of the live components; its data is constant, so it is sent once."""
    here, word = ("sessions", "replayed") if name == "replay" else (name, "live")
    shown, query = settings()
    mount = st.components.v2.component(name, html=html, css=style(), js=script())
    # In hexadecimal, since a key may not hold every text that a name may.
    key = f"{name}-{bench.encode().hex()}"
    mount(key=key, data=live_data(path, shown, nav(here, bench, query, shown), word))


def bench_page() -> None:
    """One bench, live; `?id=` names it, without it the only one there is."""
    bench = st.query_params.get("id", "")
    if BENCH_NAME.fullmatch(bench):
        live("bench", bench_html(), f"/live/bench/{quote(bench)}", bench)
    else:
        home_page()


def home_page() -> None:
    """The only bench, or the floor when there are several or none; a sign-in ends here."""
    if installed().provider is not None and st.user.is_logged_in:
        way_back(arrived=True)
    names = _benches()
    if len(names) == 1:
        live("bench", bench_html(), f"/live/bench/{quote(names[0])}", names[0])
        _another_bench(names[0])
    else:
        floor_page()


def _benches() -> list[str]:
    return installed().look(lambda boards, _now, _link: sorted(boards))


@st.fragment(run_every=3.0)
def _another_bench(only: str) -> None:
    """The only bench's screen makes room for the floor once another one is heard."""
    if _benches() != [only]:
        st.rerun()


def floor_page() -> None:
    """Every bench at once, and what waits for the lead."""
    live("floor", floor_html(), "/live/floor")


def set_page() -> None:
    """One bench's set; without `?id=` the only bench's, or a choice of benches."""
    bench = bench_meant()
    path = f"/live/set/{quote(bench)}" if bench else "/live/set"
    live("set", set_html() if bench else choice_html(), path, bench)


def gauges_page() -> None:
    """Every gauge of every bench."""
    live("gauges", gauges_html(), "/live/gauges")


def replay_page() -> None:
    """A recorded session as the bench page showed it; `?file=` names its journal."""
    file = st.query_params.get("file", "")
    live("replay", replay_html(), f"/live/replay/{quote(file)}", file)


def titled(page: str) -> str:
    """A page's name in the browser's list of windows."""
    return f"{say(f'page_{page}')} · barrelfit"


def main() -> None:
    """Choose the page by its address and run it."""
    if (context := get_script_run_ctx()) is not None:
        installed().tabs.ran(context.session_id)
    st.set_page_config(layout="wide", initial_sidebar_state="collapsed")
    if installed().set_up is not None:
        setting_up = st.Page(setup_page, title=titled("setup"), default=True)
        st.navigation([setting_up], position="hidden").run()
        return
    pages = [
        st.Page(home_page, title="barrelfit", default=True),
        st.Page(floor_page, title=titled("floor"), url_path="floor"),
        st.Page(bench_page, title=titled("bench"), url_path="bench"),
        st.Page(set_page, title=titled("set"), url_path="set"),
        st.Page(sessions_page, title=titled("sessions"), url_path="sessions"),
        st.Page(jobs_page, title=titled("jobs"), url_path="jobs"),
        st.Page(parts_page, title=titled("parts"), url_path="parts"),
        st.Page(entry_page, title=titled("entry"), url_path="entry"),
        st.Page(replay_page, title=titled("sessions"), url_path="replay"),
        st.Page(override_page, title=titled("override"), url_path="override"),
        st.Page(gauges_page, title=titled("gauges"), url_path="gauges"),
        st.Page(phone_page, title=titled("phone"), url_path="phone"),
        st.Page(change_page, title=titled("setup"), url_path="setup"),
    ]
    st.navigation(pages, position="hidden").run()


if __name__ == "__main__":
    main()
