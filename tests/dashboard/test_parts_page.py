"""The parts page's form, as Streamlit runs it: what is told goes to the bench as it was told."""

import pytest
from streamlit.testing.v1 import AppTest

from barrelfit.acquire.bus.payloads import Answer
from barrelfit.acquire.bus.set_told import PartKnown
from barrelfit.acquire.inputs.photo import SPARE_BYTES, keep_photo
from barrelfit.dashboard.board.hub import Hub, install
from tests.acquire.photos_taken import shot
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


def test_photos_of_a_part_are_shown_when_they_are_asked_for(tmp_path):
    """Those that are there as they were taken; of another it is told."""
    names = [keep_photo(tmp_path, shot(turned=n), 10 * SPARE_BYTES) for n in (1, 3)]
    (tmp_path / names[1]).write_bytes(b"else")
    hub = Asked(tmp_path)
    board = hub._own_board
    facts = {f"photos/{name[7:23]}": name for name in names}
    board.parts = [
        PartKnown(p.part, p.kind, p.facts | (facts if p.part == "P2" else {})) for p in board.parts
    ]
    install(hub)
    test = AppTest.from_function(page, default_timeout=20)
    test.query_params["id"] = "b"
    test.session_state["part"] = "P2"
    test.run()
    assert not test.exception
    assert not test.get("image")
    [toggle] = [t for t in test.toggle if t.label == "Photos (2)"]
    toggle.set_value(True).run()
    assert not test.exception
    assert len(test.get("image")) == 1
    assert any("is not the one that was taken" in e.value for e in test.error)
