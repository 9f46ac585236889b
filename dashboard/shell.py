"""What pages made of Streamlit's own parts have in common: settings by address, the head."""

from html import escape
from urllib.parse import urlencode

import streamlit as st

from dashboard.page_html import asset, nav
from dashboard.shown import Shown, shown_from


def settings() -> tuple[Shown, str]:
    """How lengths are shown on this page, and the query text that keeps it so on other pages."""
    wanted = {key: st.query_params[key] for key in ("unit", "decimal") if key in st.query_params}
    shown = shown_from(wanted.get("unit", "mm"), wanted.get("decimal", "point"))
    return shown, urlencode(wanted)


def plain_page(here: str, head: str, bench: str = "") -> None:
    """The head of a page that is made of Streamlit's own parts."""
    _, query = settings()
    st.html(f"<style>{asset('plain.css')}</style>")
    st.html(f'<div class="plainhead"><b>{escape(head)}</b>{nav(here, bench, query)}</div>')
