"""The sessions page: find a recorded session; verify, report, show, redo it, ask what if.

Streamlit's parts alone; searching and the tools are in `sessions`, their answers' text in
`sessions_html`.
"""

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Final

import streamlit as st

from barrelfit.acquire.errors import UserError
from barrelfit.dashboard.board.hub import installed
from barrelfit.dashboard.html.page_html import link_to
from barrelfit.dashboard.html.sessions_html import chosen_html, difference_text, what_if_html
from barrelfit.dashboard.pages.sessions import (
    Rerun,
    find_sessions,
    journal_of,
    redo,
    report,
    set_file,
    sheets,
    table_row,
    verify,
    what_if,
)
from barrelfit.dashboard.pages.shell import plain_page, settings
from barrelfit.dashboard.view.verdicts import VERDICTS
from barrelfit.dashboard.words import say, say_or_raw
from barrelfit.rules.errors import RulesError
from barrelfit.rules.manner import told, told_all

TABLE_PX: Final = {"choosing": 560, "chosen": 152}


def sessions_page() -> None:
    """Search fields, the sessions found, and the tools of the one that is chosen."""
    plain_page("sessions", say("page_sessions"))
    wanted = _wanted()
    try:
        found = find_sessions(installed().sessions, **wanted)
    except UserError as error:
        st.error("  \n".join(told_all(error.problems)))
        return
    chosen = _is_chosen()
    # beside a chosen session's tools, trouble with other files would only be in the way
    for problem in () if chosen else found.problems:
        st.warning(told(problem))
    if not found.rows:
        st.info(say("no_session" if any(wanted.values()) else "no_sessions"))
        return
    picked = st.dataframe(
        [table_row(row) for row in reversed(found.rows)],
        height=TABLE_PX["chosen" if chosen else "choosing"],
        on_select="rerun",
        selection_mode="single-row",
        hide_index=True,
        key="sessions",
    )
    rows = picked["selection"]["rows"]
    if not rows:
        st.caption(say("choose_session"))
        return
    _tools(str(found.rows[-1 - rows[0]]["file"]))


def _wanted() -> dict[str, str]:
    """What is searched for; an empty text asks for nothing."""
    columns = st.columns(5)
    return {
        "part": columns[0].text_input(say("part")),
        "job": columns[1].text_input(say("job_is")),
        "verdict": columns[2].selectbox(
            say("verdict_is"), ("", *VERDICTS), format_func=lambda v: say_or_raw(v) or say("any")
        ),
        "since": columns[3].text_input(say("since"), placeholder="2026-11-25"),
        "until": columns[4].text_input(say("until"), placeholder="2026-11-25"),
    }


def _is_chosen() -> bool:
    """Whether a row of the table is chosen: then the table makes room for the tools."""
    kept = st.session_state.get("sessions")
    return bool(kept and kept["selection"]["rows"])


def _tools(file: str) -> None:
    """Verify, report, show, redo and what-if of one session, side by side."""
    _, query = settings()
    target = link_to("/replay", query, file=file)
    st.html(chosen_html(file, target))
    proof, again, other = st.columns((1, 1, 2))
    path = journal_of(installed().sessions, file)
    with proof:
        _proof_tools(path)
    with again:
        _redo_tool(path)
    with other:
        _what_if_tool(path)


@dataclass(frozen=True, slots=True)
class _Tool:
    """A tool that runs for seconds: its name, its button's text, and what it does."""

    name: str
    button: str
    run: Callable[[], Rerun]


def _answer(tool: _Tool, file: str, *, idle: bool = False) -> Rerun | None:
    """A tool's button and its last answer, kept while another tool is used beside it."""
    answers: dict[str, tuple[str, Rerun]] = st.session_state.setdefault("answers", {})
    if st.button(tool.button, key=tool.name, disabled=idle):
        with st.spinner(say("working")):
            answers[tool.name] = (file, tool.run())
    of_file, answer = answers.get(tool.name, ("", None))
    return answer if of_file == file else None


def _proof_tools(path: Path) -> None:
    """Whether a session is as it was written, and its report to take away."""
    shown, _ = settings()
    st.header(say("verify"), anchor=False)
    st.caption(say("verify_help"))
    tool = _Tool("verify", say("run_verify"), partial(verify, path))
    if done := _answer(tool, path.name):
        for line in done.lines:
            tell = st.success if line["outcome"] == "whole" else st.error
            tell(say("verified", **line | {"problem": told(line["problem"], shown)}))
        _warn(done.words)
    st.header(say("report"), anchor=False)
    if st.button(say("run_report"), key="report"):
        try:
            with st.spinner(say("working")):
                text = report(path)
        except UserError as error:
            st.error("  \n".join(told_all(error.problems)))
            return
        name = f"{path.stem}.html"
        st.download_button(say("report_save"), text, name, "text/html", on_click="ignore")
    if st.button(say("run_set_file"), key="set-file", help=say("set_file_help")):
        try:
            text = set_file(path)
        except (UserError, RulesError) as error:
            st.error("  \n".join(told_all(error.problems)))
            return
        name = f"{path.stem}.toml"
        st.download_button(say("set_file_save"), text, name, "text/plain", on_click="ignore")


def _redo_tool(path: Path) -> None:
    st.header(say("redo"), anchor=False)
    st.caption(say("redo_help"))
    done = _answer(_Tool("redo", say("run_redo"), partial(redo, path)), path.name)
    if done is None:
        return
    shown, _ = settings()
    for line in done.lines:
        if line["difference"] is None:
            st.success(say("redo_equal", **line))
        else:
            st.error(difference_text(line["difference"], shown))
    _warn(done.words)


def _what_if_tool(path: Path) -> None:
    st.header(say("what_if"), anchor=False)
    st.caption(say("what_if_help"))
    of_sheet, of_variant, of_guard, ask = st.columns((3, 2, 2, 2), vertical_alignment="bottom")
    sheet = of_sheet.selectbox(
        say("what_if_sheet"), ("", *sheets()), format_func=lambda s: s or say("as_recorded")
    )
    variant = of_variant.text_input(say("what_if_variant"), placeholder=say("as_recorded"))
    guard = of_guard.number_input(say("guard_factor"), 0.0, 5.0, value=None, step=0.05)
    idle = not sheet and not variant and guard is None
    with ask:
        run = partial(what_if, path, sheet, variant, guard)
        done = _answer(_Tool("what_if", say("run_what_if"), run), path.name, idle=idle)
    if done is None:
        return
    _warn(done.words)
    shown, _ = settings()
    st.html(what_if_html(done.lines, shown))
    for line in done.lines:
        if "pairing" in line:
            st.caption(told(line["pairing"], shown))


def _warn(words: list[str]) -> None:
    for sentence in words:
        st.warning(sentence)
