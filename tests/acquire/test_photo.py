"""Photos: checked, kept as they came, shown upright and without where they were taken."""

import hashlib
import os
import struct
import zlib
from importlib.metadata import version

import pytest

from barrelfit.acquire.cli import run_cli
from barrelfit.acquire.errors import UserError
from barrelfit.acquire.inputs.photo import (
    BYTES_MOST,
    SPARE_BYTES,
    keep_photo,
    photo_name,
    photo_problem,
    upright,
)
from barrelfit.acquire.inputs.set_now import set_text_of
from barrelfit.acquire.journal.session import Session
from barrelfit.acquire.redo.redo_journal import redo_session
from barrelfit.acquire.report.from_session import session_lines
from barrelfit.acquire.report.source import photos_of
from barrelfit.rules.engine.set_facts import photo_at
from barrelfit.rules.events import PedalPressed
from barrelfit.rules.told import FactHeld, FactTaken, FactTold
from tests.acquire.photos_taken import BLUE, GPS, RED, TURNED_LEFT, is_like, opened, shot
from tests.acquire.recorded import Recording, opening
from tests.spoken import text_of

ROOM = 10 * SPARE_BYTES


def refused(data):
    with pytest.raises(UserError) as caught:
        photo_name(data)
    return text_of(caught.value.problems[0])


@pytest.mark.parametrize(("kind", "suffix"), [("JPEG", "jpg"), ("PNG", "png")])
def test_a_photo_is_named_by_its_hash(kind, suffix):
    data = shot(kind=kind)
    assert photo_name(data) == f"photos/{hashlib.sha256(data).hexdigest()}.{suffix}"


def test_what_is_too_large_is_refused_clearly():
    assert "10 MB" in refused(shot() + bytes(BYTES_MOST))


def bomb(side=30_000):
    """A PNG of a few bytes that says that it is 900 million pixels."""

    def chunk(name, body):
        return (
            struct.pack(">I", len(body)) + name + body + struct.pack(">I", zlib.crc32(name + body))
        )

    head = struct.pack(">IIBBBBB", side, side, 8, 0, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", b"x") + chunk(b"IEND", b"")


@pytest.mark.parametrize(
    "data",
    [
        b"",
        b"\xff\xd8\xff\xe0 is no picture",
        b"<svg xmlns='http://www.w3.org/2000/svg'><script>alert(1)</script></svg>",
        b"<html>" + shot(),
        shot()[:-400],
        shot(kind="GIF"),
        bomb(),
        b"%PDF-1.4",
    ],
    ids=["empty", "named", "svg", "html", "torn", "gif", "bomb", "pdf"],
)
def test_what_only_says_that_it_is_a_picture_is_refused(data):
    assert "picture" in refused(data) or "million pixels" in refused(data)
    with pytest.raises(UserError):
        upright(data)


def test_the_view_is_turned_upright_and_says_nothing_else():
    data = shot(turned=TURNED_LEFT, gps=True)
    assert opened(data).getexif().get_ifd(GPS)
    view = opened(upright(data))
    assert view.size == (40, 80)  # the file's left is above once it stands upright
    assert is_like(view.getpixel((20, 10)), RED)
    assert is_like(view.getpixel((20, 70)), BLUE)
    assert not dict(view.getexif())
    assert "exif" not in view.info


def test_the_view_is_not_larger_than_asked():
    assert opened(upright(shot((400, 200)), 100)).size == (100, 50)


def test_a_photo_is_kept_as_it_came(tmp_path):
    data = shot(gps=True)
    name = keep_photo(tmp_path, data, ROOM)
    assert (tmp_path / name).read_bytes() == data
    assert keep_photo(tmp_path, data, 0) == name  # it is there already
    assert [path.name for path in (tmp_path / "photos").iterdir()] == [name.partition("/")[2]]
    assert photo_problem(tmp_path, name) is None
    if os.name == "posix":
        assert (tmp_path / name).stat().st_mode & 0o077 == 0


def test_one_that_was_spoiled_is_kept_anew(tmp_path):
    data = shot()
    name = keep_photo(tmp_path, data, ROOM)
    (tmp_path / name).write_bytes(b"else")
    assert "not the one that was taken" in text_of(photo_problem(tmp_path, name))
    keep_photo(tmp_path, data, ROOM)
    assert photo_problem(tmp_path, name) is None


def test_the_last_of_the_disk_is_for_readings(tmp_path):
    with pytest.raises(UserError, match="make room"):
        keep_photo(tmp_path, shot(), SPARE_BYTES)
    assert not list(tmp_path.iterdir())


# ---------------------------------------------------------------- in a session's record


def told_photo(recording, part, name, value=None, **more):
    recording.t_ns += 1_000_000_000
    at = photo_at(part, name)
    value = name if value is None else value
    recording.input(FactTold(recording.t_ns, at, value, who="Kim", by="phone", **more))


@pytest.fixture
def recording(tmp_path):
    path = tmp_path / "bench1-20261125T010203Z.jsonl"
    return Recording(path, opening(code_version=version("barrelfit")))


@pytest.fixture
def session(tmp_path, recording):
    """A session with two photos of P1, of which one was taken back, and one of B2."""
    names = [keep_photo(tmp_path, shot(turned=n), ROOM) for n in (1, 3, TURNED_LEFT)]
    told_photo(recording, "P1", names[0])
    told_photo(recording, "P1", names[1])
    told_photo(recording, "B2", names[2])
    told_photo(recording, "P1", names[1], "", why="blurred")
    recording.close("done")
    return recording.path, names


def photos(lines):
    return {p["part"]: p["photos"] for p in lines if p["kind"] == "part" and p["photos"]}


def test_redo_report_and_set_file_know_the_photos(session):
    path, names = session
    assert redo_session(Session.open(path)).is_same
    lines = session_lines(str(path))
    hashes = [name[7:71] for name in names]
    assert photos(lines) == {
        "P1": [{"file": names[0], "sha256": hashes[0]}],
        "B2": [{"file": names[2], "sha256": hashes[2]}],
    }
    shown = photos_of(lines, path.parent).found
    assert [opened(p.data).size for p in shown["B2"]] == [(40, 80)]
    assert not photos_of(lines, path.parent).troubles
    told = [f for f in lines if f["kind"] == "fact"]
    assert {(f["who"], f["by"]) for f in told} == {("Kim", "phone")}
    text = set_text_of(Session.open(path).records())
    assert f'photos = ["{names[0]}"]' in text
    assert names[1] not in text


def test_a_photo_changed_later_is_in_no_report(session):
    path, names = session
    (path.parent / names[0]).write_bytes(shot(kind="PNG"))
    lines = session_lines(str(path))
    assert set(photos_of(lines, path.parent).found) == {"B2"}
    assert [w.key for w in photos_of(lines, path.parent).troubles] == ["another_photo"]


def test_verify_tells_a_missing_and_an_altered_photo(session, capsys):
    path, names = session
    assert run_cli(["verify", str(path)]) == 0
    assert "photos taken at the bench, as they were taken: 2" in capsys.readouterr().out
    (path.parent / names[1]).unlink()  # taken back: nobody misses it
    assert run_cli(["verify", str(path)]) == 0
    (path.parent / names[0]).unlink()
    (path.parent / names[2]).write_bytes(b"else")
    capsys.readouterr()
    assert run_cli(["verify", str(path)]) == 1
    out = capsys.readouterr().out
    assert f"photo {names[0]} is not there" in out
    assert f"photo {names[2]} is not the one that was taken" in out
    assert run_cli(["verify", str(path), "--json"]) == 1
    assert '"photos": 2' in capsys.readouterr().out


def taken(recording):
    events = (record.event for record in Session.open(recording.path).records())
    return [e for e in events if isinstance(e, FactTaken | FactHeld)]


def test_a_photo_is_told_by_its_hash_alone(recording):
    name = f"photos/{'a' * 64}.jpg"
    for value in ("piston.jpg", f"photos/{'b' * 64}.jpg", f"../photos/{'a' * 64}.jpg", name[:-4]):
        told_photo(recording, "P1", name, value)
    told_photo(recording, "X9", name)
    recording.close("done")
    found = taken(recording)
    assert [f.reason for f in found] == ["unreadable"] * 4 + ["no-such-fact"]


def test_the_pedal_takes_back_no_photo(recording):
    """A photo is taken beside the bench: what the hand undoes is its own work."""
    recording.t_ns += 1_000_000_000
    at = photo_at("P1", name := f"photos/{'a' * 64}.jpg")
    recording.input(FactTold(recording.t_ns, at, name, who="Kim", by="phone"))
    recording.t_ns += 3_000_000_000
    recording.input(PedalPressed(recording.t_ns, "undo", "Kim"))
    recording.close("done")
    assert [f.value for f in taken(recording)] == [name]
