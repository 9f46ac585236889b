"""Inch and millimetre mixed within one run: each reading is exact, and the change is told."""

from barrelfit.acquire.bench.gauge import BenchGauge
from barrelfit.acquire.inputs.setup import setup_of
from barrelfit.acquire.journal.events import ReadingTaken, UnitChanged
from barrelfit.acquire.redo.redo import Redo
from barrelfit.acquire.redo.redo_journal import wire_of
from barrelfit.acquire.wires.gauge_port import GaugePort
from tests.acquire.recorded import one_gauge
from tests.acquire.test_redo_wire import Records, Ticks


def test_a_unit_button_pressed_in_a_run_is_told_and_nothing_is_converted_twice():
    document = one_gauge("decimal-unit-suffix")
    records = Records(document)
    gauge = BenchGauge(GaugePort("g", "/dev/x"), wire_of(document, "g"), records, Ticks())
    for number, line in enumerate((b"+025.400 mm\r", b"+1.00000 in\r", b"+025.410 mm\r"), start=1):
        gauge.received(number * 1_000_000_000, line)
    events = [r.event for r in records.all]
    lengths = [e.length_nm for e in events if isinstance(e, ReadingTaken)]
    assert lengths == [25_400_000, 25_400_000, 25_410_000]
    changes = [e for e in events if isinstance(e, UnitChanged)]
    assert changes == [UnitChanged("g", "mm", "in"), UnitChanged("g", "in", "mm")]
    redo = Redo(setup_of, wire_of, "0.1.0")
    redo.take(records.all)
    assert redo.result().difference is None
