"""One daemon per bench: the second is refused and told who holds it."""

import os
import shutil
import subprocess
import sys

import pytest

from barrelfit.acquire.bench.lock import BenchLock
from barrelfit.acquire.errors import UserError


def test_a_second_holder_is_refused_and_told_who_holds_it(tmp_path):
    path = tmp_path / "bench1.lock"
    held = BenchLock(path, "bench1")
    with pytest.raises(UserError, match=rf"process {os.getpid()} \(bench 'bench1'\)"):
        BenchLock(path, "bench1")
    held.release()
    BenchLock(path, "bench1").release()


def test_a_lock_file_that_says_nothing(tmp_path):
    path = tmp_path / "bench1.lock"
    with BenchLock(path, "bench1"):
        path.write_text("", encoding="utf-8")
        with pytest.raises(UserError, match="by another process"):
            BenchLock(path, "bench1")


def test_a_lock_that_is_taken_away_is_made_again_and_nobody_gets_in_between(tmp_path, caplog):
    path = tmp_path / "sessions" / "bench1.lock"
    path.parent.mkdir()
    held = BenchLock(path, "bench1")
    held.look()
    assert caplog.messages == []
    shutil.rmtree(path.parent)
    held.look()
    assert "it is there again" in caplog.messages[0]
    with pytest.raises(UserError, match=rf"process {os.getpid()} \(bench 'bench1'\)"):
        BenchLock(path, "bench1")
    path.rename(path.with_name("elsewhere"))
    other = BenchLock(path, "bench1")  # somebody was quicker: it is told, once
    held.look()
    held.look()
    assert [m for m in caplog.messages if "already run by process" in m] == caplog.messages[1:]
    assert len(caplog.messages) == 2
    other.release()
    held.look()
    with pytest.raises(UserError):
        BenchLock(path, "bench1")
    held.release()
    BenchLock(path, "bench1").release()


@pytest.mark.system
@pytest.mark.slow
def test_a_killed_holder_leaves_nothing_to_clean_up(tmp_path):
    path = tmp_path / "bench1.lock"
    code = (
        "import sys; from pathlib import Path; from barrelfit.acquire.bench.lock import BenchLock;"
        "lock = BenchLock(Path(sys.argv[1]), 'bench1'); print('held', flush=True);"
        "sys.stdin.read()"
    )
    holder = subprocess.Popen(  # noqa: S603  our own interpreter
        [sys.executable, "-c", code, str(path)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
    )
    with holder:
        assert holder.stdout.readline() == b"held\n"
        with pytest.raises(UserError, match=f"process {holder.pid} "):
            BenchLock(path, "bench1")
        holder.kill()
        holder.wait()
    BenchLock(path, "bench1").release()


def links(path, victim):
    return {
        "symlink": lambda: path.symlink_to(victim),
        "hard link": lambda: path.hardlink_to(victim),
        "dangling": lambda: path.symlink_to(victim.with_name("nowhere")),
        "pipe": lambda: os.mkfifo(path),
        "folder": path.mkdir,
    }


@pytest.mark.parametrize("kind", ["symlink", "hard link", "dangling", "pipe", "folder"])
def test_what_is_no_lock_of_ours_is_never_written_to(tmp_path, kind):
    path, victim = tmp_path / "bench1.lock", tmp_path / "precious"
    victim.write_text("precious", encoding="ascii")
    links(path, victim)[kind]()
    with pytest.raises(UserError, match=r"bench1\.lock: can't be this bench's lock"):
        BenchLock(path, "bench1")
    assert victim.read_text(encoding="ascii") == "precious"
    assert not victim.with_name("nowhere").exists()


def test_a_lock_is_its_owner_s_alone(tmp_path):
    path = tmp_path / "bench1.lock"
    with BenchLock(path, "bench1"):
        assert path.stat().st_mode & 0o777 == 0o600
