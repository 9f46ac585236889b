"""The parts page: what is known of each part, and the form to tell more. Streamlit's own parts."""

import secrets
from functools import partial

import streamlit as st

from barrelfit.acquire.errors import UserError
from barrelfit.acquire.inputs.photo import photo_shown
from barrelfit.dashboard.board.hub import installed
from barrelfit.dashboard.pages.entry import answer_command, fact_command, wanted_command
from barrelfit.dashboard.pages.override import send
from barrelfit.dashboard.pages.sessions import earlier_of
from barrelfit.dashboard.pages.shell import (
    all_there,
    at_bench,
    bench_meant,
    choose_bench,
    name_input,
    plain_page,
    say_if_cut_off,
    settings,
    tell,
)
from barrelfit.dashboard.view.parts import (
    KINDS,
    choices,
    earlier_line,
    fact_place,
    free_name,
    key_words,
    measured_words,
    new_part,
    others_of,
    part_in_hand,
    part_names,
    part_view,
    part_words,
    places_of,
    serial_of,
    tellable,
)
from barrelfit.dashboard.view.passes import caution
from barrelfit.dashboard.view.photos import photos_view
from barrelfit.dashboard.view.telling import ask_text, telling_view
from barrelfit.dashboard.words import say, told_words
from barrelfit.rules.engine.catalogue.rings import IN, OUT
from barrelfit.rules.engine.form import Key
from barrelfit.rules.engine.set_facts import LEAVES, PART, PHOTO_FOLDER, REPLACED
from barrelfit.rules.manner import told, told_all
from barrelfit.rules.model import FeatureId

PLACES = 4  # around a piston, at which a groove is tried
IN_A_ROW = 5  # answers beside each other, so that none is cut short
RINGS_OWN = frozenset({LEAVES, "gap_depth", REPLACED})


def parts_page() -> None:
    """Every part with what is known of it, and a form to tell more of the chosen one."""
    bench = bench_meant()
    if not bench:
        choose_bench("parts", "/parts")
        return
    plain_page("parts", say("parts_head", bench=bench), bench)
    say_if_cut_off()
    at_bench(bench)
    names = installed().look_at(bench, lambda board, _now, _link: part_names(board))
    if not names:
        _wait(bench)
        return
    _asked_now(bench)
    first = installed().look_at(bench, lambda board, _now, _link: part_in_hand(board))
    part = st.pills(
        say("part_is"), names, format_func=part_words, default=first, key="part",
        label_visibility="collapsed", required=True,
    )  # fmt: skip
    known, form = st.columns((1, 1))
    with known:
        st.header(part_words(part), anchor=False)
        _known(bench, part)
        _measure_form(bench, part)
        _photos(bench, part)
        _earlier(bench, part)
    with form:
        _tell_form(bench, part)
        with st.expander(say("part_new")):
            _another_form(bench)


@st.fragment(run_every=1.0)
def _wait(bench: str) -> None:
    """Until the bench tells of a set: the page may have been opened before it was heard."""
    if installed().look_at(bench, lambda board, _now, _link: part_names(board)):
        st.rerun()
    st.info(say("no_parts"))


@st.fragment(run_every=1.0)
def _known(bench: str, part: str) -> None:
    """What is known of a part, and what waits for an answer; kept fresh."""
    shown, _ = settings()
    view = installed().look_at(bench, lambda board, _now, _link: part_view(board, part, shown))
    for question in view.open_now:
        st.error(question)
    if view.refused:
        st.warning(view.refused)
    if not view.rows:
        st.caption(say("fact_nothing"))
    for row in view.rows:
        st.text(say("fact_is", what=row.what, value=row.value))
        if row.more:
            st.caption(row.more)


@st.fragment(run_every=1.0)
def _asked_now(bench: str) -> None:
    """The fact that is asked for now, with its answers one touch away."""
    shown, _ = settings()
    view, words, minded = installed().look_at(
        bench,
        lambda board, now_ns, _link: (
            telling_view(board, shown),
            ask_text(board, shown),
            caution(board, shown, now_ns),
        ),
    )
    if view.fact is None:
        return
    st.caption(say("asked_now"))
    st.header(words, anchor=False)
    for line in (*view.pedal, view.meanwhile, view.caution):
        st.caption(line)
    for line in (view.refused, minded):
        if line:
            st.warning(line)
    fact, ask = view.fact, view.number
    who = name_input(bench, "who-answer")
    given = [] if fact.options else [st.text_input(say("fact_value"), key=f"answer-{ask}")]
    buttons = [*((value, say("answer")) for value in given), *view.answers]
    columns = [one for _ in range(0, len(buttons), IN_A_ROW) for one in st.columns(IN_A_ROW)]
    for number, (column, (value, label)) in enumerate(zip(columns, buttons, strict=False)):
        if not column.button(label, key=f"answer-{ask}-{number}"):
            continue
        if not all_there(fact_value=value, who=who):
            continue
        said = {"who": who, "unit": fact.unit}
        command = answer_command(secrets.token_hex(8), fact.at, value, ask, **said)
        tell(send(command, partial(installed().ask, bench)))


def _measure_form(bench: str, part: str) -> None:
    """Any place of the part, now: what it has stands until there is another size."""
    places = installed().look_at(bench, lambda board, _now, _link: places_of(board, part))
    if not places:
        return
    told = st.container()
    place = st.pills(say("measure"), places, format_func=measured_words, key=f"place-{part}")
    if place is None or not st.button(say("measure_now"), key=f"measure-{part}"):
        return
    who = installed().look_at(bench, lambda board, _now, _link: board.operator)
    with told:
        tell(
            send(wanted_command(secrets.token_hex(8), place, who), partial(installed().ask, bench))
        )


def _photos(bench: str, part: str) -> None:
    """The part's photos that were taken at the bench, upright, when they are asked for."""
    files = installed().look_at(
        bench, lambda board, _now, _link: photos_view(board, part).photos if part else ()
    )
    if not files or not st.toggle(say("photos_show", count=len(files)), key=f"photos-{part}"):
        return
    for file in files:
        try:
            view = photo_shown(installed().sessions, f"{PHOTO_FOLDER}/{file}")
        except UserError as error:
            st.error("; ".join(told_all(error.problems)))
            continue
        st.image(view, caption=say("photo_hash", digits=file[:16]))


def _earlier(bench: str, part: str) -> None:
    """What earlier sessions found of a part that has a serial number, when it is asked for."""
    serial, session = installed().look_at(
        bench, lambda board, _now, _link: (serial_of(board, part), board.session)
    )
    if not serial or not st.toggle(say("earlier", serial=serial), key=f"earlier-{part}"):
        return
    st.caption(say("earlier_caution"))
    try:
        found = earlier_of(installed().sessions, serial, session)
    except UserError as error:
        st.error("; ".join(told_all(error.problems)))
        return
    for problem in found.problems:
        st.warning(told(problem))
    if not found.rows:
        st.caption(say("earlier_none"))
    shown, _ = settings()
    for row in found.rows:
        st.text(earlier_line(row, shown))


def _tell_form(bench: str, part: str) -> None:
    keys = installed().look_at(bench, lambda board, _now, _link: tellable(board, part))
    names = [key.name for key in keys]
    name = st.pills(
        say("fact_which"), names, format_func=key_words, default=names[0], key=f"key-{part}",
        required=True,
    )  # fmt: skip
    key = next((k for k in keys if k.name == name), None)
    if key is None:
        return
    st.caption(key.meaning)
    told = st.container()
    with st.form(f"tell-{part}-{key.name}", clear_on_submit=False):
        ring, leaf = _ring_and_leaf(bench, key)
        value, unit = _value(bench, part, key)
        who = name_input(bench, "who-fact")
        why = st.text_input(say("fact_why"), max_chars=400, key=f"why-{part}-{key.name}")
        sent = st.form_submit_button(say("fact_tell"), type="primary")
        back = st.form_submit_button(say("fact_back"))
    if not (sent or back):
        return
    with told:
        needed: dict[str, object] = {"who": who}
        needed |= {"fact_value": value} if sent else {}
        needed |= {"fact_ring": ring} if key.name in RINGS_OWN else {}
        needed |= {"fact_leaf": leaf["thickness"]} if key.name == LEAVES else {}
        if not all_there(**needed):
            return
        at = fact_place(part, key.name, ring, leaf)
        said = {"who": who, "why": why} if why else {"who": who}
        command = fact_command(secrets.token_hex(8), at, "" if back else value, unit, **said)
        tell(send(command, partial(installed().ask, bench)))


def _another_form(bench: str) -> None:
    """A part from the shelf: a spare, or one that takes another's place; a pin for its piston."""
    kind = st.pills(say("part_kind"), KINDS, format_func=say, key="new-kind")
    if kind is None:
        return
    name, others = installed().look_at(
        bench, lambda board, _now, _link: (free_name(board, kind), others_of(board, kind))
    )
    told = st.container()
    with st.form(f"another-{kind}"):
        part = st.text_input(say("part_name"), value=name, max_chars=12)
        label = say("part_of" if kind == "pin" else "part_replaces")
        other = st.pills(label, others, key=f"other-{kind}")
        who = name_input(bench, "who-part")
        sent = st.form_submit_button(say("part_add"))
    if not sent:
        return
    with told:
        needed = {"part_name": part, "who": who} | ({"part_of": other} if kind == "pin" else {})
        if not all_there(**needed):
            return
        at = FeatureId(part.strip(), PART)
        made = installed().look_at(
            bench, lambda board, _now, _link: new_part(board, kind, other or "")
        )
        command = fact_command(secrets.token_hex(8), at, made, "", who=who)
        tell(send(command, partial(installed().ask, bench)))


def _ring_and_leaf(bench: str, key: Key) -> tuple[str, dict[str, str]]:
    """Of a ring's facts: which ring; of a feeler its leaf, too."""
    if key.name not in RINGS_OWN:
        return "", {}
    rings = installed().look_at(bench, lambda board, _now, _link: board.choices.get("ring", []))
    ring = st.pills(say("fact_ring"), rings, key="ring") or ""
    if key.name != LEAVES:
        return ring, {}
    thickness = st.text_input(say("fact_leaf"), max_chars=10, key="leaf")
    beside = st.pills(say("fact_beside"), ("new", "used"), format_func=say, key="beside")
    return ring, {"thickness": thickness, "beside": beside or ""}


def _value(bench: str, part: str, key: Key) -> tuple[str, str]:
    """The value as told, and its unit; empty while nothing is chosen."""
    if key.name == LEAVES:
        tried = [
            st.pills(say("fact_place", n=n), (IN, OUT), format_func=told_words, key=f"place-{n}")
            for n in range(1, PLACES + 1)
        ]
        return ", ".join(answer for answer in tried if answer), "mm"
    offered = installed().look_at(bench, lambda board, _now, _link: choices(board, part, key))
    label, own = say("fact_value"), f"value-{key.name}"
    if offered and key.kind == "texts":
        chosen = st.pills(label, offered, selection_mode="multi", key=own)
        return ", ".join(chosen), ""
    if offered:
        return st.pills(label, offered, format_func=told_words, key=own) or "", ""
    text = st.text_input(label, max_chars=60, key=own)
    if key.kind in {"size", "length"}:
        return text, st.radio(say("unit"), ("mm", "inch"), horizontal=True, key="unit-fact") or ""
    return text, "g" if key.kind == "mass" else ""
