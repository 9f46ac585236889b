"""The WebSocket of a replayed session: each page has its own player, steered by its buttons."""

import asyncio
import contextlib
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any, Final

from starlette.websockets import WebSocket, WebSocketDisconnect

from barrelfit.acquire.clock import Clock
from barrelfit.acquire.errors import UserError
from barrelfit.dashboard.board.model import Link
from barrelfit.dashboard.board.player import SessionPlayer
from barrelfit.dashboard.html.feed import BenchFeed
from barrelfit.dashboard.pages.sessions import journal_of, plan_of, records_of
from barrelfit.dashboard.server.live_route import REFUSED, Endpoint, same_origin, shown_of
from barrelfit.dashboard.words import say
from barrelfit.rules.errors import RulesError
from barrelfit.rules.manner import told_all

FRAME_S: Final = 1 / 20
REST_S: Final = 0.5
SEEK_S: Final = 0.002  # the live pages of this server get their turns in between
COMMAND_MOST: Final = 200


def replay_route(folder: Path, clock: Clock) -> Endpoint:
    """The endpoint `/live/replay/{file}`."""

    async def endpoint(socket: WebSocket) -> None:
        if not same_origin(socket.headers.get("origin"), socket.headers.get("host")):
            await socket.close(REFUSED)
            return
        await socket.accept()
        with contextlib.suppress(WebSocketDisconnect, RuntimeError):
            try:
                path = journal_of(folder, str(socket.path_params["file"]))
                player = SessionPlayer(path.stem, lambda: records_of(path), plan_of(path))
                await _play(socket, player, clock)
            except (UserError, RulesError) as error:
                await socket.send_text(
                    json.dumps({"blocks": {"trouble": "; ".join(told_all(error.problems))}})
                )
                await socket.receive_text()  # until the page goes

    return endpoint


async def _play(socket: WebSocket, player: SessionPlayer, clock: Clock) -> None:
    feed, begun = BenchFeed(shown_of(socket)), player.restarts
    asked = asyncio.Event()

    def command(name: str, value: object) -> None:
        player.command(name, value)
        asked.set()

    listening = asyncio.create_task(_listen(socket, command))
    try:
        while not listening.done():
            asked.clear()
            player.tick(clock.monotonic_ns())
            message: dict[str, Any] = {"blocks": {}}
            if not player.seeking:  # what lies on the way is not shown
                if begun != player.restarts:
                    feed, begun = BenchFeed(shown_of(socket)), player.restarts
                message |= feed.next(player.board, player.now_ns, Link(up=True))
            message["blocks"] = message.get("blocks", {}) | state_blocks(player)
            await socket.send_text(json.dumps(message, allow_nan=False))
            with contextlib.suppress(TimeoutError):
                async with asyncio.timeout(_rest_s(player)):
                    await asked.wait()
    finally:
        listening.cancel()


def _rest_s(player: SessionPlayer) -> float:
    if player.seeking:
        return SEEK_S
    return FRAME_S if player.playing and not player.ended else REST_S


async def _listen(socket: WebSocket, command: Callable[[str, object], None]) -> None:
    with contextlib.suppress(WebSocketDisconnect, RuntimeError):
        while True:
            text = await socket.receive_text()
            with contextlib.suppress(ValueError, AttributeError):
                wanted: dict[str, Any] = json.loads(text[:COMMAND_MOST])
                command(str(wanted.get("do")), wanted.get("value"))


def state_blocks(player: SessionPlayer) -> dict[str, str]:
    """Where the replay stands, in words."""
    key = "replay_rests"
    if player.seeking:
        key = "replay_seeks"
    elif player.ended:
        key = "replay_ended"
    elif player.playing:
        key = "replay_plays"
    at = player.utc[:19].replace("T", " ")
    return {"replay_at": say(key, at=at, speed=player.speed)}
