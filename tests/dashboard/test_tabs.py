"""Tabs that were closed are let go; one whose network stumbles is not."""

from barrelfit.dashboard.board.tabs import ROUNDS_MAX, Tabs


def test_a_closed_tab_is_gone_after_a_few_rounds_and_only_once():
    tabs, is_open = Tabs(), {"a", "b"}
    tabs.ran("a")
    tabs.ran("b")
    assert tabs.gone(is_open.__contains__) == []
    is_open.remove("a")
    said = [tabs.gone(is_open.__contains__) for _ in range(ROUNDS_MAX + 2)]
    assert said == [[]] * (ROUNDS_MAX - 1) + [["a"], [], []]
    assert len(tabs) == 1


def test_a_tab_that_comes_back_is_kept():
    tabs, is_open = Tabs(), set()
    tabs.ran("a")
    for _ in range(5):
        assert tabs.gone(is_open.__contains__) == []
        tabs.ran("a")  # it was loaded again
    is_open.add("a")
    for _ in range(5):
        assert tabs.gone(is_open.__contains__) == []
