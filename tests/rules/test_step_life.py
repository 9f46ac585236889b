"""Whatever the hand does, a size is of the part that was in the gauge when it was swept."""

import pytest

from tests.rules import life

SEEDS = range(8)


@pytest.mark.parametrize("seed", SEEDS)
@pytest.mark.parametrize("hand", [life.following, life.screw, life.bore])
def test_a_size_is_of_the_part_that_was_swept(hand, seed):
    lived = hand(seed)
    assert not lived.wrong
    assert lived.sized >= 4
    assert lived.refused <= 4


@pytest.mark.long
@pytest.mark.timeout(900)
@pytest.mark.parametrize("hand", [life.following, life.screw, life.bore])
def test_many_more_hands(hand):
    lives = [hand(seed) for seed in range(100, 250)]
    assert [one.wrong for one in lives if one.wrong] == []
    refused, sized = sum(one.refused for one in lives), sum(one.sized for one in lives)
    assert refused < 0.12 * sized
