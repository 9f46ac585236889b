"""Makes README's picture of the board: `python -m tests.system.picture`.

Plays the demonstration until a part has a size and a verdict, and writes what a browser shows
then to tests/pictures/bench.png.
"""

import json
import signal
import subprocess
import sys
from pathlib import Path

from tests.system.board_browser import IN_PAGE
from tests.system.board_rig import browser
from tests.system.ports import free_port

PICTURE = Path(__file__).resolve().parents[1] / "pictures" / "bench.png"
SIZE = {"width": 1280, "height": 800}
SPEED = "4"
WAIT_S = 240


def main() -> int:
    """Play and look; returns 0 when the picture is written."""
    command = [sys.executable, "-m", "barrelfit.acquire", "demo", "--json", "--speed", SPEED]
    command += ["--board-port", str(free_port())]
    demo = subprocess.Popen(command, stdout=subprocess.PIPE)  # noqa: S603
    assert demo.stdout is not None
    try:
        said = (json.loads(line) for line in demo.stdout)
        url = next(words["url"] for words in said if words["kind"] == "board")
        with browser() as opened:
            page = opened.new_page(viewport=SIZE)
            page.goto(f"{url}/bench?id=bench-1")
            answered = (
                f"() => ({IN_PAGE})('.board')?.dataset.stage === 'answer'"
                f" && !!({IN_PAGE})('[data-id=answer] .size ~ .word')"
            )
            page.wait_for_function(answered, timeout=WAIT_S * 1_000)
            PICTURE.parent.mkdir(exist_ok=True)
            page.screenshot(path=PICTURE)
    finally:
        demo.send_signal(signal.SIGINT)
        demo.wait(20)
        demo.stdout.close()
    return 0


if __name__ == "__main__":
    sys.exit(main())
