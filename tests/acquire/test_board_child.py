"""A board that hangs is told, and ended after a while; one that is slow is left alone."""

from collections.abc import Callable

from barrelfit.acquire.bench.board_child import SILENT_S, STALLED_S, until_silent
from barrelfit.acquire.bench.supervisor import Standing
from barrelfit.rules.said import said
from tests.spoken import text_of

LIFE_S = 300.0


class EndedError(Exception):
    """The bench ends."""


class Watched:
    """A board that answers at some moments and hangs at others, in a time of its own."""

    def __init__(self, answers_at: Callable[[float], bool]) -> None:
        self.now_s = 0.0
        self.words: list[tuple[float, str]] = []
        self._answers_at = answers_at

    async def watch(self) -> str:
        standing = Standing(lambda _: self._say("up"), self._say)
        try:
            return await until_silent(self._is_well, standing, lambda: self.now_s, self._rest)
        except EndedError:
            return ""

    def _say(self, word: str) -> None:
        self.words.append((self.now_s, word))

    async def _is_well(self) -> bool:
        end_s = self.now_s + STALLED_S
        while not self._answers_at(self.now_s) and self.now_s < end_s:
            self.now_s += 0.5
        return self._answers_at(self.now_s)

    async def _rest(self, seconds: float) -> None:
        self.now_s += seconds
        if self.now_s > LIFE_S:
            raise EndedError


async def test_a_board_that_answers_is_left_alone() -> None:
    board = Watched(lambda _: True)
    assert (await board.watch(), board.words) == ("", [])


async def test_a_page_that_takes_seconds_is_no_trouble() -> None:
    board = Watched(lambda now_s: now_s % 8 < 1)
    assert (await board.watch(), board.words) == ("", [])


async def test_a_board_that_hangs_is_told_once_and_ended() -> None:
    board = Watched(lambda now_s: now_s < 20)
    assert text_of(await board.watch()) == "it was ended: it does not answer"
    ((moment_s, word),) = board.words
    assert text_of(word) == "it does not answer"
    assert 20 + STALLED_S - 2.5 <= moment_s <= 20 + 2 * STALLED_S
    assert board.now_s <= 20 + SILENT_S + 2 * STALLED_S


async def test_a_board_that_comes_back_is_told_too() -> None:
    board = Watched(lambda now_s: not 20 <= now_s < 45)
    assert await board.watch() == ""
    assert [word for _, word in board.words] == [said("does_not_answer"), "up"]
