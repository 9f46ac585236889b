"""The page without an address: the only bench's screen, until another bench is heard."""

import time

import pytest

from tests.dashboard.scripted import ScriptedBench
from tests.system.board_browser import wait_text
from tests.system.board_rig import BoardProcess, Broker, Publisher, Repeater, browser, need

pytestmark = [pytest.mark.system, pytest.mark.slow, pytest.mark.timeout(300)]


def test_the_only_benchs_screen_makes_room_for_the_floor_when_another_is_heard(tmp_path):
    need("chromium")
    broker = Broker(tmp_path)
    publisher = Publisher(broker.port)
    board = BoardProcess(broker.port, tmp_path)
    beats = []

    def comes(name: str) -> None:
        script = ScriptedBench(bench=name, session=f"s-{name}", clock=time.monotonic_ns)
        opened = script.batch(script.event("session_opened", {"job": "77"}))
        for message in (script.state(), opened):
            publisher.say(message)
        beats.append(Repeater(publisher, script.heartbeat, 0.4))

    try:
        with browser() as opened:
            page = opened.new_page(viewport={"width": 1280, "height": 800})
            comes("first")
            page.goto(f"{board.url}/bench?id=first")
            wait_text(page, "[data-id=name]", "first")
            page.goto(board.url)
            wait_text(page, "[data-id=name]", "first")
            comes("second")
            wait_text(page, "[data-list=cards]", "second")
            wait_text(page, "[data-list=cards]", "first")
    finally:
        for beat in beats:
            beat.stop()
        board.stop()
        publisher.close()
        broker.stop()
