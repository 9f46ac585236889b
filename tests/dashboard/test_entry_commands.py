"""Commands typed by hand: what goes to the bench, checked by the bench's own decoder."""

import json

import pytest

from barrelfit.acquire.bench.command_desk import CommandDesk, Moment
from barrelfit.acquire.bench.override_desk import OverrideDesk
from barrelfit.acquire.bus.proof import Doorkeeper, new_key, seal
from barrelfit.acquire.journal.port_events import AdapterChosen
from barrelfit.dashboard.pages.entry import (
    entry_command,
    pedal_command,
    take_command,
    temperature_command,
)
from barrelfit.rules.events import EntryMade, PedalPressed, TemperatureTaken
from barrelfit.rules.manner import told
from barrelfit.rules.model import FeatureId
from barrelfit.rules.said import said


def taken(command, not_there=lambda gauge, port: None):
    key = new_key()
    door = Doorkeeper("b", {"board": key})
    desk = CommandDesk(OverrideDesk("s", {}, lambda: "n"), door, not_there)
    payload = seal(key, "barrelfit/b/command", json.dumps(command).encode(), 9)
    found = desk.take(payload, Moment(5, 9, 0.0), is_own=True)
    assert found.refused == ""
    return found.answer, found.event


def test_an_entry_is_what_the_bench_reads():
    place = FeatureId("B1", "bore", "top", "thrust")
    answer, event = taken(entry_command("1", place, "85,01", "mm", who="Kim"))
    assert answer == {"id": "1", "ok": True}
    assert event == EntryMade(5, place, "85,01", "mm", "Kim", device="board")
    _, insisted = taken(entry_command("2", place, "85,01", "mm", who="Kim", why="read twice"))
    assert insisted.why == "read twice"


@pytest.mark.parametrize(("text", "milli"), [("21.5", 21_500), (" 21,5 ", 21_500), ("20", 20_000)])
def test_a_temperature_in_whole_millikelvin(text, milli):
    command = temperature_command("1", "part", text, "Kim")
    assert command["milli_celsius"] == milli
    assert taken(command)[1] == TemperatureTaken(5, "part", milli, "Kim", "board")


def test_a_temperature_below_nought_is_sent_as_typed_and_asked_about():
    command = temperature_command("1", "part", "-3", "Kim")
    assert command["milli_celsius"] == -3_000
    answer, event = taken(command)
    assert (answer["ok"], event) == (False, None)


@pytest.mark.parametrize("text", ["", "warm", "nan", "inf", "1e999x"])
def test_no_temperature(text):
    assert temperature_command("1", "part", text, "Kim") is None


def test_a_temperature_no_bench_has_is_turned_down():
    answer, event = taken(temperature_command("1", "room", "400", "Kim"))
    assert answer["ok"] is False
    assert event is None


@pytest.mark.parametrize("action", ["next", "again", "undo"])
def test_pedal(action):
    assert taken(pedal_command("1", action, "Kim"))[1] == PedalPressed(5, action, "Kim", "board")


def test_which_adapter_is_the_gauge_s():
    command = take_command("1", "m", " /dev/serial/by-path/x ", "Kim")
    answer, event = taken(command)
    assert answer == {"id": "1", "ok": True}
    assert event == AdapterChosen("m", "/dev/serial/by-path/x", "Kim", "board")
    for other in (take_command("2", "m", " ", "Kim"), take_command("2", "m", "/dev/x", "")):
        answer, event = taken(other)
        assert (answer["ok"], answer["code"], event) == (False, "malformed", None)
    answer, event = taken(command, lambda gauge, port: said("nothing_plugged", port=port))
    assert (answer["code"], event) == ("port", None)
    assert told(answer["sentence"]) == told(said("nothing_plugged", port="/dev/serial/by-path/x"))
