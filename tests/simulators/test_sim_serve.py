"""A simulated bench as a process: ports to read, truth told, an end that leaves nothing."""

import json
import os
import select
import signal
import subprocess
import sys
import termios
import time
from contextlib import contextmanager

import pytest

pytestmark = pytest.mark.system


@contextmanager
def simulator(*arguments):
    process = subprocess.Popen(  # noqa: S603  our own module
        [sys.executable, "-m", "barrelfit.simulators", *arguments],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
    )
    try:
        yield process
    finally:
        if process.poll() is None:
            process.kill()
        process.wait(5)
        for stream in (process.stdin, process.stdout, process.stderr):
            stream.close()


def told(process, until):
    """JSON lines of the process up to the first that has the key `until`."""
    lines = []
    while not lines or until not in lines[-1]:
        text = process.stdout.readline()
        assert text, process.stderr.read().decode()
        lines.append(json.loads(text))
    return lines


def opened(name):
    fd = os.open(name, os.O_RDWR | os.O_NOCTTY | os.O_NONBLOCK)
    local_flags = termios.tcgetattr(fd)[3]
    assert not local_flags & (termios.ICANON | termios.ECHO)  # raw: bytes pass unchanged
    return fd


def read_for(fds, seconds):
    got = dict.fromkeys(fds, b"")
    end = time.monotonic() + seconds
    while (left := end - time.monotonic()) > 0:
        for fd in select.select(fds, [], [], left)[0]:
            got[fd] += os.read(fd, 4096)
    return got


def ports(lines):
    return {line["gauge"]: line["port"] for line in lines if "gauge" in line}


@pytest.mark.slow
def test_bench_plays_a_sweep_when_the_board_asks(tmp_path):
    with simulator("serve", "--speed", "20", "--link-dir", str(tmp_path)) as process:
        lines = told(process, "truth")
        while sum("truth" in line for line in lines) < 28:
            lines += told(process, "truth")
        assert "seed" in lines[0]
        names = ports(lines)
        assert names == {g: str(tmp_path / g) for g in ("micrometer", "bore-gauge")}
        taken = {line["temperature"]["of"] for line in lines if "temperature" in line}
        assert taken == {"part", "gauge"}
        truth = {
            (t["part"], t["depth"], t["direction"]): t["size_now_nm"]
            for t in (line["truth"] for line in lines if "truth" in line)
        }
        micrometer, bore = opened(names["micrometer"]), opened(names["bore-gauge"])
        time.sleep(0.5)
        rest = read_for([micrometer], 0.3)[micrometer].split(b"\r\n")[1:-1]
        assert len(rest) > 30  # 10 readings a second, twenty times as fast
        assert max(float(text) for text in rest) < 84.0  # on its stop: nothing in the gauge
        look = {"look": "asked", "part": "B1", "feature": "bore", "depth": "top"}
        look |= {"direction": "pin", "gauge": "bore-gauge"}
        process.stdin.write(json.dumps(look).encode() + b"\nno json\n[1]\n")
        process.stdin.flush()
        got = read_for([bore], 1.0)[bore].split(b"\r")[1:-1]
        shown_nm = [int(text[-8:]) * 1_000 for text in got]  # eight digits, three decimals
        true_nm = truth["B1", "top", "pin"]
        assert sum(abs(shown - true_nm) < 10_000 for shown in shown_nm) >= 3
        assert sum(shown < true_nm - 5_000 for shown in shown_nm) <= 3  # bounces only
        process.stdin.close()  # the end of its standard input is its end
        assert process.wait(5) == 0
        assert "served" in json.loads(process.stdout.read().splitlines()[-1])
        assert list(tmp_path.iterdir()) == []
        os.close(micrometer)
        os.close(bore)


@pytest.mark.slow
def test_bench_ends_on_sigterm_and_takes_its_ports_along(tmp_path):
    with simulator("serve", "--link-dir", str(tmp_path), "--bench", "2") as process:
        told(process, "truth")
        assert len(list(tmp_path.iterdir())) == 2
        process.send_signal(signal.SIGTERM)
        assert process.wait(5) == 0
        assert list(tmp_path.iterdir()) == []


@pytest.mark.slow
def test_bench_plays_by_a_plan_and_ends_with_it(tmp_path):
    plan = tmp_path / "plan.jsonl"
    asked = {"look": "asked", "part": "P4", "feature": "skirt", "gauge": "micrometer"}
    plan.write_text(json.dumps({**asked, "for_s": 15.0}) + "\n", encoding="utf-8")
    arguments = ("--plan", str(plan), "--speed", "30", "--profile", "micrometer=signed-decimal-cr")
    with simulator("serve", *arguments) as process:
        lines = told(process, "truth")
        assert lines[1]["profile"] == "signed-decimal-cr"
        names = ports(lines)
        fds = [opened(name) for name in names.values()]
        got = read_for(fds, 1.2)[fds[0]].split(b"\r")[1:-1]
        assert sum(abs(float(text) - 84.8646) < 0.02 for text in got) >= 3
        assert process.wait(5) == 0
        for fd in fds:
            os.close(fd)


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["serve", "--scenario", "no-such.toml"], b"no-such.toml"),
        (["line", "--profile", "no-such"], b"no profile is called 'no-such'"),
        (["line", "--profile", "signed-decimal-cr", "--trouble", "melt=1"], b"no fault is called"),
    ],
)
@pytest.mark.slow
def test_mistakes_are_said_in_a_sentence(arguments, said):
    with simulator(*arguments) as process:
        assert process.wait(10) == 2
        text = process.stderr.read()
        assert said in text
        assert b"Traceback" not in text


def some(data):
    if not data:
        raise OSError
    return data


def follow(process, link, seconds):
    """Everything a stubborn reader gets from a port that comes and goes."""
    got, fd = b"", None
    end = time.monotonic() + seconds
    while process.poll() is None and time.monotonic() < end:
        try:
            if fd is None:
                fd = opened(link)
            select.select([fd], [], [], 0.05)
            got += some(os.read(fd, 4096))
        except BlockingIOError:
            continue
        except OSError:
            if fd is not None:
                os.close(fd)
                fd = None
            time.sleep(0.01)
    return got


@pytest.mark.slow
def test_oracle_holds_exactly_what_arrives_through_every_trouble(tmp_path):
    book, link = tmp_path / "sent.jsonl", tmp_path / "port"
    trouble = "drop=0.03,flip=0.03,cut=0.03,double=0.03,trickle=0.02,garbage=0.03,unplug=0.01"
    arguments = ["line", "--profile", "signed-decimal-cr", "--rate", "200", "--count", "200"]
    arguments += ["--oracle", str(book), "--link", str(link), "--trouble", trouble, "--seed", "2"]
    with simulator(*arguments) as process:
        told(process, "port")
        got = follow(process, link, 25.0)
        assert process.wait(5) == 0
    entries = [json.loads(line) for line in book.read_text(encoding="utf-8").splitlines()]
    assert [entry["n"] for entry in entries] == list(range(200))
    assert [entry["length_nm"] for entry in entries][:2] == [12_000_000, 12_001_000]
    assert "unplug" in {entry["fault"] for entry in entries}
    assert got == b"".join(bytes.fromhex(entry["sent_hex"]) for entry in entries)
    clean = [entry for entry in entries if not entry["fault"]]
    assert all(entry["frame_hex"] == entry["sent_hex"] for entry in clean)
    assert not link.exists()


@pytest.mark.slow
def test_polled_gauge_answers_only_when_asked(tmp_path):
    arguments = ["line", "--profile", "signed-decimal-on-request", "--count", "3", "--rate", "50"]
    with simulator(*arguments, "--settle", "0") as process:
        fd = opened(told(process, "port")[-1]["port"])
        assert read_for([fd], 0.2)[fd] == b""
        answers = []
        for _ in range(3):
            os.write(fd, b"?\r")
            answers.append(read_for([fd], 0.15)[fd])
        assert answers == [b"+012.000\r", b"+012.001\r", b"+012.002\r"]
        assert process.wait(5) == 0
        os.close(fd)
