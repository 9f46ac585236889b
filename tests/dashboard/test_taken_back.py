"""An undo says what it took back, until the hand goes on."""

from barrelfit.dashboard.view.passes import caution
from tests.dashboard.scripted import ScriptedBench
from tests.dashboard.test_view import MM, NOW, board_after, heard, place

P1, P2 = place("P1", "skirt"), place("P2", "skirt")


def undone(script, *places):
    pressed = script.event("pedal_pressed", {"t_ns": 1, "action": "undo", "who": "A. Smith"})
    cause = {"because": pressed["seq"]}
    backs = [{**script.event("taken_back", {"at": at}), **cause} for at in places]
    return script.batch(pressed, *backs, {**script.asked(0), **cause})


def measured():
    script = ScriptedBench()
    board = board_after([script.snapshot(), *script.sweep(0), script.batch(script.asked(1))])
    heard(board, script.batch(script.sized(P2, 84_900_000, [84_900_000] * 5)), NOW)
    assert caution(board, MM, NOW) == ""
    return script, board


def test_the_last_size_is_named_until_the_next_contact():
    script, board = measured()
    heard(board, undone(script, P2), NOW)
    assert caution(board, MM, NOW) == "taken back: P2 skirt"
    contact = script.event("contact", {"at": P1, "t_ns": script.t_ns})
    heard(board, script.batch(contact), NOW)
    assert caution(board, MM, NOW) == ""


def test_one_press_after_another_names_its_own():
    script, board = measured()
    heard(board, undone(script, P2), NOW)
    heard(board, undone(script, P1), NOW)
    assert caution(board, MM, NOW) == "taken back: P1 skirt"


def test_what_goes_with_one_press_is_named_together_and_gone_with_the_next_size():
    script, board = measured()
    heard(board, undone(script, P2, P1), NOW)
    assert caution(board, MM, NOW) == "taken back: P2 skirt, P1 skirt"
    heard(board, script.batch(script.sized(P1, 84_900_000, [84_900_000] * 5)), NOW)
    assert caution(board, MM, NOW) == ""


def test_a_fact_that_is_told_after_it_is_what_is_new():
    script, board = measured()
    heard(board, undone(script, P2), NOW)
    at = {"part": "P1", "feature": "cleaned", "depth": "", "direction": ""}
    fact = {"at": at, "value": "true", "before": "", "who": "A. Smith", "by": "pedal"}
    heard(board, script.batch(script.event("fact_taken", fact)), NOW)
    assert caution(board, MM, NOW) == ""
