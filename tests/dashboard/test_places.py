"""What is measured has words of its own, and narrow names stay apart."""

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from barrelfit.acquire.inputs.setup import setup_of
from barrelfit.dashboard.board.places import feature_words, place_words, short_names
from barrelfit.dashboard.html.picture import part_picture
from barrelfit.dashboard.words import say
from barrelfit.rules.engine.catalogue import FEATURES, feature
from barrelfit.rules.judge.plan import features
from barrelfit.rules.model import FeatureId
from tests.acquire.recorded import opening


@pytest.mark.parametrize(
    ("place", "words"),
    [
        (FeatureId("P1", "skirt", "", ""), "P1 skirt"),
        (FeatureId("B3", "bore", "top", "thrust"), "B3 bore top thrust"),
        (FeatureId("W1", "diameter", "", ""), "W1 wrist pin"),
        (FeatureId("P2", "side-all", "oil", ""), "P2 oil ring, side clearance all round"),
        (FeatureId("P2", "gap", "1st", ""), "P2 1st ring, closed gap"),
        (FeatureId("X1", "novelty", "", "pin"), "X1 novelty pin"),
        (FeatureId("X1", "", "", ""), "X1"),
        (None, ""),
    ],
)
def test_a_place_in_words(place, words):
    assert place_words(place) == words


def test_every_feature_of_a_shipped_plan_has_words():
    setup = setup_of(opening())
    for planned in features(setup.sheet, setup.engine):
        assert feature(planned.at.feature) is not None


def test_a_column_is_headed_without_its_part():
    assert feature_words(FeatureId("B1", "bore", "top", "pin")) == "bore top pin"


def test_short_names_stay_apart_and_short_ones_stay():
    assert short_names(("P1", "P2")) == ("P1", "P2")
    assert short_names(("Kolben-9-links", "Kolben-10-links")) == ("K…9", "K…10")
    assert short_names(("Kolben-10", "Kolben-11", "Kolben-12")) == ("K…10", "K…11", "K…12")
    assert short_names(("left front", "right front")) == ("left front", "right front")
    assert short_names(("only-one-of-it",)) == ("only-one-of-it",)


@given(st.lists(st.text("ab1-", min_size=1, max_size=12), min_size=2, max_size=6, unique=True))
def test_different_names_never_look_the_same(names):
    shorts = short_names(sorted(names))
    assert len(set(shorts)) == len(names)
    assert all(one != other for one, other in pairwise(shorts))


@pytest.mark.parametrize("entry", FEATURES, ids=lambda f: f.name)
def test_every_feature_of_the_catalogue_has_a_picture_of_its_own_kind(entry):
    label = {
        "skirt": "skirt_picture",
        "grooves": "part_picture",
        "piston": "part_picture",
        "pin": "pin_picture",
        "ring": "ring_picture",
        "bore": "bore_picture",
    }[entry.picture]
    assert say(label) in part_picture(FeatureId("X1", entry.name), "", (), ())
