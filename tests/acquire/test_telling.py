"""What `barrelfit run` prints, and that recording goes on when nobody reads it."""

import io
import json
import os
import sys

from barrelfit.acquire.bench.printed import Teller, in_words
from barrelfit.acquire.bus.broker import BrokerAddress
from barrelfit.acquire.journal.events import UnitChanged
from barrelfit.rules.events import Asked, GaugeChanged, Judged, Refused, SetDone, Sized
from barrelfit.rules.model import FeatureId, Finding, Severity, Verdict
from barrelfit.rules.said import NOTHING, written
from tests.acquire.journal_samples import EVENTS, reading

P1 = FeatureId("P1", "skirt")
ADDRESS = BrokerAddress("127.0.0.1", 1883, "barrelfit", "secret")


class Opened:
    """A session as far as telling needs one."""

    id = "stand-1"
    changed = NOTHING

    class recorder:  # noqa: N801
        class journal:  # noqa: N801
            path = "/s/stand-1.jsonl"


def test_sentences():
    finding = Finding("S1", Severity.DISCARD, "P1", written("worn out by 0.020 mm"))
    size = Sized(P1, 84_920_400, 84_921_000, 600.0, 84_919_200, 84_921_600, (1, 2, 3), "e", "r")
    assert (
        in_words(GaugeChanged("m", 1, "lost", written("cable gone"))) == "gauge m lost: cable gone"
    )
    unit = in_words(UnitChanged("m", "mm", "in"))
    assert unit == "gauge m changed its unit from mm to in: look at it"
    assert in_words(Asked(P1, "m", written("P1 skirt"), 2, 28)) == "2/28  P1 skirt (gauge m)"
    assert in_words(size).startswith("P1/skirt: 84.9204 mm ± 1.2 µm (95 %) at 20 °C, 3 passes")
    assert (
        in_words(Refused(P1, "r", written("too short"), written("again")))
        == "P1/skirt: no size: too short; again"
    )
    assert in_words(Judged("P1", Verdict.DISCARD, (finding,), written(""))) == (
        "P1: DISCARD: worn out by 0.020 mm"
    )
    assert "1 serviceable, 2 rework, 3 discard, 4 undecided" in in_words(SetDone(1, 2, 3, 4))
    assert in_words(reading()) == ""


def test_json_lines_hold_everything_but_readings(capsys):
    teller = Teller(as_json=True)
    for seq, event in enumerate(EVENTS, 1):
        teller.tell(seq, event)
    assert capsys.readouterr().out == ""  # what happens before all is said to be on is told after
    teller.opened("stand", Opened, ADDRESS, None)
    first, *lines = [json.loads(line) for line in capsys.readouterr().out.splitlines()]
    assert first["kind"] == "ready"
    kinds = [line["kind"] for line in lines]
    assert {"gauge_changed", "asked", "sized", "judged", "contact", "passed"} <= set(kinds)
    assert not {"reading_taken", "wire_note", "session_opened"} & set(kinds)
    assert all(set(line) == {"kind", "seq", "data"} for line in lines)


def test_the_password_itself_is_never_printed(capsys, tmp_path):
    for as_json in (True, False):
        Teller(as_json=as_json).opened("stand", Opened, ADDRESS, tmp_path / "password")
    told = capsys.readouterr().out
    assert "secret" not in told
    assert str(tmp_path / "password") in told


def test_a_reader_that_goes_away_stops_nothing(monkeypatch):
    near, far = os.pipe()
    os.close(near)
    with io.TextIOWrapper(io.FileIO(far, "w"), encoding="utf-8") as pipe:
        monkeypatch.setattr(sys, "stdout", pipe)
        teller = Teller(as_json=True)
        for seq in range(3):
            teller.tell(seq, GaugeChanged("m", 1, "lost"))
