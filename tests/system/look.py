"""Screenshots of every state of a bench's screen: `python -m tests.system.look FOLDER [STATE...]`.

Four sizes, light and dark, as the tests of the screens look at them.
"""

import sys
import tempfile
import time
from pathlib import Path

from tests.dashboard.states import STATES, messages
from tests.system.board_browser import IN_PAGE, wait_text
from tests.system.board_rig import BoardProcess, Broker, Publisher, browser
from tests.system.test_board_screens import GROUNDS, PAINT, SIZES


def main() -> int:
    """Feed state after state to one page, and write what it looks like."""
    folder, names = Path(sys.argv[1]), sys.argv[2:] or list(STATES)
    folder.mkdir(parents=True, exist_ok=True)
    rest = Path(tempfile.mkdtemp())
    broker = Broker(rest)
    publisher, board = Publisher(broker.port), BoardProcess(broker.port, rest)
    try:
        with browser() as opened:
            page = opened.new_page(viewport={"width": 1920, "height": 1080})
            page.goto(f"{board.url}/bench?id=bench-1")
            for name in names:
                for message in messages(name, "bench-1", time.monotonic_ns):
                    publisher.say(message)
                wait_text(page, "[data-id=job]", f"job {name}")
                for width, height in SIZES:
                    page.set_viewport_size({"width": width, "height": height})
                    for theme, ground in GROUNDS.items():
                        page.evaluate(PAINT, ground)
                        page.wait_for_function(f"() => !!({IN_PAGE})('.stage')")
                        page.screenshot(path=folder / f"{name}-{width}-{theme}.png")
    finally:
        board.stop()
        publisher.close()
        broker.stop()
    return 0


if __name__ == "__main__":
    sys.exit(main())
