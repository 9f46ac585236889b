"""The board's own WebSocket: pushes what changed to each open page, at most thirty times a second.

The route checks the Origin header, because a page of another site could otherwise read the bench
through the visitor's browser. A slow browser is sent less often, never an old message late:
each message is worked out at the moment it is sent.
"""

import asyncio
import contextlib
import json
import secrets
from collections.abc import Awaitable, Callable, Mapping
from functools import partial
from typing import Any, Final
from urllib.parse import urlsplit

from starlette.websockets import WebSocket, WebSocketDisconnect

from barrelfit.acquire.topics import BENCH_NAME
from barrelfit.acquire.wires.ports_found import FoundPort, found_ports
from barrelfit.dashboard.board.hub import Hub
from barrelfit.dashboard.board.model import Board, Link
from barrelfit.dashboard.html.feed import BenchFeed, Parts, PartsFeed
from barrelfit.dashboard.html.floor_html import floor_parts, gauges_parts
from barrelfit.dashboard.html.set_html import bench_choice, set_parts
from barrelfit.dashboard.pages.override import send
from barrelfit.dashboard.server.tapped import tapped_command
from barrelfit.dashboard.shown import Shown, settings_query, shown_from
from barrelfit.dashboard.view.bench import job_text, trouble
from barrelfit.dashboard.view.floor import FloorCues, FloorView, floor_view
from barrelfit.dashboard.view.gauges import gauge_rows, helper_lines
from barrelfit.dashboard.view.set import set_view
from barrelfit.dashboard.words import say

BEAT_S: Final = 0.5
LEAST_S: Final = 1 / 30
SLOW_S: Final = 0.4
PORTS_S: Final = 2.0
REFUSED: Final = 1008  # RFC 6455 section 7.4.1: policy violation


Endpoint = Callable[[WebSocket], Awaitable[None]]
Feed = Callable[[Hub], dict[str, Any]]
Hear = Callable[[str], Awaitable[None]]


def same_origin(origin: str | None, host: str | None) -> bool:
    """Whether a browser's Origin is this very server; a client without one is no browser."""
    return origin is None or (host is not None and urlsplit(origin).netloc == host)


def shown_of(socket: WebSocket) -> Shown:
    """The page's settings from its query."""
    query = socket.query_params
    return shown_from(query.get("unit", "mm"), query.get("decimal", "point"))


def bench_route(hub: Hub) -> Endpoint:
    """The endpoint `/live/bench/{bench}`."""

    async def endpoint(socket: WebSocket) -> None:
        await serve_bench(socket, hub, str(socket.path_params["bench"]))

    return endpoint


async def serve_bench(
    socket: WebSocket,
    hub: Hub,
    bench: str,
    told_by: tuple[str, str] = ("", "board"),
    may_stay: Callable[[], bool] = lambda: True,
) -> None:
    """Show one bench to a page until it goes away, and hear what is tapped there.

    Args:
        socket: the page's connection, not yet accepted.
        hub: where the benches are.
        bench: which one.
        told_by: who says what is tapped (empty: who is at the bench), and by which means.
        may_stay: asked before each message; the page is sent nothing more once it is false.
    """
    feed, refused = BenchFeed(shown_of(socket)), list[str]()

    def message(hub: Hub) -> dict[str, Any]:
        if not may_stay():
            raise WebSocketDisconnect(REFUSED)
        told = hub.look_at(bench, feed.next)
        said = [["refused", sentence] for sentence in refused]
        refused.clear()
        return told | {"cues": told.get("cues", []) + said} if said else told

    async def hear(text: str) -> None:
        if may_stay():
            refused.extend(await asyncio.to_thread(tapped, hub, bench, text, told_by))

    await serve_page(socket, hub, bench, message, LEAST_S, hear)


def tapped(hub: Hub, bench: str, text: str, told_by: tuple[str, str]) -> list[str]:
    """Send what was tapped to its bench; what is to be said where it was not taken."""
    command, sentence = hub.look_at(
        bench,
        lambda board, _now, _link: tapped_command(board, text, secrets.token_hex(8), *told_by),
    )
    if command is None:
        return [sentence] if sentence else []
    reply = send(command, partial(hub.ask, bench))
    return [] if reply.ok else [reply.sentence]


def floor_route(hub: Hub) -> Endpoint:
    """The endpoint `/live/floor`."""

    async def endpoint(socket: WebSocket) -> None:
        feed, cues, shown = PartsFeed(), FloorCues(), shown_of(socket)

        def view(boards: Mapping[str, Board], now_ns: int, link: Link) -> FloorView:
            return floor_view(boards, now_ns, link, shown)

        def message(hub: Hub) -> dict[str, Any]:
            now = hub.look(view)
            heard = cues.next(now)
            parts = feed.next(floor_parts(now, settings_query(shown)))
            return parts | {"cues": heard} if heard else parts

        await serve_page(socket, hub, "", message, SLOW_S)

    return endpoint


def set_route(hub: Hub) -> Endpoint:
    """The endpoint `/live/set/{bench}`; without a bench it offers the benches there are."""

    async def endpoint(socket: WebSocket) -> None:
        bench = str(socket.path_params.get("bench", ""))
        feed, shown = PartsFeed(), shown_of(socket)

        def parts(boards: Mapping[str, Board], now_ns: int, link: Link) -> Parts:
            if not bench:
                cards = floor_view(boards, now_ns, link, shown).cards
                return bench_choice(cards, settings_query(shown))
            board = boards.get(bench) or Board(bench)
            title, job = say("set_of", bench=bench), job_text(board)
            return set_parts(
                set_view(board, shown), title, job, trouble(board, now_ns, link), shown
            )

        await serve_page(socket, hub, bench, lambda hub: feed.next(hub.look(parts)), SLOW_S)

    return endpoint


def gauges_route(hub: Hub) -> Endpoint:
    """The endpoint `/live/gauges`."""

    async def endpoint(socket: WebSocket) -> None:
        feed, shown = PartsFeed(), shown_of(socket)
        ports: list[FoundPort] = []

        async def look_at_ports() -> None:
            while True:
                ports[:] = await asyncio.to_thread(found_ports)
                await asyncio.sleep(PORTS_S)

        def parts(boards: Mapping[str, Board], now_ns: int, link: Link) -> Parts:
            down = "" if link.up else say("broker_down")
            rows = gauge_rows(boards, now_ns, link, shown)
            return gauges_parts(rows, ports, down, helper_lines(boards))

        looking = asyncio.create_task(look_at_ports())
        try:
            await serve_page(socket, hub, "", lambda hub: feed.next(hub.look(parts)), SLOW_S)
        finally:
            looking.cancel()

    return endpoint


async def serve_page(
    socket: WebSocket,
    hub: Hub,
    bench: str,
    feed: Feed,
    least_s: float,
    hear: Hear | None = None,
) -> None:
    """Push to one page until it goes away.

    Args:
        socket: the page's connection, not yet accepted.
        hub: where the benches are.
        bench: whose changes wake the page; empty for every bench's.
        feed: works out the next message.
        least_s: the least time between two messages, in seconds.
        hear: takes what the page sends; None where it has nothing to say.
    """
    named = bench == "" or BENCH_NAME.fullmatch(bench)
    if not named or not same_origin(socket.headers.get("origin"), socket.headers.get("host")):
        await socket.close(REFUSED)
        return
    await socket.accept()
    page = hub.open_page(bench)
    gone = asyncio.create_task(_until_gone(socket, hear))
    try:
        with contextlib.suppress(WebSocketDisconnect, RuntimeError):
            while not gone.done():
                page.clear()
                await socket.send_text(json.dumps(feed(hub), allow_nan=False))
                await asyncio.sleep(least_s)
                with contextlib.suppress(TimeoutError):
                    async with asyncio.timeout(BEAT_S):
                        await page.wait()
    finally:
        gone.cancel()
        hub.close_page(bench, page)


async def _until_gone(socket: WebSocket, hear: Hear | None) -> None:
    with contextlib.suppress(WebSocketDisconnect, RuntimeError):
        while True:
            text = await socket.receive_text()
            if hear is not None:
                await hear(text)
