"""Errors of this room: a data file (the site's to mend) is not as it must be."""

from collections.abc import Sequence

from barrelfit.drivers.coded import Coded


class DriverError(Exception):
    """Root of this room's errors; `problems` lists all of them, as they are said."""

    def __init__(self, problems: Sequence[Coded]) -> None:
        super().__init__(*problems)
        self.problems = tuple(problems)
