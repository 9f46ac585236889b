"""Where a bench's MQTT broker is, how to log in, and how the embedded one is set."""

import os
import secrets
import socket
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from barrelfit.acquire.errors import UserError
from barrelfit.acquire.private_files import write_private
from barrelfit.rules.said import said

HOST: Final = "127.0.0.1"
USER: Final = "barrelfit"
SHOPS_PORT: Final = 1883
"""Where a shop's broker usually listens."""
KEPT_NAME: Final = "broker-password"
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
    write_private(path, password + "\n")
    return password


def free_port() -> int:
    """A port of this machine that nobody has."""
    with socket.socket() as probe:
        probe.bind((HOST, 0))
        return int(probe.getsockname()[1])


def is_free(port: int) -> bool:
    """Whether a port of this machine can be listened at."""
    with socket.socket() as probe:
        if os.name == "posix":  # what was closed a moment ago does not hold a port
            probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind((HOST, port))
        except OSError:
            return False
        return True


def check_login(user: str, password: str) -> None:
    """Refuse a login that the broker's configuration can't hold; raises UserError."""
    if any(mark in text for text in (user, password) for mark in '"\\\n') or not user.isalnum():
        raise UserError([said("broker_user")])


def config_text(address: BrokerAddress) -> str:
    """The embedded broker's configuration; it holds the password."""
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
