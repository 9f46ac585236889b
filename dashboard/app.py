"""The board's pages: Streamlit runs this script for each open page.

A page is a thin shell: what it shows is worked out by the pure modules of this room. The live
parts (bench, floor) are one component each that listens on the board's own WebSocket.
"""

from collections.abc import Callable
from functools import partial
from html import escape
from pathlib import Path
from typing import Final
from urllib.parse import quote

import streamlit as st

from acquire.errors import UserError
from acquire.topics import BENCH_NAME
from dashboard.floor_html import floor_html, gauges_html
from dashboard.hub import installed
from dashboard.lead_pages import entry_page, override_page
from dashboard.page_html import asset, bench_html, live_data, nav, replay_html, script
from dashboard.sentences import in_words
from dashboard.sessions import (
    Rerun,
    find_sessions,
    journal_of,
    redo,
    report,
    sheets,
    table_row,
    verify,
    what_if,
)
from dashboard.set_html import choice_html, set_html
from dashboard.shell import bench_meant, plain_page, settings
from dashboard.view import VERDICTS
from dashboard.words import say, say_or_raw

TABLE_PX: Final = {"choosing": 560, "chosen": 230}


def live(name: str, html: str, path: str, bench: str = "") -> None:
    """Mount one of the live components; its data is constant, so it is sent once."""
    here, word = ("sessions", "replayed") if name == "replay" else (name, "live")
    shown, query = settings()
    mount = st.components.v2.component(name, html=html, css=asset("live.css"), js=script())
    mount(key=f"{name}-{bench}", data=live_data(path, shown, nav(here, bench, query), word))


def bench_page() -> None:
    """One bench, live; `?id=` names it."""
    bench = st.query_params.get("id", "")
    if BENCH_NAME.fullmatch(bench):
        live("bench", bench_html(), f"/live/bench/{quote(bench)}", bench)
    else:
        floor_page()


def home_page() -> None:
    """The only bench, or the floor when there are several or none."""
    names = installed().look(lambda boards, _now, _link: sorted(boards))
    if len(names) == 1:
        live("bench", bench_html(), f"/live/bench/{quote(names[0])}", names[0])
    else:
        floor_page()


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


def sessions_page() -> None:
    """Find a recorded session; show it, redo it, ask what if."""
    plain_page("sessions", say("page_sessions"))
    columns = st.columns(5)
    wanted = {
        "part": columns[0].text_input(say("part")),
        "job": columns[1].text_input(say("job_is")),
        "verdict": columns[2].selectbox(
            say("verdict_is"), ("", *VERDICTS), format_func=lambda v: say_or_raw(v) or say("any")
        ),
        "since": columns[3].text_input(say("since"), placeholder="2026-11-25"),
        "until": columns[4].text_input(say("until"), placeholder="2026-11-25"),
    }
    try:
        found = find_sessions(installed().sessions, **wanted)
    except UserError as error:
        st.error("  \n".join(error.problems))
        return
    for problem in found.problems:
        st.warning(problem)
    if not found.rows:
        st.info(say("no_session"))
        return
    picked = st.dataframe(
        [table_row(row) for row in reversed(found.rows)],
        height=TABLE_PX["chosen" if _is_chosen() else "choosing"],
        on_select="rerun",
        selection_mode="single-row",
        hide_index=True,
        key="sessions",
    )
    chosen = picked["selection"]["rows"]
    if not chosen:
        st.caption(say("choose_session"))
        return
    _session_tools(str(found.rows[-1 - chosen[0]]["file"]))


def _is_chosen() -> bool:
    """Whether a row of the table is chosen: then the table makes room for the tools."""
    kept = st.session_state.get("sessions")
    return bool(kept and kept["selection"]["rows"])


def _session_tools(file: str) -> None:
    """Verify, report, show, redo and what-if of one session, side by side."""
    _, query = settings()
    target = f"/replay?file={quote(file)}" + (f"&{query}" if query else "")
    st.html(
        f'<div class="chosen"><b>{escape(file)}</b>'
        f'<a class="bigbutton" href="{escape(target)}">{escape(say("show_it"))}</a></div>'
    )
    proof, again, other = st.columns((1, 1, 2))
    path = journal_of(installed().sessions, file)
    with proof:
        _proof_tools(path)
    with again:
        st.subheader(say("redo"), anchor=False)
        st.caption(say("redo_help"))
        if done := _kept_result("redo", file, partial(redo, path)):
            _tell_redo(done)
    with other:
        st.subheader(say("what_if"), anchor=False)
        st.caption(say("what_if_help"))
        of_sheet, of_variant, of_guard = st.columns(3)
        sheet = of_sheet.selectbox(
            say("what_if_sheet"), ("", *sheets()), format_func=lambda s: s or say("as_recorded")
        )
        variant = of_variant.text_input(say("what_if_variant"), placeholder=say("as_recorded"))
        guard = of_guard.number_input(say("guard_factor"), 0.0, 5.0, value=None, step=0.05)
        asked = partial(what_if, path, sheet, variant, guard)
        idle = not (sheet or variant or guard)
        if done := _kept_result("what-if", file, asked, disabled=idle):
            _tell_what_if(done)


def _kept_result(
    name: str, file: str, run: Callable[[], Rerun], *, disabled: bool = False
) -> Rerun | None:
    """A tool's button and its last answer, kept while another tool is used beside it."""
    answers: dict[str, tuple[str, Rerun]] = st.session_state.setdefault("answers", {})
    if st.button(say("run"), key=name, disabled=disabled):
        answers[name] = (file, run())
    of_file, answer = answers.get(name, ("", None))
    return answer if of_file == file else None


def _proof_tools(path: Path) -> None:
    """Whether a session is as it was written, and its report to take away."""
    st.subheader(say("verify"), anchor=False)
    st.caption(say("verify_help"))
    if done := _kept_result("verify", path.name, partial(verify, path)):
        for line in done.lines:
            tell = st.success if line["outcome"] == "whole" else st.error
            tell(say("verified", **line))
        for words in done.words:
            st.warning(words)
    st.subheader(say("report"), anchor=False)
    if st.button(say("run"), key="report"):
        try:
            text = report(path)
        except UserError as error:
            st.error("  \n".join(error.problems))
            return
        name = f"{path.stem}.html"
        st.download_button(say("report_save"), text, name, "text/html", on_click="ignore")


def _tell_redo(done: Rerun) -> None:
    for line in done.lines:
        difference = line["difference"]
        if difference is None:
            st.success(say("redo_equal", **line))
        else:
            st.error(say("redo_differs", **difference))
    for words in done.words:
        st.warning(words)


def _tell_what_if(done: Rerun) -> None:
    for words in done.words:
        st.warning(words)
    shown, _ = settings()
    rows = [
        {
            say("about"): line["about"],
            say("was"): say_or_raw(line["was"] or "none"),
            say("would_be"): say_or_raw(line["now"]),
            say("why"): in_words("; ".join(line["reasons"]), shown) if line["changed"] else "",
        }
        for line in done.lines
        if "about" in line
    ]
    if rows:
        st.dataframe(rows, hide_index=True)
    for line in done.lines:
        if "pairing" in line:
            st.caption(in_words(line["pairing"], shown))


def replay_page() -> None:
    """A recorded session as the bench page showed it; `?file=` names its journal."""
    file = st.query_params.get("file", "")
    live("replay", replay_html(), f"/live/replay/{quote(file)}", file)


def main() -> None:
    """Choose the page by its address and run it."""
    st.set_page_config(page_title="barrelfit", layout="wide", initial_sidebar_state="collapsed")
    pages = [
        st.Page(home_page, title="barrelfit", default=True),
        st.Page(floor_page, title=say("page_floor"), url_path="floor"),
        st.Page(bench_page, title=say("page_bench"), url_path="bench"),
        st.Page(set_page, title=say("page_set"), url_path="set"),
        st.Page(sessions_page, title=say("page_sessions"), url_path="sessions"),
        st.Page(entry_page, title=say("page_entry"), url_path="entry"),
        st.Page(replay_page, title=say("page_sessions"), url_path="replay"),
        st.Page(override_page, title=say("page_override"), url_path="override"),
        st.Page(gauges_page, title=say("page_gauges"), url_path="gauges"),
    ]
    st.navigation(pages, position="hidden").run()


if __name__ == "__main__":
    main()
