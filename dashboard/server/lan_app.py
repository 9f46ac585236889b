"""What a paired phone may reach: the bench's screen, and the photos of its parts."""

import asyncio
from collections import OrderedDict
from collections.abc import Awaitable, Callable
from typing import Final
from urllib.parse import unquote

from starlette.applications import Starlette
from starlette.requests import ClientDisconnect, Request
from starlette.responses import HTMLResponse, PlainTextResponse, Response
from starlette.routing import Route, WebSocketRoute
from starlette.types import ASGIApp
from starlette.websockets import WebSocket

from barrelfit.acquire.errors import UserError
from barrelfit.acquire.inputs.photo import BYTES_MOST, TOO_LARGE, photo_shown
from barrelfit.dashboard.board.hub import Hub
from barrelfit.dashboard.board.phones import Phone, Phones
from barrelfit.dashboard.html.page_html import KEPT_AS, asset, script, style
from barrelfit.dashboard.html.phone_html import (
    elsewhere_html,
    phone_bench_html,
    photos_html,
    tell_html,
)
from barrelfit.dashboard.server.live_route import serve_bench, tapped
from barrelfit.dashboard.server.manner_route import manner_chosen
from barrelfit.dashboard.server.photo_desk import DONE, NOT_TAKEN, PhotoDesk
from barrelfit.dashboard.shown import Shown, shown_kept
from barrelfit.dashboard.view.photos import is_photo, photos_view
from barrelfit.dashboard.view.telling import ask_text, telling_view
from barrelfit.dashboard.words import say
from barrelfit.rules.engine.set_facts import PHOTO_FOLDER
from barrelfit.rules.manner import told

SEND_S: Final = 120.0
"""How long a phone may take to send a photo."""
AT_ONCE: Final = 2
SHOWN_PX: Final = 900
VIEWS_KEPT: Final = 24
TELL_MOST: Final = 400
TOO_MUCH, TOO_SLOW, NOT_FOUND = 413, 408, 404


class LanPages:
    """The pages of one bench's phones.

    Args:
        hub: where the bench is.
        phones: its phones.
    """

    def __init__(self, hub: Hub, phones: Phones) -> None:
        self._hub = hub
        self._phones = phones
        self._bench = phones.bench
        self._desk = PhotoDesk(hub, phones.bench)
        self._sending = asyncio.Semaphore(AT_ONCE)
        self._views: OrderedDict[str, bytes] = OrderedDict()

    def app(self) -> ASGIApp:
        """The application; what stands before it lets nobody else in."""
        return Starlette(
            routes=[
                Route("/", self._page),
                Route("/photos", self._photos),
                Route("/photos/{part}", self._take, methods=["POST"]),
                Route("/photos/{part}/back/{file}", self._take_back, methods=["POST"]),
                Route("/photo/{file}", self._photo),
                Route("/tell", self._asked),
                Route("/tell", self._tell, methods=["POST"]),
                Route("/manner", manner_chosen),
                Route("/live.js", _text(script(), "text/javascript")),
                Route("/live.css", _text(style(), "text/css")),
                Route("/phone.css", _text(asset("phone.css"), "text/css")),
                *(
                    Route(f"/{name}", _text(asset(name), "text/javascript"))
                    for name in ("phone_bench.js", "phone_forms.js")
                ),
                WebSocketRoute("/live", self._live),
                Route("/{rest:path}", _elsewhere),
            ]
        )

    async def _page(self, request: Request) -> Response:
        return HTMLResponse(phone_bench_html(self._bench, _shown(request)))

    async def _live(self, socket: WebSocket) -> None:
        phone, cookie = socket.scope["phone"], socket.scope["cookie"]
        await serve_bench(
            socket,
            self._hub,
            self._bench,
            (phone.name, "phone"),
            lambda: self._phones.known(cookie) is not None,
        )

    async def _photos(self, request: Request) -> Response:
        part = request.query_params.get("part", "")
        view = self._hub.look_at(self._bench, lambda board, _now, _link: photos_view(board, part))
        return HTMLResponse(photos_html(view, _shown(request)))

    async def _asked(self, request: Request) -> Response:
        shown = _shown(request)
        telling, asked = self._hub.look_at(
            self._bench,
            lambda board, _now, _link: (telling_view(board, shown), ask_text(board, shown)),
        )
        return HTMLResponse(tell_html(telling, asked, shown))

    async def _tell(self, request: Request) -> Response:
        text = await _sent(request, TELL_MOST)
        if text is None:
            return PlainTextResponse("", TOO_MUCH)
        told_by = _phone(request).name, "phone"
        against = await asyncio.to_thread(
            tapped, self._hub, self._bench, text.decode("utf-8", "replace"), told_by
        )
        return PlainTextResponse(" ".join(against), NOT_TAKEN if against else DONE)

    async def _take(self, request: Request) -> Response:
        async with self._sending:
            try:
                async with asyncio.timeout(SEND_S):
                    data = await _sent(request, BYTES_MOST)
            except (TimeoutError, ClientDisconnect):
                return PlainTextResponse(say("photo_not_sent"), TOO_SLOW)
            if data is None:
                return PlainTextResponse(told(TOO_LARGE), TOO_MUCH, {"Connection": "close"})
            part = unquote(request.path_params["part"])
            became = await self._desk.take(part, data, _phone(request).name)
        return PlainTextResponse(became.sentence, became.status)

    async def _take_back(self, request: Request) -> Response:
        part, file = unquote(request.path_params["part"]), request.path_params["file"]
        became = await self._desk.take_back(part, file, _phone(request).name)
        return PlainTextResponse(became.sentence, became.status)

    async def _photo(self, request: Request) -> Response:
        """A photo of this bench's set, upright; any other file is not there."""
        file = str(request.path_params["file"])
        if not self._hub.look_at(self._bench, lambda board, _now, _link: is_photo(board, file)):
            return PlainTextResponse("", NOT_FOUND)
        if file not in self._views:
            try:
                view = await asyncio.to_thread(self._view, file)
            except UserError:
                return PlainTextResponse("", NOT_FOUND)
            self._views[file] = view
            while len(self._views) > VIEWS_KEPT:
                self._views.popitem(last=False)
        return Response(self._views[file], media_type="image/jpeg")

    def _view(self, file: str) -> bytes:
        return photo_shown(self._hub.sessions, f"{PHOTO_FOLDER}/{file}", SHOWN_PX)


async def _sent(request: Request, most: int) -> bytes | None:
    """What is sent, None as soon as it is more than so many bytes."""
    length = request.headers.get("content-length", "0")
    if not length.isdecimal() or int(length[:12]) > most:
        return None
    data = bytearray()
    async for piece in request.stream():
        data += piece
        if len(data) > most:
            return None
    return bytes(data)


def _phone(request: Request) -> Phone:
    phone: Phone = request.scope["phone"]
    return phone


def _shown(request: Request) -> Shown:
    return shown_kept(request.cookies.get(KEPT_AS, ""))


def _text(text: str, media: str) -> Callable[[Request], Awaitable[Response]]:
    async def answer(_request: Request) -> Response:
        return Response(text, media_type=media)

    return answer


async def _elsewhere(_request: Request) -> Response:
    return HTMLResponse(elsewhere_html(say("phone_elsewhere")), NOT_FOUND)
