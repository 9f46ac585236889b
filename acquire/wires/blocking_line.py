"""Lines that a thread reads: device servers, and local ports where no event loop can watch them.

`socket://host:port` is raw TCP, `rfc2217://host:port` speaks RFC 2217. A raw TCP line can't set
rate and parity: the server's own settings count. RFC 2217 can, but a server may refuse;
`ign_set_control` makes that no error.
"""

import contextlib
import errno
import logging
import socket
import sys
from typing import Final
from urllib.parse import urlsplit

import serial

from barrelfit.acquire.errors import UserError
from barrelfit.acquire.wires.byte_source import LineSettings
from barrelfit.acquire.wires.thread_source import LineLostError, ThreadLine
from barrelfit.rules.said import Said, said

READ_S: Final = 0.2
CONNECT_S: Final = 3.0
CHUNK_BYTES: Final = 4096
KEEPALIVE_S: Final = 5
SCHEMES: Final = ("socket", "rfc2217")

_NO_ANSWER: Final = "nobody answers there as RFC 2217 has it"

log = logging.getLogger(__name__)
# pyserial lets through what its layers raise: on POSIX that is `termios.error`, no OSError.
if sys.platform == "win32":
    _TERMIOS: tuple[type[Exception], ...] = ()
else:
    import termios

    _TERMIOS = (termios.error,)
_ERRORS: Final = (OSError, serial.SerialException, ValueError, TypeError, *_TERMIOS)


def is_server(port: str) -> bool:
    """Whether a port's name is a device server's."""
    return port.partition("://")[0] in SCHEMES and "://" in port


def check_server(gauge: str, port: str) -> Said | None:
    """Say what is wrong with a device server's name; None for nothing."""
    parts = urlsplit(port)
    try:
        good = bool(parts.hostname and parts.port)
    except ValueError:
        good = False
    if good:
        return None
    return said(
        "of_gauge", gauge=gauge, what=said("server_malformed", port=port, scheme=parts.scheme)
    )


def open_server(port: str, line: LineSettings) -> ThreadLine:
    """Open a line behind a device server; blocks for at most a few seconds.

    Raises:
        UserError: the name is wrong.
        OSError: the server can't be reached or refuses.
    """
    if problem := check_server("", port):
        raise UserError([problem])
    if port.startswith("socket://"):
        return SocketLine(port)
    return PortLine(port, line)


def _lost(error: Exception | None = None) -> LineLostError:
    log.debug("%r", error)  # a library's own words mean nothing at a bench
    cause = _cause(error)
    return LineLostError(
        said("server_gone_why", what=str(cause.strerror)) if cause else said("server_gone")
    )


def _cause(error: BaseException | None) -> OSError | None:
    """The system's error behind a library's, which may have been raised while it was handled."""
    while error is not None:
        if isinstance(error, OSError) and error.errno and error.strerror:
            return error
        error = error.__cause__ or error.__context__
    return None


class SocketLine:
    """A raw TCP line."""

    def __init__(self, port: str) -> None:
        parts = urlsplit(port)
        address = (parts.hostname or "", parts.port or 0)
        try:
            self._socket = socket.create_connection(address, CONNECT_S)
        except OSError as error:
            raise OSError(error.errno, f"{port}: {error.strerror or error}") from None
        self._socket.settimeout(READ_S)
        self._socket.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
        self._watch_silence()

    def _watch_silence(self) -> None:
        """Have the system find out within 15 s that a silent server is gone."""
        self._socket.setsockopt(socket.SOL_SOCKET, socket.SO_KEEPALIVE, 1)
        for name, value in (
            ("TCP_KEEPIDLE", KEEPALIVE_S),
            ("TCP_KEEPINTVL", KEEPALIVE_S),
            ("TCP_KEEPCNT", 2),
        ):
            if hasattr(socket, name):
                self._socket.setsockopt(socket.IPPROTO_TCP, getattr(socket, name), value)

    def read(self) -> bytes:
        """What arrived; empty for nothing yet. Raises LineLostError when the server is gone."""
        try:
            data = self._socket.recv(CHUNK_BYTES)
        except TimeoutError:
            return b""
        except OSError as error:
            raise _lost(error) from None
        if not data:
            raise _lost()
        return data

    def write(self, data: bytes) -> None:
        """Send bytes. Raises LineLostError when the server is gone."""
        try:
            self._socket.sendall(data)
        except OSError as error:
            raise _lost(error) from None

    def close(self) -> None:
        """Close the connection."""
        with contextlib.suppress(OSError):
            self._socket.close()


class PortLine:
    """A port that pyserial opens by its name: a local one, or one behind an RFC 2217 server."""

    def __init__(self, port: str, line: LineSettings) -> None:
        # A plain RFC 2217 opening fails where the server can't set control lines.
        options = "?timeout=3&ign_set_control" if "://" in port and "?" not in port else ""
        try:
            self._handle = serial.serial_for_url(port + options, do_not_open=True)
            self._handle.baudrate = line.baud
            self._handle.bytesize = line.bits
            self._handle.parity = line.parity
            self._handle.stopbits = line.stop
            self._handle.timeout = READ_S
            self._handle.open()
        except _ERRORS as error:
            cause = _cause(error)
            log.debug("%r", error)
            why = cause.strerror if cause else _NO_ANSWER if "://" in port else str(error)
            raise OSError(cause.errno if cause else errno.EIO, f"{port}: {why}") from None

    def read(self) -> bytes:
        """What arrived; empty for nothing yet. Raises LineLostError when the server is gone."""
        try:
            first = self._handle.read(1)
            # Only what is there: a longer read would throw it away when the line is lost.
            return first + self._handle.read(self._handle.in_waiting) if first else b""
        except _ERRORS as error:
            raise _lost(error) from None

    def write(self, data: bytes) -> None:
        """Send bytes. Raises LineLostError when the server is gone."""
        try:
            self._handle.write(data)
        except _ERRORS as error:
            raise _lost(error) from None

    def close(self) -> None:
        """Close the connection."""
        with contextlib.suppress(*_ERRORS):
            self._handle.close()
