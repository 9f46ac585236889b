"""The set-up page, as Streamlit runs it: what is plugged in, a lesson, and the file it writes."""

from dataclasses import replace
from functools import cache

import pytest
from streamlit.components.v2 import manifest_scanner
from streamlit.testing.v1 import AppTest

from barrelfit.acquire.inputs.bench_file import bench_file
from barrelfit.acquire.inputs.gauge_profiles import load_profile
from barrelfit.acquire.wires.gauge_listener import PortHeard
from barrelfit.acquire.wires.ports_found import FoundPort
from barrelfit.dashboard.board.hub import Hub, install, installed
from barrelfit.dashboard.board.set_up import SetUp
from barrelfit.drivers.outcome import WireMass, WireReading
from barrelfit.drivers.recognise import ProfileFit
from tests.dashboard.test_pages import StoppedClock

pytestmark = pytest.mark.slow
INSTALLED = cache(manifest_scanner.scan_component_manifests)
READING = WireReading(b"", 0, "25.400", "mm", 25_400_000)
FIT = ProfileFit(load_profile("signed-decimal-cr"), 8, "none", 2, READING)
PORT = "/dev/serial/by-id/a"


class FakeListener:
    """A port as the test says that it is."""

    def __init__(self):
        self.heard = PortHeard(PORT, "adapter")
        self.closed = False

    def says(self, **what):
        self.heard = replace(self.heard, **what)

    def teach(self, _baud=0):
        self.says(fit=None, sent=())

    def taken(self):
        self.says(sent=())

    def follow(self, fit):
        self.says(fit=fit, value=fit.last.value)

    def close(self):
        self.closed = True


def page():
    from barrelfit.dashboard.pages.setup_page import setup_page  # noqa: PLC0415  its text is the page

    setup_page()


def change():
    from barrelfit.dashboard.pages.setup_page import change_page  # noqa: PLC0415  as above

    change_page()


@pytest.fixture
def done():
    return []


@pytest.fixture
def set_up(tmp_path, monkeypatch, done):
    monkeypatch.setattr(manifest_scanner, "scan_component_manifests", INSTALLED)
    hub = Hub(StoppedClock(), tmp_path)
    found = [FoundPort(PORT, "/dev/ttyUSB0", "adapter")]
    made = SetUp(tmp_path / "bench.toml", lambda: done.append(1), StoppedClock(), lambda: found)
    made._listeners[PORT] = FakeListener()
    hub.set_up = made
    install(hub)
    return made


def run(test=None):
    test = AppTest.from_function(page, default_timeout=20) if test is None else test
    test.run()
    assert not test.exception
    return test


def press(test, words):
    next(b for b in test.button if b.label.startswith(words)).click()
    return run(test)


def test_a_gauge_that_is_known_is_set_up_and_the_bench_file_written(set_up, done):
    gauge = set_up._listeners[PORT]
    assert "nothing heard yet" in "".join(m.value for m in run().markdown)
    gauge.says(fit=FIT, baud=9600, count=20, value="25.400", unit="mm", moved_nm=500_000)
    test = run()
    assert "this one moves" in "".join(m.value for m in test.markdown)
    next(t for t in test.text_input if t.label.startswith("Your name")).input("A. Person")
    test = press(test, "Save, and run")
    assert "The bench starts" in test.success[0].value
    assert (done, gauge.closed) == ([1], True)
    bench = bench_file(set_up.file.read_text(), "bench.toml")
    assert (bench.who, bench.set, bench.gauge[0].port) == ("A. Person", None, PORT)
    assert (bench.gauge[0].movement, bench.gauge[0].unit) == ("held", "mm")


def test_a_scale_is_known_by_its_wire_and_asked_nothing_of_lengths(set_up, done):
    mass = WireMass(b"", 0, "512.4", "g", 512_400_000_000_000_000)
    fit = ProfileFit(load_profile("steady-letter-mass-unit-crlf"), 8, "none", 4, mass, streams=True)
    gauge = set_up._listeners[PORT]
    gauge.says(fit=fit, baud=9600, count=20, value="512.4", unit="g", moved_mg=512_400)
    test = run()
    text = "".join(m.value for m in test.markdown)
    assert "this one moves" in text
    assert "512.4 g" in text
    assert "It is a scale" in text
    assert not [r for r in test.radio if r.key and r.key.startswith("measures-")]
    press(test, "Save, and run")
    (scale,) = bench_file(set_up.file.read_text(), "bench.toml").gauge
    assert (scale.measures, scale.movement) == ("mass", "settling")
    assert done == [1]


def test_several_gauges_behind_one_port_are_set_up_as_several(set_up, done):
    gauge = set_up._listeners[PORT]
    gauge.says(fit=FIT, baud=9600, count=20, channels=("00", "01"), moved_nm=500_000,
               moved_channel="01")  # fmt: skip
    test = run()
    assert "channel 01 moves" in "".join(m.value for m in test.markdown)
    next(t for t in test.text_input if t.key == f"name-{PORT}-01").input("bore-gauge")
    next(r for r in test.radio if r.key == f"measures-{PORT}-01").set_value("bore")
    press(run(test), "Save, and run")
    made = bench_file(set_up.file.read_text(), "bench.toml")
    assert [(g.id, g.channel, g.measures) for g in made.gauge] == [
        ("micrometer", "00", "outside"),
        ("bore-gauge", "01", "bore"),
    ]
    assert len(made.by_port) == 1
    assert done == [1]


def test_of_several_behind_one_port_one_may_be_left_out(set_up, done):
    gauge = set_up._listeners[PORT]
    gauge.says(fit=FIT, baud=9600, count=20, channels=("00", "01"))
    test = run()
    next(c for c in test.checkbox if "channel 00" in c.label).uncheck()
    press(run(test), "Save, and run")
    (only,) = bench_file(set_up.file.read_text(), "bench.toml").gauge
    assert only.channel == "01"
    assert done == [1]


def test_a_file_that_is_there_is_asked_about(set_up, done):
    set_up._listeners[PORT].says(fit=FIT, baud=9600, count=20)
    set_up.file.write_text('schema = 1\nbench = "b"\nsheet = "flat-four-85"\n')
    test = press(run(), "Save, and run")
    assert "may be replaced" in test.error[0].value
    assert (done, set_up.file.read_text().count("gauge")) == ([], 0)
    next(c for c in test.checkbox if "change it" in c.label).check()
    press(test, "Save, and run")
    assert done == [1]


def test_a_gauge_that_no_profile_fits_is_taught_on_the_page(set_up, done):
    gauge = set_up._listeners[PORT]
    gauge.says(count=20, baud=4800)
    test = press(run(), "Teach this gauge")
    for shown in ("12.345", "85.120", "-3.004", "41.777", "-60.123", "22.222"):
        gauge.says(sent=((0, f"Z{float(shown):+09.3f}*mm\r".encode()),))
        test = run(test)
        next(t for t in test.text_input if t.label.startswith("What does")).input(f"{shown} mm")
        test = press(test, "That is what it shows")
    test = press(test, "Proven")
    (file,) = set_up.file.parent.glob("taught-*.toml")
    assert load_profile(str(file)).port.baud == 4800
    press(test, "Save, and run")
    assert bench_file(set_up.file.read_text(), "b").gauge[0].profile == str(file)
    assert done == [1]


def test_what_was_typed_wrongly_is_said(set_up):
    gauge = set_up._listeners[PORT]
    gauge.says(count=20, baud=4800)
    test = press(run(), "Teach this gauge")
    gauge.says(sent=((0, b"x1\r"),))
    test = run(test)
    next(t for t in test.text_input if t.label.startswith("What does")).input("12.345")
    assert "with its unit" in press(test, "That is what it shows").error[0].value


def test_while_a_bench_runs_the_page_asks_for_a_new_set_up(set_up, done):
    hub = installed()
    test = run(AppTest.from_function(change, default_timeout=20))
    assert "started with a file" in test.info[0].value
    hub.wants_set_up = lambda: done.append(1)
    test = press(run(test), "Change gauges")
    assert done == [1]


def test_a_gauge_of_the_file_that_is_silent_now_is_kept(set_up, done):
    set_up.file.write_text(
        'schema = 1\nbench = "b"\nsheet = "flat-four-85"\n[[gauge]]\nid = "m"\n'
        f'profile = "signed-decimal-cr"\nport = "{PORT}"\nmeasures = "bore"\nmovement = "held"\n'
    )
    test = run()
    next(c for c in test.checkbox if "change it" in c.label).check()
    press(test, "Save, and run")
    assert done == [1]
    assert bench_file(set_up.file.read_text(), "b").gauge[0].measures == "bore"
