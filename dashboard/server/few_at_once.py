"""A listening socket that lets few in at once: who opens many takes none from the board.

Files that a process may have open are few, and the bench's own screen needs some of them too.
"""

import socket
from typing import Any, Final

MOST: Final = 48
MOST_FROM_ONE: Final = 12
"""Connections of one address: a browser opens six, and a WebSocket."""


class FewAtOnce(socket.socket):
    """Listens like any other; what is too much is closed as soon as it comes.

    The event loop calls `accept`; one that raises `BlockingIOError` has nobody to let in now.
    """

    def __init__(self, *given: Any, **named: Any) -> None:  # noqa: ANN401  as a socket's
        super().__init__(*given, **named)
        self._inside: list[tuple[socket.socket, str]] = []

    def accept(self) -> tuple[socket.socket, Any]:
        """Let the next one in, unless there are too many already."""
        came, address = super().accept()
        sender = str(address[0])
        self._inside = [(one, whose) for one, whose in self._inside if one.fileno() != -1]
        from_one = sum(whose == sender for _, whose in self._inside)
        if len(self._inside) >= MOST or from_one >= MOST_FROM_ONE:
            came.close()
            raise BlockingIOError
        self._inside.append((came, sender))
        return came, address
