"""Commands typed by hand: what goes to the bench, checked by the bench's own decoder."""

import json

import pytest

from barrelfit.acquire.bench.command_desk import CommandDesk, Moment
from barrelfit.acquire.bench.override_desk import OverrideDesk
from barrelfit.acquire.bus.proof import Doorkeeper, new_key, seal
from barrelfit.dashboard.pages.entry import entry_command, pedal_command, temperature_command
from barrelfit.rules.events import EntryMade, PedalPressed, TemperatureTaken
from barrelfit.rules.model import FeatureId


def taken(command):
    key = new_key()
    desk = CommandDesk(OverrideDesk("s", {}, lambda: "n"), Doorkeeper("b", {"board": key}))
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
