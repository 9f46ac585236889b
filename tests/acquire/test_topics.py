"""Topic names: what is built is parsed, everything else is none of ours."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from barrelfit.acquire.topics import BENCH_NAME, LEAVES, parse_topic, topic

NAMES = st.from_regex(BENCH_NAME, fullmatch=True)


@given(NAMES, st.sampled_from(LEAVES))
def test_what_is_built_is_parsed(bench, leaf):
    assert parse_topic(topic(bench, leaf)) == (bench, leaf)


@given(st.text(max_size=60))
def test_any_text_is_parsed_or_none(text):
    found = parse_topic(text)
    if found is not None:
        assert topic(*found) == text


@pytest.mark.parametrize(
    "name",
    [
        "barrelfit/b/journal/more",
        "barrelfit/b",
        "barrelfit//journal",
        "barrelfit/+/journal",
        "barrelfit/#",
        "barrelfit/a b/journal",
        "barrelfit/-b/journal",
        "other/b/journal",
        "barrelfit/b/gossip",
        "barrelfit/" + 41 * "b" + "/journal",
    ],
)
def test_what_is_none_of_ours(name):
    assert parse_topic(name) is None
