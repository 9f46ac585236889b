"""Troubles of a cable: by seed, by share, and each as it is on a real line."""

import random

import pytest

from barrelfit.simulators.errors import SimulatorError
from barrelfit.simulators.trouble import FAULTS, ODD, Trouble, shares_from, with_parity

FRAME, INCHES = b"+012.345\r", b"+000.486\r"


def strike(shares, seed=1, times=2_000):
    trouble = Trouble(shares, random.Random(seed))
    return [trouble.strike(FRAME, INCHES) for _ in range(times)]


def test_no_trouble_leaves_every_frame_alone():
    assert all(
        name == "" and [s.data for s in steps] == [FRAME] for name, steps in strike({}, times=50)
    )


def test_same_seed_same_trouble():
    shares = dict.fromkeys(FAULTS, 0.05)
    assert strike(shares, 3) == strike(shares, 3)
    assert strike(shares, 3) != strike(shares, 4)


def test_shares_are_kept():
    struck = [name for name, _ in strike({"drop": 0.1, "flip": 0.2})]
    assert 150 < struck.count("drop") < 250
    assert 320 < struck.count("flip") < 480


def sent(name, seed=1):
    (_, steps), *_ = strike({name: 1.0}, seed, times=1)
    return b"".join(step.data for step in steps), steps


@pytest.mark.parametrize("seed", range(20))
def test_each_fault_does_what_its_name_says(seed):
    flipped, _ = sent("flip", seed)
    differing = [a ^ b for a, b in zip(flipped, FRAME, strict=True) if a != b]
    assert len(differing) == 1
    assert differing[0].bit_count() == 1
    assert sent("drop", seed)[0] == b""
    assert sent("double", seed)[0] == FRAME + FRAME
    cut, _ = sent("cut", seed)
    assert 0 < len(cut) < len(FRAME)
    assert FRAME.startswith(cut)
    hole, _ = sent("hole", seed)
    assert 0 < len(hole) < len(FRAME)
    trickled, steps = sent("trickle", seed)
    assert trickled == FRAME
    assert all(len(step.data) == 1 and step.wait_s > 0 for step in steps)
    for name in ("stall", "unplug"):
        late, steps = sent(name, seed)
        assert late == FRAME
        assert steps[0].wait_s > 0
        assert steps[0].unplug == (name == "unplug")
    assert sent("wrong-unit", seed)[0] == INCHES
    garbage, _ = sent("garbage", seed)
    assert garbage.endswith(FRAME)
    assert len(garbage) > len(FRAME)


def test_parity_bytes_as_published():
    # a published report of seven-bit gauges read at eight bits gives these bytes
    assert with_parity(b"+012.345\r").hex(" ") == "2b 30 b1 b2 2e 33 b4 35 8d"
    assert with_parity(b"-000.013\r").hex(" ") == "2d 30 30 30 2e 30 b1 33 8d"
    assert with_parity(b"+012.345\r", ODD).hex(" ") == "ab b0 31 32 ae b3 34 b5 0d"


def test_shares_are_read_and_every_mistake_named():
    assert shares_from("") == {}
    assert shares_from("drop=0.01, flip=0.5") == {"drop": 0.01, "flip": 0.5}
    with pytest.raises(SimulatorError) as error:
        shares_from("drop,flip=much")
    assert len(error.value.problems) == 2
    with pytest.raises(SimulatorError, match="no fault is called 'melt'"):
        Trouble({"melt": 0.1}, random.Random(1))
    with pytest.raises(SimulatorError, match="together at most 1"):
        Trouble({"drop": 0.7, "flip": 0.7}, random.Random(1))
