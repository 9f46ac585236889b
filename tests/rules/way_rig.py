"""A bench that asks the whole way of a job, and somebody who answers it."""

import pytest

from barrelfit.rules.bench.phases import READ_NS, ToTell
from barrelfit.rules.engine.parts import STEPS
from barrelfit.rules.events import EntryMade, PedalPressed
from barrelfit.rules.told import FactTold
from tests.rules.step_rig import WHO, Hand, gone_once, with_steps

SETUP = with_steps(Hand().bench.setup, barrel=Hand().bench.setup.keys.tables("barrel"))
READ_S = READ_NS / 1e9 + 0.1
ANSWERS = {
    "looked": "good",
    "size_stamp": "absent",
    "group_stamp": "II",
    "clearance_stamp": "absent",
    "pin_class": "absent",
    "class": "white",
    "weight_stamp": "absent",
    "direction_stamp": "arrow",
    "crown": "flat",
    "kind": "iron-liner",
    "seal": "spigot",
    "head_seal": "spigot",
    "cleaned": "done",
    "height_marked": "done",
    "feeler": "out",
    "play": "none",
    "mass_g": "512",
    "height_group": "1",
}
SIZES = {
    "skirt": "84.920",
    "bore": "85.010",
    "gap": "0.4",
    "gap-bore": "85.010",
    "diameter": "23.000",
    "side": "0.05",
    "side-all": "0.03",
}


def way(steps=STEPS, **keys) -> Hand:
    hand = Hand(setup=with_steps(SETUP, steps=steps, **keys))
    hand.t_s += READ_S
    return hand


def answer(hand: Hand, value: str, **more) -> list:
    """What is told on the board to what is asked, once it could be read."""
    hand.t_s += READ_S
    phase = hand.bench.phase
    assert isinstance(phase, ToTell), phase
    unit = {"mass_g": "g", "size_stamp": "mm"}.get(phase.ask.at.feature, "")
    given = {"unit": unit, "who": WHO, "ask": phase.number, **more}
    return list(hand.feed(FactTold(hand.now_ns(), phase.ask.at, value, **given)))


def press(hand: Hand, action: str = "next", after_s: float = READ_S) -> list:
    hand.t_s += after_s
    return list(hand.feed(PedalPressed(hand.now_ns(), action, device="usb:1209:0002")))


def of(found: list, kind: type) -> list:
    return [one for one in found if isinstance(one, kind)]


def through(hand: Hand, until: str = "", most: int = 900) -> list[str]:
    """Answer everything until a fact or feature of that name is asked for; gives what was asked."""
    asked = []
    for n in range(most):
        planned = hand.bench.asked
        if planned is None or planned.at.feature == until:
            return asked
        asked.append(planned.at.feature)
        if isinstance(hand.bench.phase, ToTell):
            leaf = planned.at.direction.split()[:1]
            is_least = bool(leaf) and float(leaf[0]) < 0.05
            answer(hand, "in" if is_least else ANSWERS.get(planned.at.feature) or f"N{n}")
        else:
            typed = SIZES[planned.at.feature]
            hand.feed(EntryMade(hand.now_ns(), planned.at, typed, "mm", WHO, why="typed"))
    return pytest.fail("the way never ends")


@gone_once
def at_feeler() -> Hand:
    """A set of which everything is measured but its rings."""
    hand = way(steps=("rings",), left_out=("pins", "mass", "looked-at"))
    through(hand, "feeler")
    return hand
