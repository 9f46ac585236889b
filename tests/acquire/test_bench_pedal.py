"""The pedal on the bench: reports become journaled presses, an unplugged pedal presses nothing."""

from barrelfit.acquire.bench.pedal import BenchPedal
from barrelfit.drivers.pedal import Pedal
from barrelfit.rules.said import said

MS = 1_000_000
DOWN, UP = bytes.fromhex("0000050000000000"), bytes(8)


class Recorder:
    def __init__(self):
        self.events = []

    def record(self, event, *, t_ns):
        self.events.append((t_ns // MS, event.action))


class Ticks:
    now_ns = 0

    def monotonic_ns(self):
        return self.now_ns


def bench():
    actions = {"press": "next", "long": "again", "double": "undo"}
    recorder, clock = Recorder(), Ticks()
    return BenchPedal(Pedal(actions, 700, 350), "usb:1209:0002", recorder, clock), recorder, clock


def test_presses_are_journaled():
    pedal, recorder, clock = bench()
    pedal.changed(0, present=True, reason="line open")
    for ms, data in ((1000, DOWN), (1100, UP), (1300, DOWN), (1400, UP), (3000, DOWN)):
        pedal.received(ms * MS, data)
    clock.now_ns = 3700 * MS
    pedal.tick()
    assert recorder.events == [(1300, "undo"), (3700, "again")]


def test_a_pedal_that_goes_while_down_presses_nothing(caplog):
    pedal, recorder, clock = bench()
    pedal.received(0, DOWN)
    pedal.changed(100 * MS, present=False, reason=said("gauge_or_cable_gone"))
    clock.now_ns = 5000 * MS
    pedal.tick()
    assert recorder.events == []
    assert "foot pedal" in caplog.text
