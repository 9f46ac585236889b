"""What a gauge calls itself, compared whenever it says so: another gauge on the same socket.

A profile's `[[note]]` named `identification` is such a line. The first one heard is the gauge's;
when another comes, a socket or a plug was changed, and readings must not be taken for the first
gauge's: each is suspect until the first gauge names itself again, or a new session is begun.
"""

import re
from typing import Final

from barrelfit.drivers.coded import NOTHING, Coded, said

IDENTIFICATION: Final = "identification"
OTHER_GAUGE: Final = "another gauge"
NOT_THE_SAME: Final = "another gauge than before"

_BEFORE: Final = re.compile(rf".*; {IDENTIFICATION} ([!-~]+)", re.DOTALL)
_LINE_END: Final = re.compile(rb"[\r\n]+")


class GaugeIdentity:
    """One gauge's name as it gave it itself; outlives openings of its port.

    `doubt` is why its readings are suspect, empty where they are not.
    """

    def __init__(self) -> None:
        self._name = b""
        self._line = b""
        self.doubt = ""

    def heard(self, name: bytes) -> Coded:
        """Take an identification; says what there is on another gauge, nothing on the same."""
        self._name = self._name or name
        other = name != self._name
        self.doubt = NOT_THE_SAME if other else ""
        if not other:
            return NOTHING
        was, now = self._name.decode("ascii"), name.decode("ascii")
        return said("calls_itself", now=now, was=was)

    def opened(self) -> None:
        """The port was opened: what was half a line is none any more."""
        self._line = b""

    def line_in(self, data: bytes, longest: int) -> list[bytes]:
        """Lines that these bytes complete, where they are not cut by a framer.

        Args:
            data: what arrived.
            longest: the most bytes a line may have.
        """
        *lines, rest = _LINE_END.split(self._line + data)
        self._line = rest[-longest:]
        return lines

    def recall(self, note: str, raw: bytes) -> None:
        """Take a note or fault of the same session's earlier run, as it was told then.

        Args:
            note: the note, or the fault's short word.
            raw: its bytes.
        """
        earlier = _BEFORE.fullmatch(note)
        if earlier:
            self.heard(earlier[1].encode("ascii"))
        elif note == IDENTIFICATION:
            self.heard(raw.strip(b"\r\n"))
        elif note == OTHER_GAUGE:
            self.doubt = NOT_THE_SAME


def named(note: str, name: bytes) -> str:
    """A note on bytes of before the session that hold an identification; `recall` reads it."""
    return f"{note}; {IDENTIFICATION} {name.decode('ascii')}"
