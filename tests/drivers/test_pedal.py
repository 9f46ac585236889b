"""The foot pedal: press, long press, double press; every cell of its table."""

from itertools import product

import pytest

from barrelfit.drivers.pedal import TABLE, Pedal, PedalEvent, PedalState

MS = 1_000_000
ACTIONS = {"press": "next", "long": "again", "double": "undo"}


def play(*steps, actions=ACTIONS):
    """Moves as (ms, down or None for a look at the clock); gives (ms, action) of what came."""
    pedal = Pedal(actions, long_ms=700, double_ms=300)
    made = []
    for ms, down in steps:
        got = pedal.idle(ms * MS) if down is None else pedal.moved(down=down, t_ns=ms * MS)
        made += [(ms, action) for action in got]
    return made


def test_the_table_has_every_cell():
    assert set(TABLE) == set(product(PedalState, PedalEvent))


@pytest.mark.parametrize(
    ("steps", "made"),
    [
        ([(0, True), (100, False), (399, None), (400, None)], [(400, "next")]),
        ([(0, True), (699, None), (700, None), (900, None), (1000, False)], [(700, "again")]),
        ([(0, True), (100, False), (350, True), (420, False), (900, None)], [(350, "undo")]),
        # two single presses, far enough apart
        (
            [(0, True), (100, False), (500, True), (600, False), (950, None)],
            [(500, "next"), (950, "next")],
        ),
        # bounces of the contact are neither presses nor releases
        ([(0, True), (5, False), (9, True), (200, False), (600, None)], [(600, "next")]),
        ([(0, True), (100, False), (105, True), (110, False), (500, None)], [(500, "next")]),
        # a release that came within the bounce time counts once it has stood
        ([(0, True), (10, False), (30, None), (400, None)], [(400, "next")]),
        # held while the system repeats the key
        ([(0, True), (250, True), (280, True), (400, False), (800, None)], [(800, "next")]),
    ],
)
def test_presses(steps, made):
    assert play(*steps) == made


def test_an_action_may_be_nothing():
    quiet = ACTIONS | {"double": "nothing"}
    steps = [(0, True), (100, False), (200, True), (300, False), (900, None)]
    assert play(*steps, actions=quiet) == []


def test_an_unplugged_pedal_forgets_a_press_half_done():
    pedal = Pedal(ACTIONS, 700, 300)
    pedal.moved(down=True, t_ns=0)
    pedal.lost()
    assert pedal.idle(5000 * MS) == []
    pedal.moved(down=True, t_ns=6000 * MS)
    pedal.moved(down=False, t_ns=6100 * MS)
    assert pedal.idle(7000 * MS) == ["next"]


def test_any_key_of_a_report_is_the_pedal():
    pedal = Pedal(ACTIONS, 700, 300)
    for ms, report in ((0, "00 00 05"), (100, "00 00 00"), (500, "01 00 00"), (600, "00 00 00")):
        pedal.report(bytes.fromhex(report) + bytes(5), ms * MS)
    assert pedal.idle(900 * MS) == ["next"]
