"""How a board finds a bench on this machine: where its bus is, and the keys that it needs there.

A running bench keeps this in the session folder as `BENCH.link`, readable by its user alone; the
board that it started itself gets the same through its pipe, with a key of its own. Nothing of it
ever goes over a bus.
"""

import os
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Final

import msgspec

from barrelfit.acquire.bus.broker import BrokerAddress
from barrelfit.acquire.bus.proof import new_key
from barrelfit.acquire.private_files import is_ours, write_private

SUFFIX: Final = ".link"
LINK_BYTES_MAX: Final = 4_096
BOARD: Final = "board"
SCREEN: Final = "screen"


class BenchLink(msgspec.Struct, frozen=True):
    """One bench's bus and keys.

    Attributes:
        bench: its name.
        host: of its broker, with `port`, `user` and `password`.
        key: what its daemon proves its words with.
        device: the name under which commands are sent, with `device_key` to prove them.
    """

    bench: str
    host: str
    port: int
    user: str
    password: str
    key: bytes
    device: str
    device_key: bytes

    @property
    def address(self) -> BrokerAddress:
        """Where the bench's bus is."""
        return BrokerAddress(self.host, self.port, self.user, self.password)


LINKS: Final = msgspec.json.Decoder(BenchLink)


@dataclass(frozen=True, slots=True)
class BenchKeys:
    """A daemon's keys, new each time it starts: its own, and one for each kind of device."""

    own: bytes = field(default_factory=new_key)
    devices: Mapping[str, bytes] = field(
        default_factory=lambda: {BOARD: new_key(), SCREEN: new_key()}
    )

    def link(self, bench: str, address: BrokerAddress, device: str) -> bytes:
        """What one device needs to know of the bench, as one line of JSON.

        Args:
            bench: its name.
            address: where its bus is.
            device: `BOARD` for the one the daemon starts, `SCREEN` for any other of its user.
        """
        link = BenchLink(
            bench,
            address.host,
            address.port,
            address.user,
            address.password,
            self.own,
            device,
            self.devices[device],
        )
        return msgspec.json.encode(link)


def write_link(folder: Path, bench: str, link: bytes) -> None:
    """Keep a bench's link where other boards of its user find it; raises OSError."""
    write_private(folder / f"{bench}{SUFFIX}", link.decode())


def has_link(folder: Path, bench: str) -> bool:
    """Whether a bench's link is there, or can't be: its session folder is away."""
    return (folder / f"{bench}{SUFFIX}").exists() or not folder.is_dir()


def remove_link(folder: Path, bench: str) -> None:
    """Take a bench's link away: it does not run any more."""
    (folder / f"{bench}{SUFFIX}").unlink(missing_ok=True)


def links_in(folder: Path) -> dict[str, BenchLink]:
    """The benches that run, or ran last, with their sessions in a folder, by name.

    A file that others than its user could read or have written is passed over.
    """
    found: dict[str, BenchLink] = {}
    for path in sorted(folder.glob(f"*{SUFFIX}")):
        try:
            link = LINKS.decode(_private_bytes(path))
        except (OSError, msgspec.MsgspecError):
            continue
        if path.name == f"{link.bench}{SUFFIX}":
            found[link.bench] = link
    return found


def _private_bytes(path: Path) -> bytes:
    """The bytes of a file that is this user's alone; raises OSError."""
    handle = os.open(path, os.O_RDONLY | getattr(os, "O_NOFOLLOW", 0))
    try:
        status = os.fstat(handle)
        if not is_ours(status):
            message = f"{path}: others can read it"
            raise PermissionError(message)
        return os.read(handle, LINK_BYTES_MAX)
    finally:
        os.close(handle)
