"""What the pages have in common: settings and bench by address, the head of plain ones."""

import secrets
from functools import partial
from urllib.parse import urlencode

import streamlit as st

from barrelfit.acquire.topics import BENCH_NAME
from barrelfit.dashboard.board.hub import installed
from barrelfit.dashboard.html.page_html import (
    KEPT_AS,
    asset,
    choice_of_links,
    head_html,
    link_to,
)
from barrelfit.dashboard.pages.override import Reply, is_private, sign_on
from barrelfit.dashboard.shown import Shown, shown_from, shown_kept
from barrelfit.dashboard.view.floor import by_name
from barrelfit.dashboard.words import say


def settings() -> tuple[Shown, str]:
    """How lengths are shown on this page, and the query text that keeps it so on other pages.

    The address says it; else what was chosen on a page, which the browser keeps.
    """
    wanted = {key: st.query_params[key] for key in ("unit", "decimal") if key in st.query_params}
    cookie = st.context.cookies.get(KEPT_AS)
    kept = shown_kept(cookie if isinstance(cookie, str) else "")
    mark = "comma" if kept.comma else "point"
    shown = shown_from(wanted.get("unit", kept.unit), wanted.get("decimal", mark))
    return shown, urlencode(wanted)


def bench_meant() -> str:
    """The bench that `?id=` names; without it the only bench, or none."""
    bench: str = st.query_params.get("id", "")
    if not BENCH_NAME.fullmatch(bench):
        names = installed().look(lambda boards, _now, _link: sorted(boards))
        bench = names[0] if len(names) == 1 else ""
    return bench


def plain_page(here: str, head: str, bench: str = "") -> None:
    """The head of a page that is made of Streamlit's own parts."""
    shown, query = settings()
    st.html(f"<style>{asset('plain.css')}</style>")
    st.html(head_html(head, here, bench, query, shown))


def say_if_cut_off() -> None:
    """Say it where the bus is away: that nothing is known of a bench is no news of it then."""
    if not installed().look(lambda _boards, _now, link: link.up):
        st.error(say("broker_down"))


def tell(reply: Reply) -> None:
    """Show what a bench answered."""
    (st.success if reply.ok else st.error)(reply.sentence)


def all_there(**fields: object) -> bool:
    """Whether every field was filled in; which was not is said. Each is named by its words' key."""
    empty = [key for key, value in fields.items() if not (str(value).strip() if value else "")]
    if empty:
        st.warning(say("still_missing", what=", ".join(say(key) for key in empty)))
    return not empty


def name_input(bench: str, key: str) -> str:
    """Who says it: as long as nobody writes another name, who is at the bench."""
    operator = installed().look_at(bench, lambda board, _now, _link: board.operator)
    name = st.text_input(say("who"), value=operator, max_chars=62, key=f"{key}-{operator}")
    return name or ""


def at_bench(bench: str) -> None:
    """Who is at the bench, and one touch for somebody else; a new name is written once."""
    operator, people = installed().look_at(
        bench, lambda board, _now, _link: (board.operator, board.state.people)
    )
    names = list(dict.fromkeys([*([operator] if operator else []), *sorted(people)]))
    if len(names) > 1:
        chosen = st.pills(say("at_bench"), names, default=operator, key=f"at-bench-{operator}")
        if chosen and chosen != operator:
            _sign_on(bench, chosen)
    with st.expander(say("hand_over", who=operator) if operator else say("sign_on")):
        st.caption(say("sign_on_more"))
        with st.form("sign-on", clear_on_submit=True):
            new = st.text_input(say("your_name"), max_chars=62)
            local = is_private(st.context.headers.get("origin", ""))
            code = st.text_input(say("your_code"), type="password", max_chars=62) if local else ""
            if st.form_submit_button(say("sign_on")) and new.strip():
                _sign_on(bench, new, code)


def _sign_on(bench: str, who: str, code: str = "") -> None:
    reply = sign_on(who, code, secrets.token_hex(8), partial(installed().ask, bench))
    if not reply.ok:
        tell(reply)


def choose_bench(here: str, path: str) -> None:
    """A page of one bench, without one: the benches there are, or that there is none.

    Args:
        here: the page.
        path: its address.
    """
    plain_page(here, say(f"page_{here}"))
    say_if_cut_off()
    names = installed().look(lambda boards, _now, _link: sorted(boards, key=by_name))
    if not names:
        st.info(f"{say('no_bench')}. {say('no_bench_more')}")
        return
    _, query = settings()
    st.header(say("bench_which"), anchor=False)
    st.html(choice_of_links([(name, link_to(path, query, id=name)) for name in names]))


def way_back(*, arrived: bool) -> None:
    """Bring a lead back to the verdict after signing in: Streamlit's sign-in ends at `/`.

    Mounted where a sign-in is offered (`arrived` false), and where it ends (true).
    """
    mount = st.components.v2.component("way_back", html="<i></i>", js=asset("way_back.js"))
    mount(key=f"way-back-{arrived}", data={"arrived": arrived})
