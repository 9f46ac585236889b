"""Serves paired phones in the workshop's network: a server of its own, over TLS alone.

The board itself stays where it is, on this machine; what this server can reach is `lan_app`.
"""

import contextlib
import socket
import sys
from collections.abc import Callable, Iterator
from typing import Final

import uvicorn

from barrelfit.acquire.clock import Clock
from barrelfit.dashboard.board.hub import Hub
from barrelfit.dashboard.board.phones import Phones
from barrelfit.dashboard.server.certificate import own_certificate
from barrelfit.dashboard.server.few_at_once import FewAtOnce
from barrelfit.dashboard.server.lan_app import LanPages
from barrelfit.dashboard.server.lan_guard import Guard

EVERYWHERE: Final = "0.0.0.0"  # noqa: S104  asked for in the bench file, and guarded
ELSEWHERE: Final = ("192.0.2.1", 9)  # RFC 5737: an address that is nobody's; nothing is sent there


class _Server(uvicorn.Server):
    """One beside the board's own, which hears the signals."""

    @contextlib.contextmanager
    def capture_signals(self) -> Iterator[None]:
        """Leave signals to the board's server."""
        yield


def address_of(port: int, fixed: str) -> Callable[[], str]:
    """Tells where phones find this machine now, as `https://192.168.1.20:8443`; else nothing.

    Args:
        port: where it serves them.
        fixed: the address that the bench file names; empty where it is to be found.
    """

    def address() -> str:
        host = fixed or own_address()
        shown = f"[{host}]" if ":" in host else host
        return f"https://{shown}:{port}" if host else ""

    return address


def own_address() -> str:
    """This machine's address in its network, as the system would choose it; empty for none."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(ELSEWHERE)
        except OSError:
            return ""
        return str(probe.getsockname()[0])


async def serve_phones(hub: Hub, phones: Phones, host: str, port: int, clock: Clock) -> None:
    """Serve a bench's phones until cancelled; what keeps it from that stands in `phones.trouble`.

    Args:
        hub: where the bench is.
        phones: its phones.
        host: the address to serve at; empty for all of this machine's.
        port: the port.
        clock: what time it is.
    """
    try:
        own = own_certificate(hub.sessions, phones.bench, host or own_address(), clock.utc())
        listener = _listening(host or EVERYWHERE, port)
    except OSError as error:
        phones.trouble = f"{host or EVERYWHERE}:{port}: {error.strerror or error}"
        sys.stderr.write(f"barrelfit board: no phones at {phones.trouble}\n")
        return
    phones.fingerprint = own.fingerprint
    server = _Server(
        uvicorn.Config(
            Guard(LanPages(hub, phones).app(), phones, clock.monotonic_ns),
            ssl_certfile=own.path,
            ssl_keyfile=own.path,
            lifespan="off",
            proxy_headers=False,
            server_header=False,
            access_log=False,
            log_config=None,
            timeout_graceful_shutdown=1,
            ws_max_size=4_096,
        )
    )
    with contextlib.closing(listener):
        await server.serve(sockets=[listener])


def _listening(host: str, port: int) -> socket.socket:
    made = FewAtOnce(socket.AF_INET6 if ":" in host else socket.AF_INET)
    try:
        made.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        made.bind((host, port))
    except OSError:
        made.close()
        raise
    return made
