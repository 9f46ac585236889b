"""The board's own WebSocket: pushes what changed to each open page, at most thirty times a second.

The route checks the Origin header, because a page of another site could otherwise read the bench
through the visitor's browser. A slow browser is sent less often, never an old message late:
each message is worked out at the moment it is sent.
"""

import asyncio
import contextlib
import json
from collections.abc import Awaitable, Callable
from typing import Any, Final, Protocol
from urllib.parse import urlsplit

from starlette.websockets import WebSocket, WebSocketDisconnect

from acquire.topics import BENCH_NAME
from dashboard.feed import BenchFeed
from dashboard.hub import Hub
from dashboard.shown import Shown, shown_from

BEAT_S: Final = 0.5
LEAST_S: Final = 1 / 30
REFUSED: Final = 1008  # RFC 6455 section 7.4.1: policy violation


class Feed(Protocol):
    """Works out the next message of one page."""

    def message(self, hub: Hub) -> dict[str, Any]:
        """The next message, from what the hub knows now."""
        ...


class _OneBench:
    def __init__(self, bench: str, shown: Shown) -> None:
        self._bench = bench
        self._feed = BenchFeed(shown)

    def message(self, hub: Hub) -> dict[str, Any]:
        return hub.look_at(self._bench, self._feed.next)


def same_origin(origin: str | None, host: str | None) -> bool:
    """Whether a browser's Origin is this very server; a client without one is no browser."""
    return origin is None or (host is not None and urlsplit(origin).netloc == host)


def bench_route(hub: Hub) -> Callable[[WebSocket], Awaitable[None]]:
    """The endpoint `/live/bench/{bench}`."""

    async def endpoint(socket: WebSocket) -> None:
        bench = str(socket.path_params["bench"])
        if not BENCH_NAME.fullmatch(bench):
            await socket.close(REFUSED)
            return
        await serve_page(socket, hub, bench, _OneBench(bench, shown_of(socket)))

    return endpoint


def shown_of(socket: WebSocket) -> Shown:
    """The page's settings from its query."""
    query = socket.query_params
    return shown_from(query.get("unit", "mm"), query.get("decimal", "point"))


async def serve_page(socket: WebSocket, hub: Hub, bench: str, feed: Feed) -> None:
    """Push to one page until it goes away."""
    if not same_origin(socket.headers.get("origin"), socket.headers.get("host")):
        await socket.close(REFUSED)
        return
    await socket.accept()
    page = hub.open_page(bench)
    gone = asyncio.create_task(_until_gone(socket))
    try:
        with contextlib.suppress(WebSocketDisconnect, RuntimeError):
            await _push(socket, hub, feed, page, gone)
    finally:
        gone.cancel()
        hub.close_page(bench, page)


async def _push(
    socket: WebSocket, hub: Hub, feed: Feed, page: asyncio.Event, gone: asyncio.Task[None]
) -> None:
    while not gone.done():
        page.clear()
        await socket.send_text(json.dumps(feed.message(hub), allow_nan=False))
        await asyncio.sleep(LEAST_S)
        with contextlib.suppress(TimeoutError):
            await asyncio.wait_for(page.wait(), BEAT_S)


async def _until_gone(socket: WebSocket) -> None:
    with contextlib.suppress(WebSocketDisconnect, RuntimeError):
        while True:
            await socket.receive_text()
