"""The page where a bench is set up: what is plugged in, which gauge is which, names, sheet."""

from collections.abc import Sequence
from getpass import getuser
from typing import Any, Final

import streamlit as st

from barrelfit.acquire.coded import said_of
from barrelfit.acquire.errors import UserError
from barrelfit.acquire.inputs.bench_writer import ChosenGauge, GaugePlace, scale_place, table_of
from barrelfit.acquire.wires.gauge_listener import PortHeard
from barrelfit.acquire.wires.identifying import RATES
from barrelfit.dashboard.board.hub import installed
from barrelfit.dashboard.board.set_up import SetUp
from barrelfit.dashboard.html.page_html import asset, title_html
from barrelfit.dashboard.pages.shell import all_there, plain_page
from barrelfit.dashboard.words import say
from barrelfit.drivers.errors import DriverError
from barrelfit.drivers.teaching.lesson import Lesson
from barrelfit.drivers.teaching.propose import NEEDED, REFUSED, RIGHT, WRONG
from barrelfit.rules.manner import PLAIN, told

MOVES_NM: Final = 20_000
MOVES_MG: Final = 5_000
"""From how much on a reading counts as moved, not as flickering."""
_MOVEMENTS: Final = {
    "outside": {"held": "setup_held", "following": "setup_following", "screw": "setup_screw"},
    "bore": {"held": "setup_held", "bore": "setup_bore_rocked"},
}
_LAST: Final = {RIGHT: "setup_right", REFUSED: "setup_learnt", WRONG: "setup_wrong"}


def change_page() -> None:
    """While a bench runs: stop it and set it up anew."""
    plain_page("setup", say("setup_change"))
    asked = installed().wants_set_up
    if asked is None:
        st.info(say("setup_elsewhere"))
        return
    st.write(say("setup_change_more"))
    if st.button(say("setup_change"), type="primary"):
        asked()
        st.success(say("setup_stops"))
        _await_server(set_up=True)


def setup_page() -> None:
    """Set up a bench, from what is plugged in to the file."""
    set_up = installed().set_up
    if set_up is None:
        return
    st.html(f"<style>{asset('plain.css')}</style>")
    st.html(title_html(say("setup_head")))
    if set_up.finished:
        st.success(say("setup_starts", file=str(set_up.file)))
        _await_server(set_up=False)
        set_up.done()
        return
    st.write(say("setup_move"))
    heard = set_up.look()
    _watch(set_up)
    chosen: list[ChosenGauge | str] = []
    for one in heard:
        chosen += _gauges(set_up, one, len(chosen))
    if not heard:
        st.info(say("setup_nothing"))
    with st.expander(say("setup_other_port")), st.form("setup-port", clear_on_submit=True):
        port = st.text_input(say("setup_other_port"), label_visibility="collapsed")
        if st.form_submit_button(say("setup_listen")) and port.strip():
            set_up.listen_to(port.strip())
            st.rerun()
    _finish(set_up, chosen)


def _await_server(*, set_up: bool) -> None:
    """Lead to the page of the server that comes in this one's place."""
    mount = st.components.v2.component("other", html="<i></i>", js=asset("other_server.js"))
    mount(key=f"other-{set_up}", data={"awaits": set_up})


def _state(one: PortHeard) -> tuple[object, ...]:
    """What of a port changes which parts the page has."""
    fit = one.fit.profile.id if one.fit is not None else ""
    return one.port, one.wrong, fit, one.channels, bool(one.sent), bool(one.count)


@st.fragment(run_every=0.5)
def _watch(set_up: SetUp) -> None:
    """What every port says now; another page load where a gauge came, or was found out."""
    heard = set_up.look()
    states = [_state(one) for one in heard]
    if st.session_state.setdefault("setup-states", states) != states:
        st.session_state["setup-states"] = states
        st.rerun()
    for one in heard:
        which = say("setup_moved_channel", channel=one.moved_channel)
        moves = which if one.moved_channel else say("setup_moved")
        moved = f" **{moves}**" if _moves(one) else ""
        st.markdown(f"`{one.port}` {one.product} — {_line(one)}{moved}")


def _moves(one: PortHeard) -> bool:
    return one.moved_nm >= MOVES_NM or one.moved_mg >= MOVES_MG


def _line(one: PortHeard) -> str:
    if one.wrong:
        return told(one.wrong, PLAIN)
    if one.fit is not None:
        fits = say("setup_fits", profile=one.fit.profile.id, baud=one.baud)
        return (
            f"{fits}: {say('setup_shows', value=one.value, unit=one.unit)}" if one.value else fits
        )
    return say("setup_unknown", count=one.count) if one.count else say("setup_silent")


def _gauges(set_up: SetUp, one: PortHeard, number: int) -> list[ChosenGauge | str]:
    """The forms of a port's gauges, mostly of one; what is chosen of them.

    What the file has already, and is not heard now, stays there by its port's name.
    """
    tables = [t for t in set_up.before.get("gauge", []) if t.get("port") == one.port]
    if one.wrong or (one.fit is None and not one.count and one.port not in set_up.lessons):
        names = ", ".join(str(table.get("id", "")) for table in tables)
        keep = tables and st.checkbox(say("setup_keep", gauge=names, port=one.port), value=True)
        return [one.port] if keep else []
    with st.container(border=True):
        st.markdown(f"`{one.port}` {one.product}")
        if one.fit is None:
            _teach(set_up, one)
            return []
        if one.fit.profile.caution:
            st.caption(one.fit.profile.caution)
        unit = _unit(one, tables[0] if tables else {})
        channels = sorted({*one.channels, *(t.get("channel", "") for t in tables)} - {""})
        if len(channels) < 2:  # noqa: PLR2004  one is no box
            own = next((t.get("channel", "") for t in tables), "")
            found = [_gauge(set_up, one, own, (number, unit))]
        else:
            st.write(say("setup_channels", channels=", ".join(channels)))
            numbered = enumerate(channels, start=number)
            found = [_gauge(set_up, one, channel, (n, unit)) for n, channel in numbered]
    return [gauge for gauge in found if gauge is not None]


def _gauge(
    set_up: SetUp, one: PortHeard, channel: str, taken: tuple[int, str]
) -> ChosenGauge | None:
    """The form of one gauge; what is chosen of it, None where it is not used."""
    was = table_of(set_up.before.get("gauge", []), one.port, channel)
    key = f"{one.port}-{channel}" if channel else one.port
    number, unit = taken
    use = say("setup_use_channel", channel=channel) if len(one.channels) > 1 else say("setup_use")
    used = st.checkbox(use, value=True, key=f"use-{key}")
    columns = st.columns(3)
    with columns[0]:
        usual = "micrometer" if number == 0 else f"gauge-{number + 1}"
        name = st.text_input(
            say("setup_gauge"), was.get("id", usual), max_chars=40, key=f"name-{key}"
        )
    place = _place(one, (str(name), key), was, columns)
    if one.fit is None or not used:
        return None
    span = None if one.fit.profile.weighs else _range(key, was)
    return ChosenGauge(place, one.fit, one.baud, unit, span, set_up.own_file(one), channel)


def _place(
    one: PortHeard, named: tuple[str, str], was: dict[str, Any], columns: Sequence[Any]
) -> GaugePlace:
    """What it measures, and how its reading moves; of a scale its wire says both."""
    name, key = named
    if one.fit is not None and one.fit.profile.weighs:
        with columns[1]:
            st.write(say("setup_mass"))
        return scale_place(name, one.port, one.fit)
    kinds = list(_MOVEMENTS)
    with columns[1]:
        measures = st.radio(
            say("setup_measures"),
            kinds,
            index=kinds.index(was["measures"] if was.get("measures") in kinds else "outside"),
            format_func=lambda kind: say(f"setup_{kind}"),
            key=f"measures-{key}",
        )
    moves = _MOVEMENTS[measures]
    by_button = one.fit is not None and one.fit.profile.sends == "button" and not one.fit.streams
    usual = "held" if by_button else list(moves)[1]
    with columns[2]:
        movement = st.radio(
            say("setup_movement"),
            list(moves),
            index=list(moves).index(was["movement"] if was.get("movement") in moves else usual),
            format_func=lambda kind: say(moves[kind]),
            key=f"movement-{key}-{measures}",
        )
    return GaugePlace(name, one.port, measures, movement)


def _unit(one: PortHeard, was: dict[str, Any]) -> str:
    """The unit that its display is set to, empty where the wire tells it or it was taught so."""
    if one.fit is None or one.fit.profile.unit_on_wire or one.fit.profile.evidence == "capture":
        return ""
    units = ["mm", "in"]
    was_set = was.get("unit", one.unit or "mm")
    index = units.index(was_set) if was_set in units else 0
    return st.radio(say("setup_unit"), units, index=index, horizontal=True, key=f"unit-{one.port}")


def _range(key: str, was: dict[str, Any]) -> tuple[str, str] | None:
    """The gauge's range in mm, as two texts; None where it is not said."""
    low, high = (str(end) for end in was.get("range_mm", ("", "")))
    left, right = st.columns(2)
    with left:
        low = st.text_input(say("setup_range_from"), low, key=f"low-{key}").strip()
    with right:
        high = st.text_input(say("setup_range_to"), high, key=f"high-{key}").strip()
    return (low.replace(",", "."), high.replace(",", ".")) if low and high else None


def _teach(set_up: SetUp, one: PortHeard) -> None:
    """The lesson of a gauge that no profile fits."""
    lesson = set_up.lessons.get(one.port)
    if lesson is None:
        st.write(say("setup_unknown", count=one.count))
        rates = [0, *sorted(RATES)]
        baud = st.selectbox(
            say("setup_baud"), rates, key=f"baud-{one.port}",
            format_func=lambda rate: str(rate) if rate else say("setup_baud_find"),
        )  # fmt: skip
        if st.button(say("setup_teach"), key=f"teach-{one.port}"):
            set_up.teach(one.port, baud or 0)
            st.rerun()
        return
    st.write(say("setup_teach_more"))
    _progress(lesson)
    number = len(lesson.samples) + 1
    if lesson.proven and st.button(
        say("setup_save_profile"), type="primary", key=f"save-{one.port}"
    ):
        set_up.save_taught(one.port)
        st.rerun()
    if lesson.samples and st.button(say("setup_take_back"), key=f"back-{one.port}-{number}"):
        lesson.forget_last()
        st.rerun()
    if not one.sent:
        st.info(say("setup_send", number=number))
        return
    sent = b"".join(data for _, data in one.sent)
    st.write(say("setup_sent", number=number, bytes=sent[:48].hex(" ")))
    with st.form(f"shown-{one.port}-{number}"):
        shown = st.text_input(say("setup_shown"))
        if st.form_submit_button(say("setup_told")):
            _tell(set_up, one.port, shown)
    if st.button(say("setup_leave_out"), key=f"leave-{one.port}-{number}"):
        set_up.leave_out(one.port)
        st.rerun()


def _tell(set_up: SetUp, port: str, shown: str) -> None:
    try:
        set_up.told(port, shown)
    except DriverError as error:
        st.error(told(said_of(error.problems[0]), PLAIN))
        return
    st.rerun()


def _progress(lesson: Lesson) -> None:
    """What came of the readings so far."""
    if lesson.why:
        st.warning(told(said_of(lesson.why), PLAIN))
    if lesson.last:
        st.write(say(_LAST[lesson.last], right=lesson.right, needed=NEEDED))
    if lesson.proposal is not None:
        st.caption(say("setup_unsure"))
        for line in lesson.proposal.unsure:
            st.caption(f"• {line}")


def _finish(set_up: SetUp, chosen: list[ChosenGauge | str]) -> None:
    """Names and sheet, and the file."""
    was = set_up.before
    there = set_up.file.exists()
    told_here = st.container()
    with st.form("setup-finish"):
        left, middle, right = st.columns(3)
        with left:
            bench = st.text_input(say("setup_bench"), was.get("bench", "bench-1"), max_chars=40)
        with middle:
            who = st.text_input(say("setup_who"), was.get("who") or getuser(), max_chars=62)
        with right:
            sheet = st.selectbox(say("setup_sheet"), set_up.sheets())
        replace = st.checkbox(say("setup_replace", file=str(set_up.file))) if there else True
        if not st.form_submit_button(say("setup_run"), type="primary"):
            return
    with told_here:
        if not chosen:
            st.warning(say("setup_no_gauge"))
            return
        if not all_there(setup_bench=bench, your_name=who):
            return
        try:
            set_up.finish(bench.strip(), who.strip(), sheet, chosen, may_replace=replace)
        except UserError as error:
            for problem in error.problems:
                st.error(told(problem, PLAIN))
            return
    st.rerun()
