"""The board's pages: Streamlit runs this script for each open page. The one door to Streamlit.

A page is a thin shell: what it shows is worked out by the pure modules of this room. The live
parts (bench, floor) are one component each that listens on the board's own WebSocket.
"""

import secrets
from collections.abc import Callable
from dataclasses import replace
from functools import partial
from html import escape
from pathlib import Path
from typing import Final
from urllib.parse import quote, urlencode

import streamlit as st

from acquire.errors import UserError
from acquire.topics import BENCH_NAME
from dashboard.blocks import verdict_html
from dashboard.entry import entry_command, open_first, pedal_command, temperature_command
from dashboard.floor_html import floor_html, gauges_html
from dashboard.hub import installed
from dashboard.model import Place
from dashboard.override import Ask, Reply, Wish, ask_lead, override, send
from dashboard.page_html import asset, bench_html, live_data, nav, replay_html, script
from dashboard.places import place_words
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
from dashboard.shown import Shown, shown_from
from dashboard.view import VERDICTS, verdict_view
from dashboard.words import say, say_or_raw

TABLE_PX: Final = {"choosing": 560, "chosen": 230}


def settings() -> tuple[Shown, str]:
    """How lengths are shown on this page, and the query text that keeps it so on other pages."""
    wanted = {key: st.query_params[key] for key in ("unit", "decimal") if key in st.query_params}
    shown = shown_from(wanted.get("unit", "mm"), wanted.get("decimal", "point"))
    return shown, urlencode(wanted)


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
    bench = st.query_params.get("id", "")
    if not BENCH_NAME.fullmatch(bench):
        names = installed().look(lambda boards, _now, _link: sorted(boards))
        bench = names[0] if len(names) == 1 else ""
    path = f"/live/set/{quote(bench)}" if bench else "/live/set"
    live("set", set_html() if bench else choice_html(), path, bench)


def gauges_page() -> None:
    """Every gauge of every bench."""
    live("gauges", gauges_html(), "/live/gauges")


def plain_page(here: str, head: str, bench: str = "") -> None:
    """The head of a page that is made of Streamlit's own parts."""
    _, query = settings()
    st.html(f"<style>{asset('plain.css')}</style>")
    st.html(f'<div class="plainhead"><b>{escape(head)}</b>{nav(here, bench, query)}</div>')


def override_page() -> None:
    """One verdict: a lead decides otherwise, or somebody asks the lead to look."""
    bench, about = st.query_params.get("id", ""), st.query_params.get("about", "")
    plain_page("override", say("override_head", about=about, bench=bench))
    shown, _ = settings()
    session, judged, view = installed().look_at(
        bench,
        lambda board, _now, _link: (
            board.session,
            board.judged.get(about),
            verdict_view(board, about, shown) if about in board.judged else None,
        ),
    )
    if judged is None or view is None:
        st.warning(say("override_none", about=about, bench=bench))
        return
    # st.html leaves pictures out; every word in this block has been escaped.
    st.markdown(f"<div class='verdictbox'>{verdict_html(view)}</div>", unsafe_allow_html=True)
    st.caption(say("override_caution"))
    wish = Wish(session, about, judged, "", "", "")
    decide, ask = st.columns(2)
    with decide:
        _decide_form(bench, wish)
    with ask:
        _ask_form(bench, wish)


def _decide_form(bench: str, wish: Wish) -> None:
    st.subheader(say("override_decide"))
    with st.form("decide", clear_on_submit=False):
        choices = [v for v in ("serviceable", "rework", "discard") if v != wish.judged["verdict"]]
        verdict = st.radio(say("new_verdict"), choices, format_func=say_or_raw, horizontal=True)
        who = st.text_input(say("lead_name"), max_chars=62)
        reason = st.text_area(say("reason"), max_chars=400)
        passphrase = st.text_input(say("passphrase"), type="password", autocomplete="off")
        if not st.form_submit_button(say("send_override")):
            return
    if not (verdict and who and reason and passphrase):
        st.warning(say("all_fields"))
        return
    wanted = replace(wish, verdict=verdict, who=who, reason=reason)
    _tell(override(wanted, passphrase, secrets.token_hex(8), _asker(bench)))


def _ask_form(bench: str, wish: Wish) -> None:
    st.subheader(say("override_ask_head"))
    with st.form("ask", clear_on_submit=False):
        who = st.text_input(say("your_name"), max_chars=62)
        reason = st.text_area(say("reason"), max_chars=400)
        if not st.form_submit_button(say("send_ask")):
            return
    if not (who and reason):
        st.warning(say("all_fields"))
        return
    wanted = replace(wish, who=who, reason=reason)
    _tell(ask_lead(wanted, secrets.token_hex(8), _asker(bench)))


def _tell(reply: Reply) -> None:
    (st.success if reply.ok else st.error)(reply.sentence)


def entry_page() -> None:
    """What has no digital gauge: a size or temperature typed by hand, the pedal's words."""
    bench = st.query_params.get("id", "")
    if not BENCH_NAME.fullmatch(bench):
        names = installed().look(lambda boards, _now, _link: sorted(boards))
        bench = names[0] if len(names) == 1 else ""
    plain_page("entry", say("entry_head", bench=bench), bench)
    places = installed().look_at(bench, lambda board, _now, _link: open_first(board))
    if not places:
        st.info(say("no_plan"))
        return
    value, other = st.columns((2, 1))
    with value:
        _value_form(bench, places)
    with other:
        _temperature_form(bench)
        st.subheader(say("pedal"), anchor=False)
        for action in ("next", "again", "undo"):
            if st.button(say(f"pedal_{action}")):
                _tell(send(pedal_command(secrets.token_hex(8), action), _asker(bench)))


def _value_form(bench: str, places: list[Place]) -> None:
    st.subheader(say("entry_value"), anchor=False)
    shown, _ = settings()
    with st.form("entry"):
        place = st.selectbox(say("feature"), places, format_func=place_words)
        text, unit = (
            st.text_input(say("value"), max_chars=40),
            st.radio(say("unit"), ("mm", "inch"), int(shown.unit == "inch"), horizontal=True),
        )
        who, why = st.text_input(say("who"), max_chars=62), st.text_input(say("why_again"))
        if not st.form_submit_button(say("send")):
            return
    if not (text and who):
        st.warning(say("all_fields"))
        return
    said = {"who": who, "why": why} if why else {"who": who}
    command = entry_command(secrets.token_hex(8), place, text, unit, **said)
    _tell(send(command, _asker(bench)))


def _temperature_form(bench: str) -> None:
    st.subheader(say("temperature"), anchor=False)
    with st.form("temperature"):
        of = st.radio(
            say("temperature"),
            ("part", "gauge", "room"),
            format_func=lambda of: say(f"of_{of}"),
            label_visibility="collapsed",
        )
        text = st.text_input(say("celsius"), max_chars=10)
        if not st.form_submit_button(say("send")):
            return
    command = temperature_command(secrets.token_hex(8), of, text)
    if command is None:
        st.warning(say("no_celsius", text=text))
        return
    _tell(send(command, _asker(bench)))


def _asker(bench: str) -> Ask:
    return partial(installed().ask, bench)


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
