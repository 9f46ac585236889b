"""The jobs page: the job that runs, a new one, one to take up again. Streamlit's own parts."""

import secrets
from functools import partial

import streamlit as st

from barrelfit.acquire.bus.jobs_told import JobsTold, SheetTold
from barrelfit.dashboard.board.hub import installed
from barrelfit.dashboard.board.model import Board
from barrelfit.dashboard.html.page_html import choice_of_links, link_to
from barrelfit.dashboard.pages.entry import job_command
from barrelfit.dashboard.pages.override import send
from barrelfit.dashboard.pages.shell import (
    all_there,
    bench_meant,
    choose_bench,
    name_input,
    plain_page,
    say_if_cut_off,
    settings,
    tell,
)
from barrelfit.dashboard.view.fits import fit_lines
from barrelfit.dashboard.words import say
from barrelfit.rules.engine.parts import LEAVABLE, STEPS
from barrelfit.rules.manner import told as told_in


def jobs_page() -> None:
    """The job that runs now, with what may be done: pause, close, another one."""
    bench = bench_meant()
    if not bench:
        choose_bench("jobs", "/jobs")
        return
    plain_page("jobs", say("jobs_head", bench=bench), bench)
    say_if_cut_off()
    _running(bench)
    jobs, _ = installed().look_at(bench, _told)
    if jobs is None:
        return
    _fits(bench)
    who = name_input(bench, "who-job")
    _stop_form(bench, who)
    new, again = st.columns((2, 1))
    with new:
        _new_form(bench, who, jobs.sheets)
    with again:
        _take_up_form(bench, who, jobs)
    if installed().wants_set_up is not None:
        st.html(choice_of_links([(say("setup_change"), link_to("/setup", settings()[1]))]))


@st.fragment(run_every=1.0)
def _running(bench: str) -> None:
    """Which job runs now; another page load when that changes."""
    jobs, job = installed().look_at(bench, _told)
    if st.session_state.setdefault("job-shown", (jobs, job)) != (jobs, job):
        st.session_state["job-shown"] = (jobs, job)
        st.rerun()
    if jobs is None:
        st.info(say("jobs_by_file", job=job or "-"))
    else:
        st.header(say("job_runs", job=job) if job else say("job_none"), anchor=False)


@st.fragment(run_every=2.0)
def _fits(bench: str) -> None:
    """Which sheets fit the parts of the job that runs, as far as something is known of them."""
    shown, _ = settings()
    lines = installed().look_at(bench, lambda board, _now, _link: fit_lines(board, shown))
    if not lines:
        return
    with st.expander(say("fits")):
        for line in lines:
            st.text(line)


def _told(board: Board, _now: int, _link: object) -> tuple[JobsTold | None, str]:
    """What the bench tells of its jobs, and the one that runs now."""
    return board.jobs, board.job


def _stop_form(bench: str, who: str) -> None:
    """Pause or close the job that runs."""
    _, job = installed().look_at(bench, _told)
    if not job:
        return
    told = st.container()
    pause, close = st.columns(2)
    for column, what in ((pause, "pause"), (close, "close")):
        with column:
            if st.button(say(f"job_{what}"), help=say(f"job_{what}_help")):
                with told:
                    _order(bench, what, who)


def _new_form(bench: str, who: str, sheets: list[SheetTold]) -> None:
    st.header(say("job_new"), anchor=False)
    names = [sheet.name for sheet in sheets]
    first = names[0] if names else None
    name = st.pills(say("job_sheet"), names, default=first, key="job-sheet", required=bool(names))
    sheet = next((one for one in sheets if one.name == name), None)
    if sheet is None:
        return
    st.caption(say("job_engine", engine=sheet.engine, cylinders=sheet.cylinders))
    variant = st.pills(say("what_if_variant"), list(sheet.groups), key=f"job-variant-{name}")
    told = st.container()
    with st.form("job-new"):
        groups = sheet.groups.get(variant or "", [])
        group = st.pills(say("job_group"), groups, key=f"job-group-{name}-{variant}")
        job = st.text_input(say("job_reference"), max_chars=80)
        asked_for = st.text_area(say("job_asked_for"), max_chars=400)
        left_out = st.pills(say("job_left_out"), LEAVABLE, selection_mode="multi")
        steps = st.pills(say("job_steps"), STEPS, selection_mode="multi", default=STEPS)
        st.caption(say("job_steps_help"))
        if not st.form_submit_button(say("job_begin"), type="primary"):
            return
    with told:
        if not all_there(who=who, what_if_variant=variant, job_reference=job):
            return
        _order(
            bench, "new", who, job=job, sheet=sheet.name, variant=variant, group=group or "",
            left_out=list(left_out), steps=list(steps), asked_for=asked_for,
        )  # fmt: skip


def _take_up_form(bench: str, who: str, jobs: JobsTold) -> None:
    st.header(say("job_take_up"), anchor=False)
    if not jobs.paused:
        st.caption(say("job_none_paused"))
    shown, _ = settings()
    for paused in jobs.paused:
        told = st.container()
        words = say("job_paused", job=paused.job, session=paused.session)
        if st.button(words, key=f"take-up-{paused.session}"):
            with told:
                _order(bench, "take-up", who, session=paused.session)
        if paused.changed:
            st.caption(say("job_bench_changed", changes=told_in(paused.changed, shown)))


def _order(bench: str, what: str, who: str, **said: object) -> None:
    """Give the bench an order, and show its answer."""
    if not all_there(who=who):
        return
    command = job_command(secrets.token_hex(8), what, who, **said)
    tell(send(command, partial(installed().ask, bench)))
