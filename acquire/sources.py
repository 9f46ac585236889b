"""Which byte source carries a gauge: chosen by the form of its port's name."""

from acquire.clock import Clock
from acquire.ports import ByteSource
from acquire.serial_source import Changed, LineSettings, Received, SerialSource, check_port
from drivers.profile import PortSettings, Profile


def check_source(gauge: str, port: str) -> str | None:
    """Say in one sentence what keeps a gauge's port from being opened; None when nothing does."""
    return check_port(gauge, port)


def source_for(
    port: str, profile: Profile, clock: Clock, received: Received, changed: Changed
) -> ByteSource:
    """The byte source of a gauge's port."""
    return SerialSource(port, line_settings(profile.port), clock, received, changed)


def line_settings(port: PortSettings) -> LineSettings:
    """The serial line's settings of a profile."""
    return LineSettings(
        baud=port.baud,
        bits=7 if port.bits == 7 else 8,  # noqa: PLR2004
        parity={"none": "N", "even": "E", "odd": "O"}[port.parity],
        stop=2 if port.stop == 2 else 1,  # noqa: PLR2004
        dtr=port.dtr,
        rts=port.rts,
    )
