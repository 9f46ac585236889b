"""What a rule says of a value near its limit or far beyond it."""

import pytest

from barrelfit.rules.compare import Value, chance, over, under
from barrelfit.rules.engine.limits import Limit
from barrelfit.rules.manner import told
from barrelfit.rules.model import Severity
from barrelfit.rules.said import written

LIMIT = Limit(0, 0, written("sheet"), written("sheet"))


def test_a_value_far_beyond_its_limit_is_given_no_chance():
    """0.468 mm over with ± 0.0028 mm: there is no chance to speak of, and none is spoken of.

    Also where the finding itself decides nothing (a skirt larger than new).
    """
    for severity in (Severity.UNDECIDED, Severity.REWORK, Severity.DISCARD):
        for found in (
            over("X101", severity, "skirt", Value(468_000, 1_400.0), LIMIT),
            under("X101", severity, "skirt", Value(-468_000, 1_400.0), LIMIT),
        ):
            assert found is not None
            assert "likely" not in told(found.sentence)


@pytest.mark.parametrize(
    ("z", "words"),
    [
        (0.0, "50 %"),
        (1.0, "16 %"),  # normal table: 0.1587
        (-1.0, "84 %"),
        (1.6, "5 %"),  # 0.0548
        (2.3, "1 %"),  # 0.0107
        (2.4, "less than 1 %"),  # 0.0082
        (-2.4, "more than 99 %"),
        (9.0, "less than 1 %"),  # 1e-19: never rounded up to a whole per cent
    ],
)
def test_a_chance_near_its_ends_is_said_as_what_it_is(z, words):
    value = Value(round(z * 1000), 1_000.0, guard=10)
    found = over("X101", Severity.DISCARD, "skirt", value, LIMIT)
    assert found is not None
    assert told(found.sentence).endswith(f", {words} likely to be within it")


def test_chance_in_words_at_its_edges():
    assert [told(chance(p)) for p in (0.0, 0.0099, 0.01, 0.5, 0.99, 0.991, 1.0)] == [
        "less than 1 %",
        "less than 1 %",
        "1 %",
        "50 %",
        "99 %",
        "more than 99 %",
        "more than 99 %",
    ]
