"""What can be wrong with a journal: lines that are not what was written, or that are gone."""

from dataclasses import dataclass

from barrelfit.acquire.errors import ToldError
from barrelfit.rules.said import Said, said


class LineError(ToldError):
    """A line of a journal can't be taken for what was written; `problem` says why."""

    def __init__(self, line: int, problem: Said) -> None:
        super().__init__(said("at_line", line=line, what=problem))
        self.line = line
        self.problem = problem


class CorruptError(LineError):
    """A journal's line is not what was written; nothing after it can be trusted either."""


class UnreadableError(LineError):
    """A line is whole and in the chain, but this version can't read its document."""


@dataclass(frozen=True, slots=True)
class Hole:
    """NUL bytes where lines stood, with sound lines behind.

    `start` and `length` say which bytes of the file are no sound lines; `nuls` of them are NUL.
    `first_seq` to `last_seq` are the lines that are gone; none, where `last_seq` is less. `head` is
    the head hash before the hole.
    """

    start: int
    length: int
    nuls: int
    first_seq: int
    last_seq: int
    head: str

    @property
    def told(self) -> Said:
        """Where it is, and which lines are gone in it."""
        place = said("hole_at", nuls=self.nuls, start=self.start, end=self.start + self.length)
        if self.last_seq < self.first_seq:
            return said("hole_took_none", place=place)
        if self.first_seq == self.last_seq:
            return said("hole_took_one", place=place, line=self.first_seq)
        return said("hole_took", place=place, first=self.first_seq, last=self.last_seq)


class LinesGoneError(CorruptError):
    """Lines are gone, and sound ones stand behind them: no one changed what is there."""


class HoleError(LinesGoneError):
    """Lines are gone in a hole, and sound ones stand behind it."""

    def __init__(self, hole: Hole, behind: Said | None = None) -> None:
        more = said("sound_lines_behind") if behind is None else behind
        super().__init__(hole.first_seq, said("refused_so", what=hole.told, do=more))
        self.hole = hole
