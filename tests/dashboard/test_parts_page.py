"""The parts page's form, as Streamlit runs it: what is told goes to the bench as it was told."""

import pytest
from streamlit.testing.v1 import AppTest

from barrelfit.acquire.bus.payloads import Answer
from barrelfit.dashboard.board.hub import Hub, install
from tests.dashboard.test_pages import StoppedClock
from tests.dashboard.test_parts_view import board_after
from tests.dashboard.test_telling_view import board_after as board_of_job

pytestmark = pytest.mark.slow


class Asked(Hub):
    """A hub that knows one bench, and keeps what is sent to it."""

    def __init__(self, folder):
        super().__init__(StoppedClock(), folder)
        self.sent = []
        self._own_board = board_after()

    def look_at(self, _bench, look):
        return look(self._own_board, 1_000_000_000, None)

    def ask(self, _bench, command):
        self.sent.append(command)
        return Answer(command["id"], ok=True)


def page():
    from barrelfit.dashboard.pages import parts_page  # noqa: PLC0415  this text is the page

    parts_page.parts_page()


def test_a_look_goes_out_with_its_part_its_key_and_who_told_it(tmp_path):
    hub = Asked(tmp_path)
    install(hub)
    test = AppTest.from_function(page, default_timeout=20)
    test.query_params["id"] = "b"
    test.run()
    assert not test.exception
    test.session_state["part"] = "P2"
    test.run()
    test.session_state["value-looked"] = ["good"]
    who = next(t for t in test.text_input if t.label == "Who")
    who.set_value(" ")
    tell = next(b for b in test.button if b.label == "Tell it")
    tell.click().run()
    assert [w.value for w in test.warning] == ["Still missing: Who"]
    who = next(t for t in test.text_input if t.label == "Who")
    who.set_value("A. Smith")
    next(b for b in test.button if b.label == "Tell it").click().run()
    (command,) = hub.sent
    assert command["kind"] == "fact"
    assert command["at"] == {"part": "P2", "feature": "looked", "depth": "", "direction": ""}
    assert (command["value"], command["who"], command["by"]) == ("good", "A. Smith", "board")


def test_what_is_asked_for_is_answered_with_one_touch(tmp_path):
    hub = Asked(tmp_path)
    hub._own_board = board_of_job(("mark",))
    install(hub)
    test = AppTest.from_function(page, default_timeout=20)
    test.query_params["id"] = "b"
    test.run()
    assert not test.exception
    assert any("mark the height on the skirt" in s.value for s in test.header)
    next(t for t in test.text_input if t.label == "Who").set_value("")
    next(b for b in test.button if b.label == "done").click().run()
    assert hub.sent == []  # nobody has said who it is
    assert [w.value for w in test.warning] == ["Still missing: Who"]
    next(t for t in test.text_input if t.label == "Who").set_value("A. Smith")
    next(b for b in test.button if b.label == "done").click().run()
    (command,) = hub.sent
    assert (command["kind"], command["value"], command["who"]) == ("fact", "done", "A. Smith")
    assert command["at"]["feature"] == "height_marked"
    assert command["ask"] == hub._own_board.state.asked.event.ask
