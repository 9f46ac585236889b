"""`barrelfit run` alone, on a machine where nothing was set up: a page, a file, a running bench."""

import json
import os
import signal
import subprocess
import sys
import termios
from contextlib import contextmanager

import pytest

from barrelfit.acquire.inputs.bench_doubts import load_bench
from tests.acquire.rated_gauge import RatedGauge
from tests.system.bench_rig import Lines
from tests.system.board_rig import browser, free_port

PATIENCE_MS = 90_000


@contextmanager
def running(folder, port):
    """The command, with a home of its own and no screen."""
    command = [
        sys.executable,
        "-m",
        "barrelfit.acquire",
        "run",
        "--json",
        "--board-port",
        str(port),
    ]
    home = {"HOME": str(folder), "PATH": os.environ["PATH"]}
    process = subprocess.Popen(  # noqa: S603  our own program
        command, cwd=folder, env=home, stdout=subprocess.PIPE, start_new_session=True
    )
    try:
        yield process, Lines(process.stdout)
    finally:
        process.send_signal(signal.SIGTERM)
        process.wait(60)
        process.stdout.close()


@pytest.mark.system
@pytest.mark.slow
@pytest.mark.timeout(300)
def test_from_nothing_to_a_bench_that_runs(tmp_path):
    frames = [b"+012.345\r\n", b"+012.845\r\n"]
    with (
        RatedGauge(frames, termios.B9600, every_s=0.1) as gauge,
        running(tmp_path, free_port()) as (_, lines),
        browser() as opened,
    ):
        _, _, line = lines.find(lambda text: '"set_up"' in text)
        page = opened.new_page()
        page.goto(json.loads(line)["url"])
        page.set_default_timeout(PATIENCE_MS)
        page.get_by_text("Another port").first.click()
        port = page.locator("input[aria-label^='Another port']")
        port.fill(gauge.port)
        port.press("Enter")
        page.get_by_text("this one moves").wait_for()
        page.get_by_label("Your name").fill("A. Person")
        page.get_by_role("button", name="Save, and run").click()
        page.get_by_text("no job").first.wait_for()  # the bench's own board, at the same address
        page.get_by_text("live").first.wait_for()
        bench, _ = load_bench(tmp_path / "bench.toml")
        assert (bench.who, bench.gauge[0].movement, bench.set) == ("A. Person", "following", None)
        begun = len(lines.seen)
        page.goto(f"{page.url.split('?')[0].rstrip('/')}/setup")
        page.get_by_role("button", name="Change gauges").click()
        lines.find(lambda text: '"set_up"' in text, start=begun)
        page.get_by_text("this one moves").wait_for()
        typed = "document.querySelector('input[aria-label^=Your]')?.value"
        page.wait_for_function(f"() => {typed} === 'A. Person'")


@pytest.mark.system
@pytest.mark.slow
def test_a_set_up_that_is_broken_off_leaves_nothing_behind(tmp_path):
    with running(tmp_path, free_port()) as (process, lines):
        lines.find(lambda text: '"set_up"' in text)
        process.send_signal(signal.SIGINT)
        assert process.wait(30) == 0
    assert not (tmp_path / "bench.toml").exists()
