"""What somebody does to a running bench's record, its disk or its bus: told, and nothing lost."""

import contextlib
import os
import shutil
import subprocess
import threading
from collections.abc import Iterator
from pathlib import Path

import pytest

from barrelfit.acquire.journal.disk import RealDisk
from barrelfit.acquire.journal.parts import JournalReader
from barrelfit.acquire.journal.verify import verify_journal
from tests.system.bench_rig import (
    Daemon,
    FarEnd,
    Listener,
    bench_text,
    ending,
    gauge_text,
)
from tests.system.board_rig import need, wait_for
from tests.system.patience import PATIENCE_S
from tests.system.ports import free_port

pytest.importorskip("iotcore", reason="iotcore, the embedded broker, is not on this system")

pytestmark = [pytest.mark.system, pytest.mark.slow, pytest.mark.timeout(300)]

DEEP = b'{"session":"s","events":' + b"[" * 1_100 + b"]" * 1_100 + b"}"


@pytest.fixture
def stand(tmp_path: Path):
    """A bench file with one gauge, whose far end is played by another process."""
    port, link, file = free_port(), tmp_path / "gauge", tmp_path / "bench.toml"
    file.write_text(bench_text(tmp_path, port, gauge_text("micrometer", link)))
    return file, link, port


def login(folder: Path) -> tuple[str, str]:
    return "barrelfit", (folder / "sessions" / "broker-password").read_text().strip()


def events_of(journal: Path) -> dict[int, object]:
    reader = JournalReader(journal, RealDisk())
    return {r.seq: r.event for block in reader.blocks() for r in block}


def remove_folder(journal: Path) -> None:
    shutil.rmtree(journal.parent)


def rename(journal: Path) -> None:
    journal.rename(journal.with_name("elsewhere"))


def cut(journal: Path) -> None:
    os.truncate(journal, journal.stat().st_size // 2)


@pytest.mark.parametrize("harm", [remove_folder, rename, cut])
def test_a_record_that_is_taken_away_is_told_at_once_and_stands_on_disk_again(
    stand, tmp_path, harm
):
    file, link, port = stand
    far, daemon = FarEnd(link, 100.0), Daemon(file)
    with ending(far, daemon):
        journal = Path(daemon.ready()["journal"])
        listener = Listener(port, *login(tmp_path))
        with ending(listener):
            listener.event("reading_taken")
            harm(journal)
            daemon.errors.find(lambda line: "not recording" in line and "somebody" in line)
            daemon.errors.find(lambda line: "recording again" in line)
            listener.event("record_gone")
            _, back = listener.event("record_put_back")
            listener.event("reading_taken", since=back["seq"])
            for name in ("stand.lock", "stand.link"):  # no second daemon, and boards find it
                wait_for((journal.parent / name).exists, name)
            assert daemon.end() == 0
        confirmed = {event["seq"]: event["data"] for _, event in listener.events()}
    assert verify_journal(journal, RealDisk()).outcome == "whole"
    events = events_of(journal)
    assert confirmed.keys() <= events.keys()
    raws = [e.raw for e in events.values() if hasattr(e, "length_nm") and e.raw]
    assert len(raws) == len(set(raws))  # numbered readings: none twice


@contextlib.contextmanager
def filled(folder: Path) -> Iterator[None]:
    """Take all the room that a disk has, and whatever is given back."""
    full = threading.Event()

    def fill() -> None:
        with (folder / "filler").open("wb", buffering=0) as file:
            while not full.is_set():
                with contextlib.suppress(OSError):
                    while file.write(bytes(4096)):
                        pass

    filling = threading.Thread(target=fill)
    filling.start()
    try:
        yield
    finally:
        full.set()
        filling.join()


def test_an_end_with_a_full_disk_is_told_and_is_no_success(stand, tmp_path):
    file, link, _ = stand
    sessions = tmp_path / "sessions"
    sessions.mkdir()
    mount = [need("mount"), "-t", "tmpfs", "-o", "size=640k", "barrelfit-test", str(sessions)]
    if subprocess.run(mount, capture_output=True, check=False).returncode:  # noqa: S603
        pytest.skip("no right to mount a small disk here")
    try:
        far, daemon = FarEnd(link, 100.0), Daemon(file)
        with ending(far, daemon):
            journal = Path(daemon.ready()["journal"])
            daemon.told("gauge_changed")
            with filled(sessions):
                daemon.errors.find(lambda line: "not recording" in line)
                code = daemon.end()
        ended = daemon.messages("ended")[0]
        kinds = [type(event).__name__ for event in events_of(journal).values()]
        if code == 0:  # the bench was quicker to the last room than the filler: all is saved
            assert not ended.get("missing")
            assert kinds[-1] == "SessionClosed"
            return
        assert code == 1
        assert "No space left" in ended["missing"]
        assert any("No space left" in line for line in daemon.errors.texts())
        assert kinds.count("EndUnsaved") <= 1  # somebody else was quicker to the last room
    finally:
        subprocess.run([need("umount"), "-l", str(sessions)], check=True)  # noqa: S603


@pytest.fixture(scope="module", params=[DEEP, DEEP[:-9], b'{"id":"\xff"}', b"9" * 4_000])
def pestered(tmp_path_factory, request):
    """A bench that hears one bad message in every place, and has to end well after the last."""
    folder = tmp_path_factory.mktemp("pestered")
    port, link, file = free_port(), folder / "gauge", folder / "bench.toml"
    file.write_text(bench_text(folder, port, gauge_text("micrometer", link)))
    far, daemon = FarEnd(link), Daemon(file)
    with ending(far, daemon):
        daemon.ready()
        number, _ = daemon.told("asked")
        rules = daemon.child("rules")
        user, password = login(folder)
        send = [need("mosquitto_pub"), "-h", "127.0.0.1", "-p", str(port), "-u", user]
        yield daemon, [*send, "-P", password, "-q", "1", "-s", "-t"], request.param
        far.kill()
        daemon.told("gauge_changed", start=number, state="lost")
        assert daemon.child("rules") == rules
        assert daemon.end() == 0
    assert not any("Traceback" in line for line in daemon.errors.texts())


@pytest.mark.parametrize("leaf", ["results", "command", "journal", "heartbeat", "state"])
def test_no_message_on_the_bus_ends_a_bench_kept_or_not(pestered, leaf):
    daemon, send, payload = pestered
    topic, rules, start = f"barrelfit/stand/{leaf}", daemon.child("rules"), daemon.lines.count()
    for kept in ([], ["-r"]):
        subprocess.run([*send, topic, *kept], input=payload, check=True, timeout=PATIENCE_S)  # noqa: S603
    if leaf in {"results", "command"}:
        refused = daemon.told("message_refused", start=start, topic=topic)[1]["data"]
        assert len(refused["start"]) <= 200
    assert daemon.child("rules") == rules
    assert daemon.process.poll() is None
