"""What stands before everything that the workshop's network can reach: only paired phones pass.

An ASGI application around another. Whoever is not paired gets one short page, at every address
and by every method, and no WebSocket. Nothing of Streamlit is behind it.
"""

import asyncio
import secrets
from collections.abc import Callable
from ipaddress import ip_address
from typing import Final
from urllib.parse import urlsplit

from starlette.datastructures import Headers, MutableHeaders
from starlette.requests import cookie_parser
from starlette.responses import HTMLResponse, PlainTextResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from barrelfit.dashboard.board.phones import Phones
from barrelfit.dashboard.html.phone_html import short_html
from barrelfit.dashboard.words import say

PAIR: Final = "/pair"
PAIR_MOST: Final = 2_000
PAIR_S: Final = 10.0
DONE, FORBIDDEN, NOT_OURS, TOO_MANY = 204, 403, 421, 429
REFUSED: Final = 1008  # RFC 6455 section 7.4.1: policy violation
_SAFE: Final = {"GET", "HEAD"}


def cookie_name(bench: str) -> str:
    """The cookie's name: cookies know no ports, so each bench of a machine has its own."""
    return f"__Host-barrelfit-{bench.encode().hex()}"


class Guard:
    """Lets paired phones through to `behind`; `scope["phone"]` is then who it is.

    Args:
        behind: what paired phones may reach.
        phones: the bench's phones.
        now_ns: a monotonic time.
    """

    def __init__(self, behind: ASGIApp, phones: Phones, now_ns: Callable[[], int]) -> None:
        self._behind = behind
        self._phones = phones
        self._now_ns = now_ns
        self._cookie = cookie_name(phones.bench)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Take one request or WebSocket."""
        if scope["type"] == "lifespan":
            await self._behind(scope, receive, send)
            return
        headers, nonce = Headers(scope=scope), secrets.token_urlsafe(16)
        cookie = cookie_parser(headers.get("cookie", "")).get(self._cookie, "")
        phone = self._phones.known(cookie)
        answer: Response | None = None
        if scope["scheme"] not in {"https", "wss"} or not _names_us(headers.get("host", "")):
            answer = PlainTextResponse("", NOT_OURS)
        elif not _is_own_page(scope, headers):
            answer = PlainTextResponse("", FORBIDDEN)
        elif phone is None:
            answer = await self._unpaired(scope, receive, headers, nonce)
        if scope["type"] == "websocket" and answer is not None:
            await send({"type": "websocket.close", "code": REFUSED})
            return
        scope["phone"], scope["cookie"] = phone, cookie
        await (answer or self._behind)(scope, receive, _guarded(send, nonce))

    async def _unpaired(
        self, scope: Scope, receive: Receive, headers: Headers, nonce: str
    ) -> Response:
        """The short page; what a phone that shows a code gets."""
        if scope["type"] == "websocket" or (scope["method"], scope["path"]) != ("POST", PAIR):
            return HTMLResponse(short_html("", nonce), FORBIDDEN)
        try:
            async with asyncio.timeout(PAIR_S):
                code, _, name = (await _body(receive)).partition("\n")
        except TimeoutError:
            return PlainTextResponse("", FORBIDDEN)
        cookie, sender = secrets.token_urlsafe(32), (scope.get("client") or ("",))[0]
        outcome = self._phones.pair(code, name, cookie, sender, self._now_ns())
        if outcome != "paired":
            status = TOO_MANY if outcome == "often" else FORBIDDEN
            return PlainTextResponse(say(f"phone_{outcome}"), status)
        answer = Response(status_code=DONE)
        answer.set_cookie(
            self._cookie, cookie, secure=True, httponly=True, samesite="strict", path="/"
        )
        return answer


def _is_own_page(scope: Scope, headers: Headers) -> bool:
    """Whether what changes something, or listens, comes from a page of this very server."""
    if scope["type"] == "http" and scope["method"] in _SAFE:
        return True
    return headers.get("origin", "") == f"https://{headers.get('host', '')}"


def _names_us(host: str) -> bool:
    """Whether we are called by an address: a name may be anybody's that leads here.

    >>> _names_us("192.168.1.20:8443"), _names_us("[::1]:8443"), _names_us("shop.example:8443")
    (True, True, False)
    """
    try:
        ip_address(urlsplit(f"//{host}").hostname or "")
    except ValueError:
        return False
    return True


async def _body(receive: Receive) -> str:
    """A short text that is sent; what is longer is nothing."""
    data = bytearray()
    while True:
        message = await receive()
        if message["type"] != "http.request":
            return ""
        data += message.get("body", b"")
        if len(data) > PAIR_MOST:
            return ""
        if not message.get("more_body"):
            return data.decode("utf-8", "replace")


def _guarded(send: Send, nonce: str) -> Send:
    """Every answer says what its page may do: ask this server alone, and be in no other page."""

    async def with_headers(message: Message) -> None:
        if message["type"] == "http.response.start":
            headers = MutableHeaders(scope=message)
            headers["Content-Security-Policy"] = (
                f"default-src 'none'; script-src 'self' 'nonce-{nonce}'; connect-src 'self';"
                " style-src 'self' 'unsafe-inline'; img-src 'self' data: blob:;"
                " form-action 'none'; base-uri 'none'; frame-ancestors 'none'"
            )
            headers["Cache-Control"] = "no-store"
            headers["Referrer-Policy"] = "same-origin"
            headers["X-Content-Type-Options"] = "nosniff"
            headers["Cross-Origin-Resource-Policy"] = "same-origin"
        await send(message)

    return with_headers
