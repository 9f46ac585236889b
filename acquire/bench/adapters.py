"""Which adapter each gauge is on, as the session's record tells it."""

from collections.abc import Mapping
from dataclasses import asdict

from barrelfit.acquire.journal.events import Event
from barrelfit.acquire.journal.port_events import AdapterChosen, AdapterTaken, NameShared
from barrelfit.acquire.wires.gauge_port import GaugePort
from barrelfit.acquire.wires.usb_tree import Plugged


def adapter_taken(port: GaugePort) -> AdapterTaken | None:
    """The record of the adapter behind an opened port; None where it is no USB adapter."""
    if port.known is None:
        return None
    return AdapterTaken(
        gauge=port.gauge, port=port.name, chosen_by=port.chosen_by, **asdict(port.known)
    )


def recall_adapter(ports: Mapping[str, GaugePort], event: Event) -> None:
    """Take a record of the same session's earlier run."""
    if isinstance(event, AdapterChosen | AdapterTaken | NameShared) and event.gauge not in ports:
        return  # the bench was set up otherwise since
    if isinstance(event, AdapterChosen):
        ports[event.gauge].choose(event.port, event.who)
    elif isinstance(event, AdapterTaken):
        port = ports[event.gauge]
        if event.chosen_by and event.chosen_by != port.chosen_by:
            port.choose(event.port, event.chosen_by)
        port.opened(
            Plugged(
                usb=event.usb,
                serial_number=event.serial_number,
                socket=event.socket,
                plug=event.plug,
                since_us=event.since_us,
                interface=event.interface,
            )
        )
    elif isinstance(event, NameShared):
        ports[event.gauge].shared = tuple(event.adapters.split(" and "))
