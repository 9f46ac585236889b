"""A gauge's wire as a bench file sets it up: live and redo come through here. Pure."""

from dataclasses import replace

from barrelfit.acquire.inputs.bench_file import GaugeTable
from barrelfit.drivers.ask import AskedWire
from barrelfit.drivers.coded import said
from barrelfit.drivers.decode import Wire
from barrelfit.drivers.errors import DriverError
from barrelfit.drivers.profile import PortSettings, Profile


def profile_on_bench(profile: Profile, table: GaugeTable) -> Profile:
    """The profile with what the bench file says otherwise of line and unit.

    Raises:
        DriverError: the gauge sends its unit itself, or has none of that name; or it measures
            lengths and is to weigh, or the other way round.
    """
    if profile.weighs != (table.measures == "mass"):
        if profile.weighs:
            raise DriverError([said("measures_no_length", id=profile.id)])
        raise DriverError([said("weighs_nothing", id=profile.id)])
    if table.unit is not None:
        profile = profile.in_unit(table.unit)
    return replace(profile, port=_port(profile.port, table))


def wire_on_bench(profile: Profile, table: GaugeTable, *others: GaugeTable) -> Wire:
    """The wire of a gauge whose profile came through `profile_on_bench`.

    Args:
        profile: the gauge's.
        table: the first gauge of the port.
        others: those that hang on the same port, told apart by their channels.
    """
    behind = {one.channel: one.id for one in (table, *others)} if others else {}
    if profile.ask is not None:
        return AskedWire(
            profile,
            profile.ask,
            table.ask_ms,
            port=profile.port,
            channel=table.channel,
            behind=behind,
        )
    return Wire(profile, port=profile.port, channel=table.channel, behind=behind)


def _port(port: PortSettings, table: GaugeTable) -> PortSettings:
    line = table.line
    if line is None:
        return port
    return replace(
        port,
        baud=line.baud or port.baud,
        bits=line.bits or port.bits,
        parity=line.parity or port.parity,
        stop=line.stop or port.stop,
    )
