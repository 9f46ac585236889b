"""Errors of this room: a data file (the site's to mend) is not as it must be."""

from collections.abc import Sequence


class DriverError(Exception):
    """Root of this room's errors; `problems` lists all of them, one sentence each."""

    def __init__(self, problems: Sequence[str]) -> None:
        super().__init__("; ".join(problems))
        self.problems = tuple(problems)
