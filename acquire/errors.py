"""Errors of this room: the user's to mend, the site's to mend, or ours.

BarrelfitError
├── UserError         a file, an option or a port is not as it must be: exit 2, one clear sentence
└── BugError          a promise of our own code was broken: exit 70, please report
"""

from collections.abc import Sequence


class BarrelfitError(Exception):
    """Root of every error this room raises on purpose."""


class UserError(BarrelfitError):
    """Something the user or the site can mend; `problems` lists all of them, one sentence each.

    `below` is shown under them where there are lines for it: the piece of a file that is meant.
    """

    def __init__(self, problems: Sequence[str], below: str = "") -> None:
        super().__init__("; ".join(problems))
        self.problems = tuple(problems)
        self.below = below


class BugError(BarrelfitError):
    """A promise of barrelfit's own code did not hold."""
