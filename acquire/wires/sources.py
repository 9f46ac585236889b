"""Which byte source carries a gauge: chosen by the form of its port's name.

/dev/serial/by-id/…                    a local tty, watched by the event loop
socket://host:port, rfc2217://…        a device server, read by a thread
usb:1209:0001, usb:1209:0001:SERIAL    a USB gauge, read by a thread
"""

import os
from collections.abc import Mapping
from functools import partial
from pathlib import Path
from typing import Final

from barrelfit.acquire.clock import Clock
from barrelfit.acquire.wires.blocking_line import PortLine, check_server, is_server, open_server
from barrelfit.acquire.wires.busy_port import FirstOpening
from barrelfit.acquire.wires.byte_source import ByteSource, Changed, LineSettings, Received
from barrelfit.acquire.wires.gauge_port import GaugePort
from barrelfit.acquire.wires.thread_source import ThreadSource
from barrelfit.drivers.profile import PortSettings, Profile
from barrelfit.rules.said import Said, said

USB: Final = "usb:"
LOOP_WATCHES: Final = os.name == "posix"
"""Whether the event loop can watch a local port; Windows' can't, and was not tried."""


def check_source(gauge: str, port: str) -> Said | None:
    """Say what keeps a gauge's port from being opened; None when nothing does."""
    if is_server(port):
        return check_server(gauge, port)
    if port.startswith(USB):
        from barrelfit.acquire.wires.usb_line import check_usb  # noqa: PLC0415  only benches with USB need it

        return check_usb(gauge, port)
    if not LOOP_WATCHES:
        return None  # the port's name means nothing until it is opened
    from barrelfit.acquire.wires.serial_source import check_port  # noqa: PLC0415  POSIX only

    return check_port(gauge, port)


def is_away(port: str) -> bool:
    """Whether nothing is plugged in under a port's name; a device server is told apart later."""
    if port.startswith(USB):
        from barrelfit.acquire.wires.usb_line import is_away as nothing_plugged  # noqa: PLC0415

        return nothing_plugged(port)
    return not is_server(port) and LOOP_WATCHES and not Path(port).exists()


def shared_ports(ports: Mapping[str, str]) -> list[Said]:
    """What is said of each port that two gauges have under different names.

    Args:
        ports: each gauge's port.
    """
    at: dict[str, list[str]] = {}
    for gauge, port in ports.items():
        device = port if is_server(port) or port.startswith(USB) else str(Path(port).resolve())
        at.setdefault(device, []).append(gauge)
    return [
        said("at_one_port", gauges=tuple(map(repr, gauges)), port=device)
        for device, gauges in at.items()
        if len(gauges) > 1
    ]


def source_for(
    port: GaugePort,
    profile: Profile,
    clock: Clock,
    received: Received,
    changed: Changed,
    first: FirstOpening | None = None,
) -> ByteSource:
    """The byte source of a gauge's port; `first` says how long another program may hold it."""
    line, name = line_settings(profile.port), port.name
    if is_server(name):
        return ThreadSource(partial(open_server, name, line), clock, received, changed, first)
    if name.startswith(USB):
        return _usb_source(port, clock, received, changed, first, types=profile.is_keyboard)
    if not LOOP_WATCHES:
        return ThreadSource(partial(PortLine, name, line), clock, received, changed, first)
    from barrelfit.acquire.wires.serial_source import SerialSource  # noqa: PLC0415  POSIX only

    return SerialSource(port, line, clock, received, changed, first)


def typing_source(
    port: GaugePort, clock: Clock, received: Received, changed: Changed, first: FirstOpening
) -> ByteSource:
    """The source of a USB device that types, as a foot pedal does."""
    return _usb_source(port, clock, received, changed, first, types=True)


def _usb_source(
    port: GaugePort,
    clock: Clock,
    received: Received,
    changed: Changed,
    first: FirstOpening | None,
    *,
    types: bool,
) -> ByteSource:
    from barrelfit.acquire.wires.usb_line import UsbLine  # noqa: PLC0415  only benches with USB need it

    return ThreadSource(partial(UsbLine, port, types=types), clock, received, changed, first)


def line_settings(port: PortSettings) -> LineSettings:
    """The serial line's settings of a profile."""
    return LineSettings(
        baud=port.baud,
        bits=7 if port.is_seven_bit else 8,
        parity={"none": "N", "even": "E", "odd": "O"}[port.parity],
        stop=2 if port.stop == 2 else 1,  # noqa: PLR2004
        dtr=port.dtr,
        rts=port.rts,
    )
