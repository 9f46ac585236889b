"""Errors of this room: the user's to mend, the site's to mend, or ours.

BarrelfitError
├── UserError         a file, an option or a port is not as it must be: exit 2, one clear sentence
└── BugError          a promise of our own code was broken: exit 70, please report
"""

from collections.abc import Sequence

from barrelfit.rules.said import Said


class BarrelfitError(Exception):
    """Root of every error this room raises on purpose."""


class ToldError(BarrelfitError):
    """An error of which `what` says what is wrong."""

    def __init__(self, what: Said) -> None:
        super().__init__(what)
        self.what = what

    def __str__(self) -> str:
        """As a log has it."""
        from barrelfit.rules.manner import told  # noqa: PLC0415  loads every word

        return told(self.what)


class UserError(BarrelfitError):
    """Something the user or the site can mend; `problems` lists all of them, as they are said.

    `below` is shown under them where there are lines for it: the piece of a file that is meant.
    """

    def __init__(self, problems: Sequence[Said], below: str = "") -> None:
        super().__init__(*problems)
        self.problems = tuple(problems)
        self.below = below

    def __str__(self) -> str:
        """All problems in one line, as a log has them."""
        from barrelfit.rules.manner import told_all  # noqa: PLC0415  loads every word

        return "; ".join(told_all(self.problems))


class BugError(BarrelfitError):
    """A promise of barrelfit's own code did not hold."""
