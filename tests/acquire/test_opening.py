"""What a bench file points at, checked together; sessions begun and gone on with."""

import hashlib
import os
from pathlib import Path

import pytest

from barrelfit.acquire.bench.earlier_sessions import unfinished_session
from barrelfit.acquire.bench.open_session import make_wires, open_session
from barrelfit.acquire.bench.opening import Opening, read_opening
from barrelfit.acquire.bus.link_file import BenchKeys
from barrelfit.acquire.errors import UserError
from barrelfit.acquire.inputs.bench_file import bench_file
from barrelfit.acquire.inputs.setup import photos_of
from barrelfit.acquire.inputs.shelf import sheet_text
from barrelfit.acquire.journal.events import GaugeChanged, SessionClosed, WireNote
from barrelfit.acquire.journal.session import Session
from tests.acquire.daemon_parts import Ticks
from tests.spoken import problems_of
from tests.spoken import text_of as spoken

SETS = Path(__file__).parents[1] / "sets"
MINUTE_NS = 60_000_000_000


def text_of(port: str, bench: str = "stand", job: str = "j-1") -> str:
    return f"""schema = 1
bench = "{bench}"
sheet = "flat-four-85"
who = "A. Smith"
[set]
job = "{job}"
variant = "early"
group = "II"
barrel_kind = "iron-liner"
[[gauge]]
id = "m"
profile = "signed-decimal-cr"
port = "{port}"
measures = "outside"
movement = "following"
"""


def opened(text: str, clock: Ticks) -> Opening:
    return read_opening(bench_file(text, "bench.toml"), text, "bench.toml", clock)


class Shop:
    """A folder of sessions and a clock; every opening is a minute later."""

    def __init__(self, folder: Path, port: str) -> None:
        self.folder, self.port, self.clock = folder, port, Ticks()

    def run(self, *, close: bool = False, fresh: bool = False, **said) -> str:
        """Open a session, record one event, end it; gives the session's name."""
        self.clock.now_ns += MINUTE_NS
        opening = opened(text_of(self.port, **said), self.clock)
        session = open_session(opening, self.folder, self.clock, BenchKeys(), fresh=fresh)
        session.recorder.record(GaugeChanged("m", 1, "present"))
        session.recorder.close(SessionClosed("done") if close else None)
        return session.id


@pytest.fixture
def shop(tmp_path, terminal):
    return Shop(tmp_path, terminal)


def test_a_session_holds_everything_its_verdicts_depend_on(shop):
    name = shop.run()
    (document, *_) = [r.event for r in Session.open(shop.folder / f"{name}.jsonl").records()]
    assert document.config_text == text_of(shop.port)
    assert 'id = "flat-four-85"' in document.sheet_text
    assert "[[piston]]" in document.set_text
    assert "signed-decimal-cr" in document.gauges["m"].profile_text
    assert document.settings["materials"]
    assert document.who == "A. Smith"


def test_a_session_holds_the_hashes_of_the_photos_its_set_names(tmp_path, terminal):
    text = (SETS / "01-all-good.toml").read_text(encoding="utf-8")
    text = text.replace('serial = "11"\n', 'serial = "11"\nphotos = ["p1.png"]\n')
    (tmp_path / "set.toml").write_text(text, encoding="utf-8")
    bench = text_of(terminal)
    begin, end = bench.index("variant"), bench.index("[[gauge]]")
    bench = bench[:begin] + f'file = "{tmp_path / "set.toml"}"\n' + bench[end:]
    with pytest.raises(UserError, match=r"photos: photo p1.png: No such file"):
        opened(bench, Ticks())
    (tmp_path / "p1.png").write_bytes(b"a photo")
    document = opened(bench, Ticks()).document
    assert photos_of(document) == {"p1.png": hashlib.sha256(b"a photo").hexdigest()}


def test_an_unfinished_session_is_gone_on_with_and_a_closed_one_is_not(shop):
    first = shop.run()
    assert shop.run() == first
    assert shop.run(close=True) == first
    second = shop.run()
    assert second != first


def test_other_texts_or_a_wish_for_a_fresh_one_begin_a_new_session(shop):
    first = shop.run()
    other = shop.run(job="j-2")
    assert other != first
    assert shop.run(job="j-2", fresh=True) not in {first, other}


def test_a_bench_whose_name_begins_like_anothers_finds_its_own_session(shop):
    first = shop.run(bench="stand")
    other = shop.run(bench="stand-2")
    assert shop.run(bench="stand") == first
    assert shop.run(bench="stand-2") == other


def test_what_was_recorded_before_is_in_the_snapshot_and_the_count_of_findings(shop):
    shop.run()
    shop.clock.now_ns += MINUTE_NS
    opening = opened(text_of(shop.port), shop.clock)
    session = open_session(opening, shop.folder, shop.clock, BenchKeys(), fresh=False)
    assert session.findings == 0
    assert session.snapshot.state.gauges["m"].state == "present"
    session.recorder.close()


def test_what_a_gauge_called_itself_is_known_when_a_session_is_gone_on_with(shop):
    opening = opened(text_of(shop.port), shop.clock)
    session = open_session(opening, shop.folder, shop.clock, BenchKeys(), fresh=False)
    session.recorder.record(WireNote("m", b"SY233.1\r".hex(), "identification"))
    session.recorder.close()
    shop.clock.now_ns += MINUTE_NS
    again = open_session(
        opened(text_of(shop.port), shop.clock), shop.folder, shop.clock, BenchKeys(), fresh=False
    )
    assert again.id == session.id
    wire = make_wires(opening, again, shop.clock).gauges["m"]._wire
    (fault,) = wire.feed(b"SY233.2\r", 0)
    assert "'SY233.1' before" in spoken(fault.hint)
    again.recorder.close()


def test_a_damaged_unfinished_session_is_named(shop):
    name = shop.run()
    path = shop.folder / f"{name}.jsonl"
    path.write_bytes(path.read_bytes().replace(b"A. Smith", b"B. Smith", 1))
    with pytest.raises(UserError) as refused:
        unfinished_session(opened(text_of(shop.port), shop.clock).document, shop.folder)
    (problem,) = problems_of(refused.value)
    assert str(path) in problem
    assert "--fresh" in problem


def test_everything_that_is_wrong_is_told_together(tmp_path):
    text = text_of(str(tmp_path)).replace("signed-decimal-cr", "unheard-of")
    text = text.replace('"flat-four-85"', '"no-sheet"').replace("[set]", 'leads = "none"\n[set]')
    with pytest.raises(UserError) as refused:
        opened(text, Ticks())
    found = problems_of(refused.value)
    assert len(found) == 4
    for wanted in ("unheard-of", "no-sheet", "none: no such file", "no serial port"):
        assert any(wanted in problem for problem in found), wanted


def test_a_plain_file_is_no_port(tmp_path):
    file = tmp_path / "file"
    file.write_text("")
    with pytest.raises(UserError) as refused:
        opened(text_of(str(file)), Ticks())
    assert "is no serial port" in problems_of(refused.value)[0]


def test_a_material_that_there_is_not_is_said_with_its_line(terminal, tmp_path):
    text = text_of(terminal) + 'material = "unobtanium"\n'
    with pytest.raises(UserError) as refused:
        opened(text, Ticks())
    (problem,) = problems_of(refused.value)
    assert problem.startswith("bench.toml:16: gauge[1].material: 'unobtanium' is no material")
    assert "gauge-steel" in problem


def test_an_own_sheets_mistakes_are_said_with_their_lines(terminal, tmp_path):
    own = tmp_path / "own.toml"
    shipped = sheet_text("flat-four-85")
    own.write_text(shipped.replace("aluminium-12-silicon-cast", "unobtanium"))
    with pytest.raises(UserError) as refused:
        opened(text_of(terminal).replace("flat-four-85", str(own)), Ticks())
    line = 1 + shipped[: shipped.index("aluminium-12-silicon-cast")].count("\n")
    assert problems_of(refused.value)[0].startswith(f"{own}:{line}: piston.material: 'unobtanium'")
    own.write_text(shipped.replace("wear_max = 0.080", 'wear_max = "eighty"'))
    with pytest.raises(UserError) as refused:
        opened(text_of(terminal).replace("flat-four-85", str(own)), Ticks())
    line = 1 + shipped[: shipped.index("wear_max")].count("\n")
    assert problems_of(refused.value)[0].startswith(f"{own}:{line}: piston.wear_max: ")


@pytest.mark.parametrize("first_gone", [1, 4])
def test_after_lines_were_lost_a_new_session_begins_and_the_old_record_stays(
    shop, caplog, first_gone
):
    """A hole that a power cut left; recording does not wait for a person."""
    names = [shop.run() for _ in range(4)]
    assert len(set(names)) == 1
    path = shop.folder / f"{names[0]}.jsonl"
    lines = path.read_bytes().splitlines(keepends=True)
    start = sum(map(len, lines[: first_gone - 1]))
    end = start + len(lines[first_gone - 1])
    holed = b"".join(lines)
    holed = holed[:start] + bytes(end - start) + holed[end:]
    path.write_bytes(holed)
    new = shop.run()
    assert new != names[0]
    (told,) = [m for m in caplog.messages if "a new session begins" in m]
    assert str(path) in told
    assert f"line {first_gone} is gone" in told
    assert path.read_bytes() == holed
    assert shop.run() == new
    second = list(Session.open(shop.folder / f"{new}.jsonl").records())[1].event
    assert second.session == names[0]


def test_after_more_was_cut_from_a_record_than_memory_holds_a_new_session_begins(
    shop, caplog, monkeypatch
):
    monkeypatch.setattr("barrelfit.acquire.journal.writer.RECENT_LINES", 5)
    shop.clock.now_ns += MINUTE_NS
    opening = opened(text_of(shop.port), shop.clock)
    session = open_session(opening, shop.folder, shop.clock, BenchKeys(), fresh=False)
    for number in range(50):
        session.recorder.record(GaugeChanged("m", number, "present"))
    journal = session.recorder.journal
    journal.flush()
    os.truncate(journal.path, journal.path.stat().st_size // 2)
    session.recorder.record(GaugeChanged("m", 50, "present"))
    session.recorder.close()
    assert journal.lost > 0
    new = shop.run()
    assert new != session.id
    assert "missing" in caplog.text
    assert shop.run() == new
