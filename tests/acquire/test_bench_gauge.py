"""One gauge on the bench: bytes to journaled readings, and its state."""

import asyncio
from collections.abc import Callable

import pytest

from barrelfit.acquire.bench.gauge import BenchGauge
from barrelfit.acquire.inputs.bench_file import bench_file
from barrelfit.acquire.inputs.gauge_profiles import profile_of_text, profile_text
from barrelfit.acquire.inputs.gauge_wire import profile_on_bench, wire_on_bench
from barrelfit.acquire.journal.events import (
    FaultSeen,
    ReadingTaken,
    WireNote,
    WireOpened,
    WireSent,
    to_input,
)
from barrelfit.acquire.journal.port_events import (
    AdapterTaken,
    BytesLeftOut,
    GaugeStalled,
    NameShared,
)
from barrelfit.acquire.wires.gauge_port import GaugePort
from barrelfit.rules.events import GaugeChanged
from barrelfit.rules.said import written
from tests.acquire.daemon_parts import Heard, Ticks
from tests.acquire.usb_folder import UsbFolder
from tests.spoken import text_of

MS = 1_000_000
BENCH = """schema = 1
bench = "b"
sheet = "flat-four-85"
[set]
job = "j"
[[gauge]]
id = "m"
profile = "{profile}"
port = "/dev/ttyX"
measures = "outside"
movement = "following"
"""


class Wired:
    def __init__(
        self,
        profile: str = "signed-decimal-streaming-crlf",
        port: GaugePort | None = None,
        life: Callable[[], int] = lambda: 0,
    ) -> None:
        table = bench_file(BENCH.format(profile=profile), "b").gauge[0]
        made = profile_on_bench(profile_of_text(profile_text(profile), profile), table)
        self.heard, self.clock = Heard(), Ticks()
        self.port = port or GaugePort("m", "/dev/ttyX")
        wire = wire_on_bench(made, table)
        self.gauge = BenchGauge(self.port, wire, self.heard, self.clock, life)
        self.line = next(e.raw for e in made.examples if "length_nm" in e.outcomes[0])

    @property
    def states(self) -> list[str]:
        return [event.state for event in self.heard.of(GaugeChanged)]


def streaming() -> Wired:
    wired = Wired()
    wired.gauge.changed(1_000 * MS, present=True, reason=written("port open"))
    return wired


def lengths(wired: Wired) -> list[int]:
    return [event.length_nm for event in wired.heard.of(ReadingTaken)]


def test_a_gauge_is_lost_then_present_then_answering():
    wired = Wired()
    assert wired.gauge.health().state == "lost"
    wired.gauge.changed(1_000 * MS, present=True, reason=written("port open"))
    assert wired.gauge.health().state == "present"
    assert wired.gauge.health().age_ms is None
    wired.gauge.received(1_100 * MS, wired.line)
    wired.clock.now_ns = 1_350 * MS
    health = wired.gauge.health()
    assert (health.state, health.age_ms) == ("answering", 250)
    wired.gauge.changed(1_400 * MS, present=False, reason=written("cable gone"))
    assert text_of(wired.gauge.health().reason) == "cable gone"
    assert wired.states == ["present", "answering", "lost"]
    assert wired.heard.of(WireOpened) == [WireOpened("m", "/dev/ttyX")]


def test_the_state_is_said_before_the_reading_that_changed_it():
    wired = streaming()
    wired.gauge.received(1_100 * MS, wired.line)
    kinds = [type(event) for event in wired.heard.events]
    assert kinds[-2:] == [GaugeChanged, ReadingTaken]


def test_every_byte_is_in_exactly_one_record():
    wired = streaming()
    sent = b"12\r\n" + wired.line + b"\x00\xff?\r\n" + wired.line[:4]
    for place, byte in enumerate(sent):
        wired.gauge.received(1_100 * MS + place * MS, bytes([byte]))
    wired.gauge.changed(2_000 * MS, present=False, reason=written("gone"))
    told = [e for e in wired.heard.events if isinstance(e, ReadingTaken | FaultSeen | WireNote)]
    assert bytes.fromhex("".join(event.raw for event in told)) == sent


def test_a_frame_that_waits_too_long_for_its_rest_is_given_up():
    wired = streaming()
    wired.gauge.received(1_100 * MS, wired.line[:4])
    wired.clock.now_ns = 60_000 * MS
    wired.gauge.tick()
    (fault,) = wired.heard.of(FaultSeen)
    assert bytes.fromhex(fault.raw) == wired.line[:4]
    assert lengths(wired) == []


def test_readings_that_came_together_are_spread_over_the_time_since_the_last():
    wired = streaming()
    wired.gauge.received(1_100 * MS, wired.line)
    wired.gauge.received(1_400 * MS, wired.line * 3)
    assert [event.at_ns for event in wired.heard.of(ReadingTaken)] == [
        0,
        1_200 * MS,
        1_300 * MS,
        1_400 * MS,
    ]


def test_readings_that_came_together_after_a_pause_have_no_better_times():
    wired = streaming()
    wired.gauge.received(1_100 * MS, wired.line)
    wired.gauge.received(90_000 * MS, wired.line * 2)
    assert [event.at_ns for event in wired.heard.of(ReadingTaken)] == [0, 0, 0]


def test_readings_are_never_spread_over_a_time_without_a_cable():
    wired = streaming()
    wired.gauge.received(1_100 * MS, wired.line)
    wired.gauge.changed(1_200 * MS, present=False, reason=written("gone"))
    wired.gauge.changed(1_500 * MS, present=True, reason=written("port open"))
    wired.gauge.received(1_600 * MS, wired.line * 2)
    assert [event.at_ns for event in wired.heard.of(ReadingTaken)] == [0, 0, 0]


def test_the_values_of_one_line_were_taken_together():
    wired = Wired("three-values-line")
    wired.gauge.changed(1_000 * MS, present=True, reason=written("port open"))
    line = wired.line
    wired.gauge.received(1_100 * MS, line)
    wired.gauge.received(1_300 * MS, line * 2)
    times = [event.at_ns for event in wired.heard.of(ReadingTaken)]
    values = len(times) // 3
    assert values > 1
    assert times == [0] * values + [1_200 * MS] * values + [1_300 * MS] * values


class Source:
    """A cable that takes or refuses what is written."""

    def __init__(self, takes: bool) -> None:
        self.takes, self.sent = takes, []

    def write(self, data: bytes) -> bool:
        self.sent.append(data)
        return self.takes


async def test_a_gauge_that_answers_only_when_asked_is_asked_while_its_port_is_there():
    wired = Wired("signed-decimal-on-request")
    there, gone = Source(takes=True), Source(takes=False)
    task = asyncio.create_task(wired.gauge.ask(gone))
    await asyncio.sleep(0.02)
    assert gone.sent == []  # no port, nothing to ask
    wired.gauge.changed(1_000 * MS, present=True, reason=written("port open"))
    await asyncio.sleep(0.02)
    task.cancel()
    assert gone.sent
    assert wired.heard.of(WireSent) == []  # what was not written was not sent
    task = asyncio.create_task(wired.gauge.ask(there))
    await asyncio.sleep(0.02)
    task.cancel()
    assert [event.raw for event in wired.heard.of(WireSent)] == [there.sent[0].hex()]


async def test_a_gauge_that_sends_by_itself_is_never_asked():
    source = Source(takes=True)
    await asyncio.wait_for(streaming().gauge.ask(source), 1)
    assert source.sent == []


def test_another_gauge_on_the_port_is_told_and_its_readings_judge_nothing():
    wired = Wired("signed-decimal-cr")
    wired.gauge.changed(1_000 * MS, present=True, reason=written("port open"))
    wired.gauge.received(2_000 * MS, b"SY233.1\r")
    wired.gauge.received(3_000 * MS, b"+012.345\r")
    wired.gauge.changed(4_000 * MS, present=False, reason=written("the gauge or its cable is gone"))
    wired.gauge.changed(5_000 * MS, present=True, reason=written("port open"))
    wired.gauge.received(6_000 * MS, b"SY233.2\r")
    wired.gauge.received(7_000 * MS, b"+060.005\r")
    ours, strange = wired.heard.of(ReadingTaken)
    assert to_input(ours, 0) is not None
    assert to_input(strange, 0) is None
    (fault,) = wired.heard.of(FaultSeen)
    assert fault.fault == "another gauge"
    assert wired.states[-1] == "present"
    assert "it calls itself 'SY233.2', but 'SY233.1' before" in text_of(wired.gauge.health().reason)


def test_a_name_that_comes_to_be_shared_is_told_while_the_gauge_is_read(tmp_path):
    usb = UsbFolder(tmp_path)
    usb.plug("1-2")
    port = usb.port("/dev/serial/by-id/usb-adapter_SN1")
    wired = Wired(port=port)
    port.opened(usb.at("1-2"))
    wired.gauge.changed(1_000 * MS, present=True, reason=written("port open"))
    assert [event.socket for event in wired.heard.of(AdapterTaken)] == ["1-2"]
    wired.gauge.received(1_100 * MS, wired.line)
    usb.plug("1-3")
    wired.clock.now_ns = 2_200 * MS
    wired.gauge.tick()
    (shared,) = wired.heard.of(NameShared)
    assert shared.adapters.endswith("with serial number SN1 in socket 1-3")
    assert wired.gauge.health().state == "answering"
    assert "have been there under one name" in text_of(wired.gauge.health().reason)
    wired.clock.now_ns = 9_000 * MS
    wired.gauge.tick()
    assert len(wired.heard.of(NameShared)) == 1


def stood_still(profile: str = "signed-decimal-streaming-crlf"):
    """A gauge in the middle of its readings, and a process that is stopped for a minute."""
    life = Life()
    wired = Wired(profile, life=life)
    wired.gauge.changed(1_000 * MS, present=True, reason=written("port open"))
    for number in range(3):
        wired.gauge.received((3_000 + 50 * number) * MS, wired.line)
    life.now_ns += 60_000 * MS
    wired.clock.now_ns = 63_100 * MS
    return wired, life


class Life:
    def __init__(self) -> None:
        self.now_ns = 0

    def __call__(self) -> int:
        return self.now_ns


@pytest.mark.parametrize("looks_first", [True, False])
def test_what_waited_while_the_process_was_stopped_is_no_reading_and_the_stop_is_told(looks_first):
    wired, _ = stood_still()
    before = lengths(wired)
    if looks_first:
        wired.gauge.tick()
    wired.gauge.received(63_100 * MS, wired.line * 300 + wired.line[:5])
    wired.gauge.received(63_101 * MS, wired.line[7:] + wired.line * 2)
    assert lengths(wired) == before
    assert wired.heard.of(GaugeStalled) == [GaugeStalled("m", 60_000)]
    assert wired.states[-2:] == ["answering", "present"]
    assert (
        text_of(wired.gauge.health().reason)
        == "barrelfit stood still for 60.0 s and did not read it"
    )
    for number in range(100):  # it never falls quiet: believed after a second
        wired.gauge.received((63_150 + 50 * number) * MS, wired.line)
    assert len(lengths(wired)) > len(before) + 70
    assert all(e.at_ns == 0 for e in wired.heard.of(ReadingTaken))
    assert wired.states[-1] == "answering"


def test_a_time_that_was_taken_before_the_stop_makes_no_readings_of_what_waited():
    wired, _ = stood_still()
    before = lengths(wired)
    wired.gauge.received(3_150 * MS, wired.line)  # stopped between the stamp and the look
    for number in range(4):
        wired.gauge.received((63_101 + number) * MS, wired.line * 30)
    assert lengths(wired) == before
    assert min(wired.heard.times[-5:]) >= 63_100 * MS


def test_a_stop_in_the_middle_of_a_line_loses_no_byte_of_the_record():
    wired, _ = stood_still()
    wired.gauge.received(63_100 * MS, wired.line[:4])
    wired.gauge.received(63_101 * MS, wired.line)
    wired.gauge.changed(70_000 * MS, present=False, reason=written("gone"))
    told = [e for e in wired.heard.events if isinstance(e, ReadingTaken | FaultSeen | WireNote)]
    raw = bytes.fromhex("".join(event.raw for event in told))
    assert raw == wired.line * 3 + wired.line[:4] + wired.line


def test_a_gauge_that_is_away_was_not_stalled_and_a_busy_moment_is_no_stall():
    life = Life()
    wired = Wired(life=life)
    life.now_ns += 60_000 * MS
    wired.gauge.tick()
    wired.gauge.changed(1_000 * MS, present=True, reason=written("port open"))
    life.now_ns += 900 * MS
    wired.gauge.tick()
    assert wired.heard.of(GaugeStalled) == []


def babbling(wired: Wired, seconds: float, from_ms: int = 2_000) -> bytes:
    """A megabyte a second of short garbage; gives what was sent."""
    sent = b""
    for number in range(int(seconds * 1000)):
        t_ns = (from_ms + number) * MS
        wired.clock.now_ns = t_ns
        wired.gauge.received(t_ns, b"x\r" * 500)
        sent += b"x\r" * 500
        if number % 50 == 0:
            wired.gauge.tick()
    return sent


def test_a_gauge_that_babbles_is_cut_off_told_and_every_byte_is_recorded_or_counted():
    wired = streaming()
    wired.gauge.received(2_000 * MS, wired.line)
    sent = wired.line + babbling(wired, 4.0, 3_000)
    assert wired.states == ["present", "answering", "lost"]
    assert text_of(wired.gauge.health().reason).startswith("cut off: ")
    assert len(wired.heard.of(FaultSeen)) < 2_000
    wired.gauge.tell_left_out(7_000 * MS)
    told = [e for e in wired.heard.events if isinstance(e, ReadingTaken | FaultSeen | WireNote)]
    recorded = bytes.fromhex("".join(event.raw for event in told))
    (left_out,) = wired.heard.of(BytesLeftOut)
    assert sent.startswith(recorded)
    assert len(recorded) + left_out.count == len(sent)
    assert bytes.fromhex(left_out.sample) == sent[len(recorded) :][:64]


def test_a_gauge_that_was_cut_off_is_tried_again_and_read_when_it_has_calmed_down():
    wired = streaming()
    babbling(wired, 2.0)
    wired.clock.now_ns = 20_000 * MS
    wired.gauge.tick()
    assert wired.states[-2:] == ["lost", "present"]
    assert len(wired.heard.of(BytesLeftOut)) == 1
    wired.gauge.received(22_000 * MS, wired.line)
    assert wired.states[-1] == "answering"
    assert len(lengths(wired)) == 1


def test_a_gauge_that_was_cut_off_and_unplugged_is_tried_at_the_next_plug():
    wired = streaming()
    babbling(wired, 2.0)
    wired.gauge.changed(5_000 * MS, present=False, reason=written("gone"))
    assert text_of(wired.gauge.health().reason) == "gone"
    assert len(wired.heard.of(BytesLeftOut)) == 1
    wired.clock.now_ns = 60_000 * MS
    wired.gauge.tick()
    assert wired.states[-1] == "lost"
    wired.gauge.changed(70_000 * MS, present=True, reason=written("port open"))
    wired.gauge.received(72_000 * MS, wired.line)
    assert wired.states[-1] == "answering"


def test_a_streaming_gauge_that_falls_silent_is_told_and_after_a_long_silence_its_zero_is_doubted():
    wired = streaming()
    wired.gauge.received(2_000 * MS, wired.line)
    reasons = []
    for back_ms in (30_000, 330_000):
        wired.clock.now_ns = (back_ms - 1) * MS
        wired.gauge.tick()
        wired.gauge.tick()
        reasons.append(text_of(wired.gauge.health().reason))
        wired.gauge.received(back_ms * MS, wired.line)
        reasons.append(text_of(wired.gauge.health().reason))
    silent = "it is silent: asleep, or out of its range"
    assert reasons == [silent, "", silent, "it was silent for 5 min: check its zero"]
    assert wired.states == ["present", *["answering"] * 5]


def test_a_gauge_with_a_button_may_be_silent():
    wired = Wired("signed-decimal-cr")
    wired.gauge.changed(1_000 * MS, present=True, reason=written("port open"))
    wired.gauge.received(3_000 * MS, wired.line)
    wired.clock.now_ns = 900_000 * MS
    wired.gauge.tick()
    assert wired.states == ["present", "answering"]


def test_a_box_of_several_gauges_is_told_once_and_nothing_of_it_counts():
    box = Wired("channel-header-decimal")
    box.gauge.changed(0, present=True, reason=written("port open"))
    for n, channel in enumerate((0, 0, 1, 0, 1)):
        box.gauge.received((5 + n) * 1000 * MS, b"%02dNM-09.%04d\r\n" % (channel, n))
    told = [e for e in box.heard.events if isinstance(e, GaugeChanged)]
    assert [e.state for e in told] == ["present", "answering", "present"]
    assert 'channel = "00"' in text_of(told[-1].reason)
    readings = [e for e in box.heard.events if isinstance(e, ReadingTaken)]
    assert [to_input(e, 1) is not None for e in readings] == [True, True, False, False, False]
