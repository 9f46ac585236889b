"""When a port that another program holds stops being a hindrance and becomes a refusal to start.

A service that looks at new adapters (a modem prober, one for braille displays) may hold a port for
some ten seconds after it was plugged in; so opening is tried again for 15 s *from then*. Whoever
still holds it after that, or held it when it had long been plugged in, keeps it: going on would
look like a gauge that never answers, and starting is refused with the holder's name. Where the
system does not tell when a device appeared, the 15 s begin with our own first try.

Only a run that never had the port refuses. One that had it and lost it tries for ever: the
machinist stands at the bench, and the state says who holds it.
"""

from collections.abc import Callable
from pathlib import Path
from typing import Final

from barrelfit.acquire.errors import UserError
from barrelfit.acquire.wires.ports_found import appeared_s
from barrelfit.rules.said import Said, said

BUSY_S: Final = 15.0


class BusyError(UserError):
    """Another program has the port; `device` is its file, where it has one."""

    def __init__(self, sentence: Said, device: Path | None = None) -> None:
        super().__init__([sentence])
        self.device = device

    @property
    def told(self) -> Said:
        """What the board says while the port is waited for."""
        return said("tried_until_free", what=self.problems[0])


class FirstOpening:
    """Watches one source's openings.

    Args:
        patience_s: how long another program may hold the port, in s.
        appeared: tells when a device was plugged in, on the system's monotonic clock in s.
    """

    def __init__(
        self,
        patience_s: float = BUSY_S,
        appeared: Callable[[Path], float | None] = appeared_s,
    ) -> None:
        self._patience_s = patience_s
        self._appeared = appeared
        self._began_s: float | None = None
        self._opened = False

    def opened(self) -> None:
        """The port was opened: from now on nothing is refused."""
        self._opened = True

    def failed(self, error: OSError | UserError, now_s: float) -> None:
        """Take a failed opening.

        Args:
            error: why it failed.
            now_s: the system's monotonic time, in s.

        Raises:
            UserError: another program has held the port too long.
        """
        if self._opened or not isinstance(error, BusyError):
            return
        if self._began_s is None:
            self._began_s = now_s
        since_s = self._appeared(error.device) if error.device is not None else None
        if now_s - (self._began_s if since_s is None else since_s) >= self._patience_s:
            sentence = said("end_that_program", what=error.problems[0])
            raise UserError([sentence]) from None
