"""How a command ends that is told to, or that nobody reads: nothing may lose that on the way."""

import os
import signal
import subprocess
import sys
from pathlib import Path
from typing import BinaryIO

import pytest

HOUSE = Path(__file__).resolve().parents[2]
PRESSED = """
import os, signal, sys

class Pressed:
    def find_spec(self, name, path=None, target=None):
        if name == {module!r}:
            sys.meta_path.remove(self)
            try:
                os.kill(os.getpid(), signal.SIGINT)
                for _ in range(1000):
                    pass
            except KeyboardInterrupt:
                pass  # as in a callback of the interpreter's own, where it is only noted

sys.argv = ["barrelfit", *{words!r}]
from barrelfit.acquire.__main__ import main
sys.meta_path.insert(0, Pressed())
main()
"""


@pytest.mark.slow
@pytest.mark.parametrize(
    ("words", "module"),
    [
        (["run", "none.toml"], "barrelfit.acquire.commands.run"),
        (["run", "none.toml"], "barrelfit.acquire.bench.run"),
        (["run", "none.toml"], "barrelfit.acquire.bench.daemon"),
        (["demo", "--headless", "--benches", "0"], "barrelfit.acquire.demo.run"),
        (["--help"], "barrelfit.acquire.commands.judge"),
    ],
)
def test_ctrl_c_while_it_loads_ends_it_whatever_is_done_with_an_exception(words, module):
    done = subprocess.run(  # noqa: S603
        [sys.executable, "-c", PRESSED.format(module=module, words=words)],
        capture_output=True,
        check=False,
        cwd=HOUSE,
        timeout=60,
    )
    assert (done.returncode, done.stderr) == (-signal.SIGINT, b"")


@pytest.mark.slow
def test_ctrl_c_in_the_middle_of_a_command_is_told_by_its_exit_code():
    command = [sys.executable, "-m", "barrelfit.acquire", "judge", "-", "--sheet", "flat-four-85"]
    child = subprocess.Popen(  # noqa: S603
        command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.PIPE
    )
    assert child.stdin is not None
    try:
        child.stdin.write(b"# it reads on\n" * 100_000)  # more than a pipe holds: it is at work
        child.stdin.flush()
        child.send_signal(signal.SIGINT)
        _, errors = child.communicate(timeout=60)
    finally:
        child.kill()
    assert (child.returncode, errors) == (130, b"")


def read_into(standard_output: int | BinaryIO, words: list[str]) -> subprocess.CompletedProcess:
    """Have a journal read by a command, and what it says go there."""
    journal = str(HOUSE / "tests" / "journals" / "v8.jsonl")
    return subprocess.run(  # noqa: S603
        [sys.executable, "-m", "barrelfit.acquire", *words, journal],
        stdout=standard_output,
        stderr=subprocess.PIPE,
        check=False,
        timeout=60,
    )


@pytest.mark.slow
@pytest.mark.parametrize("words", [["verify"], ["replay"], ["replay", "--redo"]], ids=" ".join)
def test_whoever_reads_no_further_makes_no_finding_of_it(words):
    """`verify … | head` must not end as if the record were altered."""
    reads, writes = os.pipe()
    os.close(reads)
    try:
        done = read_into(writes, words)
    finally:
        os.close(writes)
    assert (done.returncode, done.stderr) == (141, b"")


@pytest.mark.slow
@pytest.mark.skipif(not Path("/dev/full").exists(), reason="/dev/full is not on this system")
@pytest.mark.parametrize("words", [["verify"], ["replay"], ["replay", "--redo"]], ids=" ".join)
def test_a_full_disk_behind_standard_output_is_told_in_one_sentence(words):
    with Path("/dev/full").open("wb") as full:
        done = read_into(full, words)
    told = b"barrelfit: standard output: No space left on device\n"
    assert (done.returncode, done.stderr) == (2, told)
