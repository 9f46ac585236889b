"""The lead's and the machinist's forms: overrides, entries by hand. Streamlit's parts alone."""

import secrets
from dataclasses import replace
from functools import partial

import streamlit as st

from barrelfit.dashboard.board.hub import installed
from barrelfit.dashboard.board.places import place_words
from barrelfit.dashboard.board.provider import claims_of
from barrelfit.dashboard.html.blocks import verdict_html
from barrelfit.dashboard.pages.entry import (
    entry_command,
    open_first,
    pedal_command,
    take_command,
    temperature_command,
    wanted_command,
)
from barrelfit.dashboard.pages.override import (
    Ask,
    Wish,
    ask_lead,
    is_private,
    override,
    override_signed_in,
    send,
)
from barrelfit.dashboard.pages.shell import (
    all_there,
    bench_meant,
    choose_bench,
    name_input,
    plain_page,
    say_if_cut_off,
    settings,
    tell,
    way_back,
)
from barrelfit.dashboard.view.verdicts import verdict_view
from barrelfit.dashboard.words import say, say_or_raw
from barrelfit.rules.model import FeatureId


def override_page() -> None:
    """One verdict: a lead decides otherwise, or somebody asks the lead to look."""
    bench, about = st.query_params.get("id", ""), st.query_params.get("about", "")
    plain_page("override", say("override_head", about=about, bench=bench))
    shown, _ = settings()
    session, judged, view = installed().look_at(
        bench,
        lambda board, _now, _link: (
            board.session,
            board.state.judged.get(about),
            verdict_view(board, about, shown) if about in board.state.judged else None,
        ),
    )
    say_if_cut_off()
    if judged is None or view is None:
        st.warning(say("override_none", about=about, bench=bench))
        return
    # st.html leaves pictures out; its template escapes every word.
    st.markdown(f"<div class='verdictbox'>{verdict_html(view)}</div>", unsafe_allow_html=True)
    st.caption(say("override_caution"))
    wish = Wish(session, about, judged.event, "", "", "")
    decide, ask = st.columns(2)
    with decide:
        _decide_form(bench, wish)
    with ask:
        _ask_form(bench, wish)


def _decide_form(bench: str, wish: Wish) -> None:
    """The lead's decision: signed in where a provider is configured, else by passphrase."""
    st.header(say("override_decide"), anchor=False)
    provider = installed().provider
    if provider is not None:
        if st.user.is_logged_in:
            _signed_in_form(bench, wish)
            return
        if st.button(say("sign_in"), key="sign-in"):
            st.login()
        way_back(arrived=False)
        st.header(say("or_passphrase"), anchor=False)
    if not is_private(st.context.headers.get("origin", "")):
        st.warning(say("only_over_tls"))
        return
    told = st.container()
    with st.form("decide", clear_on_submit=False):
        verdict = _verdict_choice(wish)
        who = st.text_input(say("lead_name"), max_chars=62)
        reason = st.text_area(say("reason"), max_chars=400)
        passphrase = st.text_input(say("passphrase"), type="password", autocomplete="off")
        if not st.form_submit_button(say("send_override")):
            return
    with told:
        if not (
            all_there(new_verdict=verdict, lead_name=who, reason=reason, passphrase=passphrase)
            and verdict
        ):
            return
        wanted = replace(wish, verdict=verdict, who=who, reason=reason)
        tell(override(wanted, passphrase, secrets.token_hex(8), _asker(bench)))


def _verdict_choice(wish: Wish) -> str | None:
    choices = [v for v in ("serviceable", "rework", "discard") if v != wish.judged.verdict]
    return st.radio(say("new_verdict"), choices, format_func=say_or_raw, horizontal=True)


def _signed_in_form(bench: str, wish: Wish) -> None:
    claims, provider = claims_of(st.user.to_dict()), installed().provider
    st.caption(say("signed_in", who=claims.get("email") or claims.get("sub", "")))
    if st.button(say("sign_out")):
        st.logout()
    told = st.container()
    with st.form("decide-signed", clear_on_submit=False):
        verdict = _verdict_choice(wish)
        reason = st.text_area(say("reason"), max_chars=400)
        if not st.form_submit_button(say("send_override")):
            return
    with told:
        if not (all_there(new_verdict=verdict, reason=reason) and verdict and provider):
            return
        wanted = replace(wish, verdict=verdict, reason=reason)
        request = secrets.token_hex(8)
        tell(override_signed_in(wanted, claims, provider, request, _asker(bench)))


def _ask_form(bench: str, wish: Wish) -> None:
    st.header(say("override_ask_head"), anchor=False)
    told = st.container()
    with st.form("ask", clear_on_submit=False):
        who = st.text_input(say("your_name"), max_chars=62)
        reason = st.text_area(say("reason"), max_chars=400)
        if not st.form_submit_button(say("send_ask")):
            return
    with told:
        if not all_there(your_name=who, reason=reason):
            return
        wanted = replace(wish, who=who, reason=reason)
        tell(ask_lead(wanted, secrets.token_hex(8), _asker(bench)))


def entry_page() -> None:
    """What has no digital gauge: a size or temperature typed by hand, the pedal's words."""
    bench = bench_meant()
    if not bench:
        choose_bench("entry", "/entry")
        return
    plain_page("entry", say("entry_head", bench=bench), bench)
    places = installed().look_at(bench, lambda board, _now, _link: open_first(board))
    say_if_cut_off()
    if not places:
        st.info(say("no_plan"))
        return
    value, other = st.columns((2, 1))
    with value:
        _value_form(bench, places)
    with other:
        who = name_input(bench, "who-other")
        _temperature_form(bench, who)
        st.header(say("pedal"), anchor=False)
        for action in ("next", "again", "back", "undo"):
            if st.button(say(f"pedal_{action}")):
                tell(send(pedal_command(secrets.token_hex(8), action, who), _asker(bench)))
        _take_form(bench, who)


def _value_form(bench: str, places: list[FeatureId]) -> None:
    st.header(say("entry_value"), anchor=False)
    told = st.container()
    shown, _ = settings()
    with st.form("entry"):
        place = st.selectbox(say("feature"), places, format_func=place_words)
        text, unit = (
            st.text_input(say("value"), max_chars=40),
            st.radio(say("unit"), ("mm", "inch"), int(shown.unit == "inch"), horizontal=True),
        )
        who, why = name_input(bench, "who-entry"), st.text_input(say("why_again"))
        sent = st.form_submit_button(say("send"))
        now = st.form_submit_button(say("measure_now"))
    with told:
        if now:
            tell(send(wanted_command(secrets.token_hex(8), place, who), _asker(bench)))
        if not sent:
            return
        if not all_there(value=text, who=who):
            return
        said = {"who": who, "why": why} if why else {"who": who}
        command = entry_command(secrets.token_hex(8), place, text, unit, **said)
        tell(send(command, _asker(bench)))


def _temperature_form(bench: str, who: str) -> None:
    st.header(say("temperature"), anchor=False)
    told = st.container()
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
    command = temperature_command(secrets.token_hex(8), of, text, who)
    with told:
        if command is None:
            st.warning(say("no_celsius", text=text))
            return
        tell(send(command, _asker(bench)))


def _take_form(bench: str, who: str) -> None:
    """For a gauge whose adapter was exchanged, or has a twin: which one is it?"""
    st.header(say("take"), anchor=False)
    told = st.container()
    names = installed().look_at(bench, lambda board, _now, _link: sorted(board.gauges))
    with st.form("take"):
        gauge = st.selectbox(say("take_gauge"), names or [])
        port = st.text_input(say("take_port"), max_chars=200, help=say("take_more"))
        if not st.form_submit_button(say("take_send")):
            return
    with told:
        if not all_there(take_gauge=gauge, take_port=port, who=who):
            return
        tell(send(take_command(secrets.token_hex(8), gauge, port, who), _asker(bench)))


def _asker(bench: str) -> Ask:
    return partial(installed().ask, bench)
