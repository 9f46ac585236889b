"""Starts the board: one process that serves Streamlit's pages and the live WebSockets.

Prints one JSON line `{"board":"http://127.0.0.1:8501"}` on standard output once the board really
answers; everything else goes to standard error. Ends on SIGTERM or SIGINT, and with
`--watch-stdin` when standard input closes, so that it never outlives the program that started it;
that program tells it of its bench there, one link a line, and hears on standard output which ask
of that bench is shown: `{"session":"…","ask":12}`.
"""

import argparse
import asyncio
import contextlib
import gc
import json
import os
import signal
import socket
import sys
import threading
import urllib.error
import urllib.request
from collections.abc import AsyncGenerator, Sequence
from functools import partial
from importlib.resources import files
from pathlib import Path
from typing import Any, Final, TextIO

import msgspec
from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse
from starlette.routing import BaseRoute, Route, WebSocketRoute

from barrelfit.acquire.bus.broker import HOST, SHOPS_PORT, BrokerAddress
from barrelfit.acquire.bus.link_file import LINKS
from barrelfit.acquire.clock import Clock, RunningClock
from barrelfit.acquire.errors import UserError
from barrelfit.acquire.journal.session import USUAL_FOLDER
from barrelfit.dashboard.board.hub import Hub, install
from barrelfit.dashboard.board.phones import Phones
from barrelfit.dashboard.board.provider import Provider, read_provider
from barrelfit.dashboard.board.set_up import SetUp
from barrelfit.dashboard.server.lan import address_of, serve_phones
from barrelfit.dashboard.server.live_route import bench_route, floor_route, gauges_route, set_route
from barrelfit.dashboard.server.manner_route import manner_chosen
from barrelfit.dashboard.server.replay_route import replay_route
from barrelfit.rules.manner import told_all

EXIT_USAGE: Final = 2
PAGE_PATHS: Final = (
    *("bench", "floor", "set", "sessions", "gauges", "jobs", "parts"),
    *("override", "replay", "entry", "setup", "phone"),
)
TIDY_S: Final = 5.0
ANSWER_TRIES: Final = 600
USUAL_SIGN_IN: Final = USUAL_FOLDER / "sign-in.toml"
PASSWORD_VARIABLE: Final = "BARRELFIT_BROKER_PASSWORD"  # noqa: S105  its name, not its value


def main(arguments: Sequence[str]) -> int:
    """Run the board until it is told to end; returns the exit code."""
    chosen = _parser().parse_args(arguments)
    try:
        address = broker_address(chosen)
        provider = provider_of(chosen)
        if not chosen.show_key:
            _check_port(chosen.host, chosen.port)
    except UserError as error:
        sys.stderr.write(
            "".join(f"barrelfit board: {words}\n" for words in told_all(error.problems))
        )
        return EXIT_USAGE
    except OSError as error:
        sys.stderr.write(f"barrelfit board: {error}\n")
        return EXIT_USAGE
    if chosen.show_key:
        return _show_key(provider)
    says = _own_standard_output()
    _serve(chosen, address, provider, says)
    return 0


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(prog="python -m barrelfit.dashboard", description=__doc__)
    parser.add_argument(
        "--host",
        default="127.0.0.1",
        help="address to serve on; whoever reaches it sees the benches and can make entries",
    )
    parser.add_argument("--port", type=int, default=8501, help="port to serve on")
    parser.add_argument(
        "--broker-host", help="the shop's broker; without it benches of this machine are shown"
    )
    parser.add_argument("--broker-port", type=int, help="its port, 1883 when it is not named")
    parser.add_argument("--user", default="barrelfit", help="the bus user; empty for none")
    parser.add_argument(
        "--password-file",
        type=Path,
        help=f"file with the bus password; without it the variable {PASSWORD_VARIABLE} is read",
    )
    parser.add_argument(
        "--sessions", type=Path, default=USUAL_FOLDER, help="folder of recorded sessions"
    )
    parser.add_argument(
        "--sign-in",
        type=Path,
        help="file with the identity provider that leads sign in with;"
        f" {USUAL_SIGN_IN} when that is there",
    )
    parser.add_argument(
        "--bench-file", type=Path, help="the file of the bench that may be set up from here"
    )
    parser.add_argument("--set-up", action="store_true", help="set it up now; no bench runs")
    parser.add_argument("--show-key", action="store_true", help="print the [sign_in] table")
    parser.add_argument(
        "--phones", metavar="BENCH", default="", help="let phones be paired with this bench"
    )
    parser.add_argument("--phones-port", type=int, default=8443, help="port to serve them on")
    parser.add_argument(
        "--phones-address", default="", help="address to serve them on; all when left out"
    )
    parser.add_argument("--watch-stdin", action="store_true", help="end when standard input closes")
    return parser


def broker_address(chosen: argparse.Namespace) -> BrokerAddress | None:
    """The shop's bus to listen to, None for the benches' own; raises OSError.

    The password never stands on the command line.
    """
    if chosen.broker_host is None and chosen.broker_port is None:
        return None
    if chosen.password_file is not None:
        password = chosen.password_file.read_text(encoding="utf-8").strip()
    else:
        password = os.environ.get(PASSWORD_VARIABLE, "")
    return BrokerAddress(
        chosen.broker_host or HOST, chosen.broker_port or SHOPS_PORT, chosen.user, password
    )


def provider_of(chosen: argparse.Namespace) -> Provider | None:
    """The identity provider, None where none is configured; raises UserError for a bad file."""
    usual = USUAL_SIGN_IN.expanduser()
    path = chosen.sign_in or (usual if usual.exists() else None)
    return read_provider(path.expanduser().absolute()) if path else None


def _check_port(host: str, port: int) -> None:
    """Raise OSError with one clear sentence when the port can't be served on."""
    with socket.socket(socket.AF_INET6 if ":" in host else socket.AF_INET) as probe:
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind((host, port))
        except OSError as error:
            msg = f"can't serve on {host}:{port} ({error.strerror}); choose another with --port"
            raise OSError(msg) from None


def _show_key(provider: Provider | None) -> int:
    if provider is None:
        sys.stderr.write("barrelfit board: --show-key needs --sign-in FILE\n")
        return EXIT_USAGE
    sys.stdout.write(provider.table())
    return 0


def _own_standard_output() -> TextIO:
    """Keep standard output for our one line; whatever the server prints goes to standard error."""
    sys.stdout.flush()
    ours = os.fdopen(os.dup(1), "w", encoding="utf-8")
    os.dup2(2, 1)
    return ours


def _hear_parent(hub: Hub) -> None:
    """Take the links of benches that our parent tells us, and end when it does."""
    rest = b""
    while data := os.read(0, 4096):
        *lines, rest = (rest + data).split(b"\n")
        for line in lines:
            with contextlib.suppress(msgspec.MsgspecError):
                hub.tell(LINKS.decode(line))
    os.kill(os.getpid(), signal.SIGTERM)


def _say_shown(says: TextIO, session: str, ask: int) -> None:
    """Tell our parent which ask is shown; one line in one piece, whoever else speaks."""
    with contextlib.suppress(OSError):  # a parent that went away ends us in a moment
        says.write(json.dumps({"session": session, "ask": ask}) + "\n")
        says.flush()


def _say_set_up(says: TextIO) -> None:
    """Tell our parent that the bench was set up, or is to be set up anew."""
    with contextlib.suppress(OSError):
        says.write(json.dumps({"set_up": True}) + "\n")
        says.flush()


def _serve(
    chosen: argparse.Namespace, shop: BrokerAddress | None, provider: Provider | None, says: TextIO
) -> None:
    import pandas  # noqa: F401, ICN001, PLC0415  before the freeze: it never has to be collected
    import streamlit as st  # noqa: PLC0415  half a second that a usage error need not wait for

    host, port, clock = chosen.host, chosen.port, RunningClock()
    hub = Hub(clock, chosen.sessions.expanduser())
    hub.provider = provider
    hub.says = partial(_say_shown, says)
    if chosen.bench_file is not None:
        hub.wants_set_up = partial(_say_set_up, says)
        if chosen.set_up:
            hub.set_up = SetUp(chosen.bench_file, hub.wants_set_up)
    if chosen.phones:
        found_at = address_of(chosen.phones_port, chosen.phones_address)
        hub.phones = Phones(chosen.phones, found_at)
    install(hub)
    if chosen.watch_stdin:
        threading.Thread(target=_hear_parent, args=(hub,), daemon=True).start()

    @contextlib.asynccontextmanager
    async def life(_app: object) -> AsyncGenerator[dict[str, Any], None]:
        gc.collect()
        gc.freeze()
        tasks = [asyncio.create_task(hub.run(shop)), asyncio.create_task(_tidy(hub))]
        if hub.phones is not None:
            where = chosen.phones_address, chosen.phones_port
            tasks.append(asyncio.create_task(serve_phones(hub, hub.phones, *where, clock)))
        yield {}
        for task in tasks:
            task.cancel()
        await asyncio.gather(*tasks, return_exceptions=True)

    page = Path(str(files("barrelfit.dashboard.pages").joinpath("app.py")))
    app = st.App(page, lifespan=life, routes=routes(hub, clock))
    threading.Thread(target=_announce, args=(host, port, says), daemon=True).start()
    app.run(config=server_config(host, port, provider))


async def _tidy(hub: Hub) -> None:
    """Let go of the tabs that were closed, in place of Streamlit's collection after each run."""
    from streamlit.runtime import Runtime  # noqa: PLC0415  loaded by now

    while True:
        await asyncio.sleep(TIDY_S)
        runtime = Runtime.instance()
        for tab in hub.tabs.gone(runtime.is_active_session):
            runtime.close_session(tab)
        gc.collect()


def routes(hub: Hub, clock: Clock) -> list[BaseRoute]:
    """The board's own routes beside Streamlit's."""

    async def health(_request: Request) -> JSONResponse:
        state = hub.look(lambda boards, _now, link: {"bus": link.up, "benches": len(boards)})
        setting_up = hub.set_up is not None
        return JSONResponse(state | {"pages": hub.pages_open, "set_up": setting_up})

    return [
        WebSocketRoute("/live/bench/{bench}", bench_route(hub)),
        WebSocketRoute("/live/floor", floor_route(hub)),
        WebSocketRoute("/live/set", set_route(hub)),
        WebSocketRoute("/live/set/{bench}", set_route(hub)),
        WebSocketRoute("/live/gauges", gauges_route(hub)),
        WebSocketRoute("/live/replay/{file}", replay_route(hub.sessions, clock)),
        Route("/health", health),
        Route("/manner", manner_chosen),
        *(Route(f"/{page}", _shell) for page in PAGE_PATHS),
    ]


def _shell(_request: Request) -> HTMLResponse:
    """Streamlit's page, told where its server is.

    Left to itself it asks for its server below the page's own path first, and every page but the
    first would begin with two errors in the browser's console.
    """
    import streamlit  # noqa: PLC0415

    page = Path(streamlit.__file__).with_name("static").joinpath("index.html")
    told = "<head><script>window.__streamlit={BACKEND_BASE_URL:location.origin}</script>"
    return HTMLResponse(page.read_text(encoding="utf-8").replace("<head>", told, 1))


def server_config(host: str, port: int, provider: Provider | None = None) -> dict[str, Any]:
    """Streamlit's settings: nothing leaves the machine, no full collection after each run.

    Only the provider's own file is read for a sign-in, whatever else lies about on the machine.
    """
    return {
        "secrets.files": [str(provider.path)] if provider else [],
        "server.address": host,
        "server.port": port,
        "server.headless": True,
        "server.fileWatcherType": "none",
        "server.enableStaticServing": False,
        "browser.gatherUsageStats": False,
        "client.toolbarMode": "minimal",
        "client.showErrorDetails": "none",
        "client.showErrorLinks": False,
        "logger.hideWelcomeMessage": True,
        **_theme("light", "#0b57a4", "#ffffff", "#eef0f3", "#14181d"),
        **_theme("dark", "#6db3ff", "#0d1014", "#1b2027", "#f2f4f7"),
        "theme.baseFontSize": 18,  # the bench's screen stands further away than a desk's
        "runner.postScriptGC": False,
        "runner.magicEnabled": False,
    }


def _theme(name: str, primary: str, paper: str, soft: str, ink: str) -> dict[str, Any]:
    """Streamlit's own parts in the colours of `live.css`, so that all pages are of one kind."""
    return {
        f"theme.{name}.primaryColor": primary,
        f"theme.{name}.backgroundColor": paper,
        f"theme.{name}.secondaryBackgroundColor": soft,
        f"theme.{name}.textColor": ink,
    }


def _announce(host: str, port: int, says: TextIO) -> None:
    """Say where the board is, once it answers."""
    shown_host = f"[{host}]" if ":" in host else host
    url = f"http://{shown_host}:{port}"
    waiting = threading.Event()
    for _ in range(ANSWER_TRIES):
        try:
            with urllib.request.urlopen(f"{url}/health", timeout=2):  # noqa: S310  our own address
                says.write(json.dumps({"board": url}) + "\n")
                says.flush()
                return
        except (urllib.error.URLError, OSError):
            waiting.wait(0.1)
