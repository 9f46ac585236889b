"""What a person says of the gauges' ports beside the bench file, when a bench is started."""

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

from barrelfit.acquire.inputs.bench_file import BenchFile
from barrelfit.acquire.wires.busy_port import FirstOpening
from barrelfit.acquire.wires.gauge_port import GaugePort
from barrelfit.acquire.wires.sources import check_source, is_away, shared_ports
from barrelfit.rules.said import Said, said


@dataclass(frozen=True, slots=True)
class Ports:
    """Which ports are the gauges', and whether they must be free.

    `taken` are the ports at which a person says that gauges are, by gauge id. A gauge that is away
    when the bench starts is told as lost, and read when it comes; with `wait` another program may
    hold its port at the start as well.
    """

    taken: Mapping[str, str] = field(default_factory=lambda: MappingProxyType({}))
    wait: bool = False

    def problems(self, bench: BenchFile) -> list[Said]:
        """What keeps a bench's gauges and its pedal from being read."""
        taken = self.taken
        ports = {
            first.id: next((taken[t.id] for t in (first, *others) if t.id in taken), first.port)
            for first, *others in bench.by_port
        }
        unknown = self.taken.keys() - {table.id for table in bench.gauge}
        asked = [*ports.items(), *([("pedal", bench.pedal.port)] if bench.pedal else ())]
        return [
            *(problem for gauge, port in asked if (problem := self._problem(gauge, port))),
            *shared_ports(ports),
            *(said("take_no_gauge", gauge=gauge) for gauge in unknown),
        ]

    def first_opening(self, busy_s: float) -> FirstOpening:
        """How long another program may hold a port before starting is refused.

        Args:
            busy_s: the bench file's word on it, in s.
        """
        return FirstOpening(math.inf if self.wait else busy_s)

    def _problem(self, gauge: str, port: str) -> Said | None:
        return None if is_away(port) else check_source(gauge, port)


def not_there(ports: Mapping[str, GaugePort], gauge: str, port: str) -> Said | None:
    """Why what is at a port can't be taken for a gauge's on a running bench; None where it can.

    Args:
        ports: each gauge's port now.
        gauge: the gauge's id.
        port: the port's name.
    """
    if gauge not in ports:
        return said("no_such_gauge", gauge=gauge, gauges=tuple(sorted(ports)))
    if is_away(port):
        return said("nothing_plugged", port=port)
    names = {own.gauge: own.name for own in ports.values()} | {ports[gauge].gauge: port}
    if shared := shared_ports(names):
        return shared[0]
    return None if port == ports[gauge].name else check_source(gauge, port)
