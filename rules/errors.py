"""Errors of this room: a data file (the site's to mend) is not as it must be."""

from collections.abc import Sequence

from barrelfit.rules.said import Said


class RulesError(Exception):
    """Root of this room's errors; `problems` lists all of them, each as it is said."""

    def __init__(self, problems: Sequence[Said]) -> None:
        super().__init__(*problems)
        self.problems = tuple(problems)


class UnfitError(ValueError):
    """One value is not as it must be; `what` says how."""

    def __init__(self, what: Said) -> None:
        super().__init__(what)
        self.what = what
