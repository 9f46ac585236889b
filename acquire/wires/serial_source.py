"""The one door to serial ports: a tty read by the event loop itself, lost and found again.

Reads of a local tty by `add_reader` reach us within 0.1 ms of arrival. A dead descriptor reads
as ready for ever, so it is taken out of the loop first and closed before anything is said; the
descriptor must be closed before the device returns, or it comes back under another number.
"""

import asyncio
import contextlib
import errno
import fcntl
import logging
import os
import stat
import termios
from pathlib import Path
from typing import Final

import serial

from barrelfit.acquire.clock import Clock
from barrelfit.acquire.errors import UserError
from barrelfit.acquire.wires.busy_port import BusyError, FirstOpening
from barrelfit.acquire.wires.byte_source import Changed, LineSettings, Received
from barrelfit.acquire.wires.gauge_port import GaugePort, OtherAdapterError
from barrelfit.acquire.wires.pace import Pace
from barrelfit.acquire.wires.ports_found import ambiguous, group_of, holders
from barrelfit.drivers.arming import READ_BYTES
from barrelfit.rules.said import NOTHING, Said, said

LOOK_AGAIN_S: Final = 0.1
BACK_OFF_MAX_S: Final = 2.0
PTY_MAJORS: Final = range(136, 144)

log = logging.getLogger(__name__)


def check_port(gauge: str, port: str) -> Said | None:
    """Say what keeps a port from being opened; None when nothing does."""
    path = Path(port)
    if not path.exists():
        return said("gauge_not_plugged", gauge=gauge, port=port)
    if not stat.S_ISCHR(path.stat().st_mode):
        return said("of_gauge", gauge=gauge, what=said("no_serial_port", port=port))
    if not os.access(path, os.R_OK | os.W_OK):
        return said(
            "of_gauge", gauge=gauge, what=said("join_group", port=port, group=group_of(path))
        )
    either = ambiguous(port)
    return said("of_gauge", gauge=gauge, what=either) if either else None


def open_port(port: str, line: LineSettings) -> serial.Serial:
    """Open a tty for us alone; raises BusyError when another program has it, OSError when gone.

    A pseudo-terminal has no line to set: it is opened at 8N1, whatever `line` says.
    """
    pseudo = os.major(Path(port).stat().st_rdev) in PTY_MAJORS
    handle = serial.Serial()
    handle.port = port
    handle.baudrate = line.baud
    handle.bytesize = 8 if pseudo else line.bits
    handle.parity = "N" if pseudo else line.parity
    handle.stopbits = 1 if pseudo else line.stop
    handle.timeout = 0
    handle.exclusive = True
    handle.xonxoff = False  # with it on, two byte values would vanish from readings
    if not pseudo:
        handle.dtr = line.dtr
        handle.rts = line.rts
    try:
        handle.open()
    except serial.SerialException as error:
        busy = error.errno in {errno.EAGAIN, errno.EBUSY} or "exclusively lock" in str(error)
        if busy:
            others = tuple(holders(Path(port))) or said("another_program")
            raise BusyError(said("port_in_use", port=port, others=others), Path(port)) from None
        raise
    except termios.error as error:
        raise OSError(*error.args) from None
    _keep_others_out(handle.fileno(), termios.TIOCEXCL)
    if line.parity != "N" and not pseudo:
        _mark_wrong_parity(handle.fileno())
    return handle


def _mark_wrong_parity(descriptor: int) -> None:
    """Have the system put FF 00 in front of a byte that came with a wrong parity bit.

    pyserial has such bytes passed on as if they were right, and one flipped bit makes another
    digit. With the mark in front no line fits its profile; the mark is journaled with the bytes.
    """
    with contextlib.suppress(termios.error):  # a line that can't: the frame check is left
        attributes = termios.tcgetattr(descriptor)
        attributes[0] |= termios.INPCK | termios.PARMRK
        attributes[0] &= ~(termios.IGNPAR | termios.ISTRIP)
        termios.tcsetattr(descriptor, termios.TCSANOW, attributes)


def _keep_others_out(descriptor: int, how: int) -> None:
    """Have the kernel refuse a second opening (TIOCEXCL), or allow it again (TIOCNXCL).

    The lock that pyserial takes is only seen by programs that look for it. Root is never refused.
    """
    with contextlib.suppress(OSError):  # a line that knows no such mode
        fcntl.ioctl(descriptor, how)


class SerialSource:
    """One gauge's tty: opened, read on arrival, watched for loss, opened again.

    Args:
        port: the tty, by a name that lasts, and what is known of its adapter.
        line: how it is set.
        clock: stamps what arrives.
        received: hears of bytes.
        changed: hears of the port coming and going.
        first: how long another program may hold the port before we refuse to start.
    """

    def __init__(
        self,
        port: GaugePort,
        line: LineSettings,
        clock: Clock,
        received: Received,
        changed: Changed,
        first: FirstOpening | None = None,
    ) -> None:
        self._adapter = port
        self._port = port.name
        self._line = line
        self._clock = clock
        self._received = received
        self._changed = changed
        self._first = first or FirstOpening()
        self._handle: serial.Serial | None = None
        self._ended: asyncio.Event = asyncio.Event()
        self._reason = NOTHING
        self._pace = Pace()

    async def run(self) -> None:
        """Open, read and re-open until cancelled.

        Raises:
            UserError: another program had the port from the start and does not let go of it.
        """
        wait_s = LOOK_AGAIN_S
        before = looked = NOTHING
        while True:
            try:
                self._open()
            except (OSError, UserError) as error:
                reason = _in_words(error, self._port)
                sure = reason == looked or not isinstance(error, OtherAdapterError)
                looked = reason
                if sure and reason != before:
                    self._changed(self._clock.monotonic_ns(), False, reason)  # noqa: FBT003
                    before = reason
                self._first.failed(error, asyncio.get_running_loop().time())
                await asyncio.sleep(wait_s)
                # A path that is there but will not open is not asked ten times a second.
                gone = isinstance(error, OSError) and error.errno == errno.ENOENT
                wait_s = LOOK_AGAIN_S if gone else min(wait_s * 2, BACK_OFF_MAX_S)
                continue
            self._first.opened()
            wait_s, before, looked = LOOK_AGAIN_S, NOTHING, NOTHING
            try:
                await self._ended.wait()
            finally:
                self._close()
            self._changed(self._clock.monotonic_ns(), False, self._reason)  # noqa: FBT003
            before = self._reason

    def write(self, data: bytes) -> bool:
        """Send bytes; False when the port is not open, takes nothing now, or was lost."""
        if self._handle is None:
            return False
        try:
            return os.write(self._handle.fileno(), data) == len(data)
        except BlockingIOError:
            return False  # the far side takes nothing now; that alone is no loss of the gauge
        except (OSError, termios.error) as error:
            self._end(_in_words(error, self._port))
            return False

    def _open(self) -> None:
        found = self._adapter.at(Path(self._port).resolve())
        self._adapter.check(found)
        self._handle = open_port(self._port, self._line)
        now = self._adapter.at(Path(self._port).resolve())
        if found != now and not (found and now and found.is_plugging_of(now)):
            self._close()
            raise OtherAdapterError([said("port_its_adapter_just", port=self._port)])
        self._adapter.opened(now)
        self._ended.clear()
        self._watch(self._handle)
        self._changed(self._clock.monotonic_ns(), True, said("port_open"))  # noqa: FBT003

    def _ready(self) -> None:
        handle = self._handle
        if handle is None:
            return
        t_ns = self._clock.monotonic_ns()
        try:
            data = os.read(handle.fileno(), READ_BYTES)
        except BlockingIOError:
            return
        except (OSError, termios.error) as error:
            self._end(_in_words(error, self._port))
            return
        if not data:
            self._end(said("gauge_or_cable_gone"))
            return
        if rest_s := self._pace.took(t_ns, len(data)):
            loop = asyncio.get_running_loop()
            loop.remove_reader(handle.fileno())
            loop.call_later(rest_s, self._watch, handle)
        self._received(t_ns, data)

    def _watch(self, handle: serial.Serial) -> None:
        """Have the loop tell of bytes, unless the port was lost meanwhile."""
        if handle is self._handle and not self._ended.is_set():
            asyncio.get_running_loop().add_reader(handle.fileno(), self._ready)

    def _end(self, reason: Said) -> None:
        self._reason = reason
        if self._handle is not None:
            asyncio.get_running_loop().remove_reader(self._handle.fileno())
        self._ended.set()

    def _close(self) -> None:
        handle, self._handle = self._handle, None
        if handle is None:
            return
        asyncio.get_running_loop().remove_reader(handle.fileno())
        try:
            _keep_others_out(handle.fileno(), termios.TIOCNXCL)
            handle.close()
        except (OSError, termios.error) as error:
            log.debug("closing %s: %s", self._port, error)


def _in_words(error: Exception, port: str) -> Said:
    """One clause for the board, whatever of the four exception kinds a loss raised."""
    number = getattr(error, "errno", None)
    if isinstance(error, UserError):
        return error.told if isinstance(error, BusyError) else error.problems[0]
    if number in {errno.EIO, errno.ENODEV, errno.ENXIO, errno.EBADF}:
        return said("gauge_or_cable_gone")
    if number == errno.ENOENT or not Path(port).exists():
        return said("port_not_there", port=port)
    if number == errno.EACCES:
        return said("no_permission", port=port)
    return said("of_port", name=port, what=str(error))
