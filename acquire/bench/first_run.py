"""Runs a bench that nobody wrote a file for: set up in the browser, run, set up anew, run again."""

import contextlib
import json
import os
import signal
import subprocess
import sys
import time
import webbrowser
from dataclasses import replace
from types import FrameType
from typing import IO, Final

from barrelfit.acquire.bench.board_child import said_in
from barrelfit.acquire.bench.run import RunOptions, run_bench
from barrelfit.acquire.errors import UserError
from barrelfit.rules.manner import told
from barrelfit.rules.said import said

USUAL_FILE: Final = "bench.toml"
_SEEN_S: Final = 1.5
"""How long the page may take to show that it is done, before its server makes room."""
_END_S: Final = 5.0


def run_from_nothing(options: RunOptions) -> int:
    """Set a bench up where it has no file, and run it with its board; and again when asked to.

    Args:
        options: how to run it; its file is there or not yet.

    Raises:
        UserError: what the user can mend.
    """
    setting_up = not options.bench_file.exists()
    while True:
        if setting_up and not _set_up(options):
            return 0
        setting_up = False

        def anew() -> None:
            nonlocal setting_up
            setting_up = True

        code = run_bench(replace(options, set_up=anew, wait=True))
        if not setting_up:
            return code


def _set_up(options: RunOptions) -> bool:
    """Serve the set-up page until the file is written; whether it was."""
    try:
        for number, usual in ((signal.SIGINT, _interrupted), (signal.SIGTERM, signal.SIG_DFL)):
            signal.signal(number, usual)  # a bench that ran before has put its own there
        return _served(options)
    except KeyboardInterrupt:
        return False


def _interrupted(number: int, _frame: FrameType | None) -> None:
    """Ctrl-C ends the set-up; one more must not break off what it ends with."""
    signal.signal(number, signal.SIG_IGN)
    raise KeyboardInterrupt


def _served(options: RunOptions) -> bool:
    child = subprocess.Popen(  # noqa: S603  our own program
        [
            *(sys.executable, "-m", "barrelfit.dashboard", "--port", str(options.board_port)),
            *("--watch-stdin", "--bench-file", str(options.bench_file), "--set-up"),
        ],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        start_new_session=True,
    )
    try:
        done = _hear(child.stdout, options)
        if done:
            time.sleep(_SEEN_S)
        elif child.poll() is not None or child.wait(_END_S):
            raise UserError([said("set_up_ended")])
    finally:
        _end(child)
    return done


def _hear(says: IO[bytes] | None, options: RunOptions) -> bool:
    """Hear where the page is, and that it is done."""
    for line in says or ():
        heard = said_in(line)
        if heard.board:
            _show(heard.board, options)
        if heard.set_up:
            return True
    return False


def _show(url: str, options: RunOptions) -> None:
    """Open the page where there is a screen; say its address in any case."""
    as_json = json.dumps({"kind": "set_up", "url": url}, separators=(",", ":"))
    sys.stdout.write((as_json if options.as_json else told(said("set_up_at", url=url))) + "\n")
    sys.stdout.flush()
    if os.name != "posix" or os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY"):
        with contextlib.suppress(webbrowser.Error):
            webbrowser.open(url)


def _end(child: subprocess.Popen[bytes]) -> None:
    child.terminate()
    try:
        child.wait(_END_S)
    except subprocess.TimeoutExpired:
        child.kill()
        child.wait()
    for pipe in (child.stdin, child.stdout):
        if pipe is not None:
            pipe.close()
