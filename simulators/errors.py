"""Errors of this room.

SimulatorError      a scenario, a profile or an option is not as it must be: exit 2
"""

from collections.abc import Sequence


class SimulatorError(Exception):
    """Something the user can mend; `problems` lists all of them, one sentence each."""

    def __init__(self, problems: Sequence[str]) -> None:
        super().__init__("; ".join(problems))
        self.problems = tuple(problems)
