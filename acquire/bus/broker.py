"""The embedded MQTT broker: a child process on 127.0.0.1, ended with its parent.

One shop machine needs no server to be set up: the daemon starts this broker itself. It listens on
the loopback address only and asks for a password, because it has no access lists; a shop of many
benches runs a broker of its own and names it in the bench file.
"""

import asyncio
import os
import secrets
import signal
import socket
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from barrelfit.acquire.errors import UserError

HOST: Final = "127.0.0.1"
USER: Final = "barrelfit"
KEPT_NAME: Final = "broker-password"
WATCH_S: Final = 0.25
# The broker refuses larger messages by letting them time out; batches stay far below.
PAYLOAD_BYTES_MAX: Final = 262_144
SEGMENT_BYTES: Final = 4_194_304
"""The broker keeps ten segments of each topic in memory: 40 MB, and no more after any time.

A consumer that falls further behind sees the gap and reads the journal.
"""


@dataclass(frozen=True, slots=True)
class BrokerAddress:
    """Where a broker listens and how to log in."""

    host: str
    port: int
    user: str
    password: str


def kept_password(folder: Path) -> str:
    """The embedded broker's password of this installation, made once, readable by its owner only.

    Args:
        folder: where sessions are kept; the file is named `KEPT_NAME`.
    """
    path = folder / KEPT_NAME
    if path.exists():
        return path.read_text(encoding="ascii").strip()
    password = secrets.token_urlsafe(18)
    _write_private(path, password + "\n")
    return password


class EmbeddedBroker:
    """Starts the broker child, starts it again when it dies, stops it at the end."""

    def __init__(self, address: BrokerAddress, folder: Path) -> None:
        self._address = address
        self._config = folder / f"broker-{address.port}.toml"

    async def start(self) -> None:
        """Start the child and wait until it answers; raises UserError when the port is taken."""
        try:
            import iotcore  # noqa: PLC0415  a wheel that not every system has
        except ImportError:
            raise UserError(
                [
                    (
                        "no embedded broker for this system: run an MQTT broker and name it in "
                        "the bench file under [broker] with host, port, user, password_file"
                    )
                ]
            ) from None
        _write_private(self._config, _config_text(self._address))
        self._broker = iotcore.Broker(config_path=str(self._config))
        # A child that begins with Ctrl-C ignored goes on ignoring it: the goodbye needs a broker.
        usual = signal.signal(signal.SIGINT, signal.SIG_IGN)
        try:
            await self._launch()
        finally:
            signal.signal(signal.SIGINT, usual)

    async def watch(self) -> None:
        """Run until cancelled: a broker that died is started again."""
        while True:
            await asyncio.sleep(WATCH_S)
            if not self._broker.is_running:
                await self._launch()

    async def stop(self) -> None:
        """End the child and remove its configuration (it holds the password)."""
        await asyncio.to_thread(self._broker.stop)
        self._config.unlink(missing_ok=True)

    async def _launch(self) -> None:
        try:
            await asyncio.to_thread(self._broker.start)
        except OSError:
            raise UserError(
                [
                    (
                        f"broker port {self._address.host}:{self._address.port} is already taken: "
                        "stop the program that has it, choose another [broker] port, or name that "
                        "broker with embedded = false"
                    )
                ]
            ) from None
        except RuntimeError as error:
            why = _why_not(self._address) or str(error)
            raise UserError([f"the embedded broker did not start: {why}"]) from None


def _why_not(address: BrokerAddress) -> str:
    """What keeps anyone from listening at the broker's place; empty where nothing does."""
    place = (address.host, address.port)
    try:
        with socket.create_server(place), socket.create_connection(place, timeout=1.0):
            return ""
    except OSError as error:
        advice = "is the loopback interface up (ip link set lo up)?"
        return f"{address.host}:{address.port} can't be used: {error.strerror}; {advice}"


def _write_private(path: Path, text: str) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.unlink(missing_ok=True)
    handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    with os.fdopen(handle, "w", encoding="ascii") as file:
        file.write(text)


def _config_text(address: BrokerAddress) -> str:
    return f"""id = 0
[router]
id = 0
max_connections = 200
max_outgoing_packet_count = 200
max_segment_size = {SEGMENT_BYTES}
max_segment_count = 10
[v4.1]
name = "v4-1"
listen = "{address.host}:{address.port}"
next_connection_delay_ms = 1
[v4.1.connections]
connection_timeout_ms = 60000
max_payload_size = {PAYLOAD_BYTES_MAX}
max_inflight_count = 100
dynamic_filters = true
[v4.1.connections.auth]
{address.user} = "{address.password}"
"""
