"""The page at the bench where phones are paired and forgotten. Streamlit's own parts."""

import secrets
from typing import Final

import segno
import streamlit as st

from barrelfit.dashboard.board.hub import installed
from barrelfit.dashboard.board.phones import PHONES_MOST, Phones
from barrelfit.dashboard.html.page_html import code_html
from barrelfit.dashboard.pages.shell import bench_meant, plain_page
from barrelfit.dashboard.words import say

CODE: Final = "phone-code"
CODE_BYTES: Final = 24  # 192 bits


def phone_page() -> None:
    """Show a code for one phone, which phones are paired, and forget them."""
    phones = installed().phones
    bench = phones.bench if phones is not None else bench_meant()
    plain_page("phone", say("phone_head", bench=bench) if bench else say("page_phone"), bench)
    if phones is None:
        st.info(say("phone_off"))
        return
    st.caption(say("phone_more"))
    _pairing(phones)


@st.fragment(run_every=1.0)
def _pairing(phones: Phones) -> None:
    """The code while it is good, and whose phones are paired; kept fresh."""
    now_ns = installed().look(lambda _boards, now_ns, _link: now_ns)
    address = phones.address()
    if phones.trouble or not address:
        why = phones.trouble or say("phone_no_network")
        st.error(say("phone_trouble", why=why))
        return
    full = len(phones.names) >= PHONES_MOST
    if full:
        st.warning(say("phone_no_room"))
    elif st.button(say("phone_code"), type="primary"):
        st.session_state[CODE] = secrets.token_urlsafe(CODE_BYTES)
        phones.offer(st.session_state[CODE], now_ns)
    code = st.session_state.get(CODE, "")
    left_ns = phones.left_ns(code, now_ns) if code else 0
    if left_ns:
        _show(f"{address}/#{code}", address, phones.fingerprint, -(-left_ns // 1_000_000_000))
    elif code:
        st.caption(say("phone_code_over"))
    names = phones.names
    st.text(say("phone_paired", names=", ".join(names)) if names else say("phone_none"))
    if names and st.button(say("phone_forget")):
        phones.forget()
        st.rerun(scope="fragment")


def _show(link: str, address: str, fingerprint: str, seconds: int) -> None:
    code, words = st.columns((2, 3), vertical_alignment="center")
    picture = segno.make(link, error="m").svg_data_uri(scale=8, border=4, light="#ffffff")
    # st.html leaves pictures out; its template escapes every word.
    html = code_html(picture, say("phone_code_picture", address=address))
    code.markdown(html, unsafe_allow_html=True)
    words.text(say("phone_scan", seconds=seconds))
    words.text(address)
    words.text(say("phone_warns"))
    words.code(fingerprint, language=None, wrap_lines=True)
