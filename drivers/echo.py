"""Recognises our own bytes when they come back: an echo, or a command's acknowledgement.

Only an exact copy of what was sent counts, and only once.
"""


class Echo:
    """What was sent last and has not come back yet. `request` is the profile's own request."""

    def __init__(self, request: bytes) -> None:
        self._request = request
        self._sent = b""
        self.ever_sent = False
        self.name = ""

    @property
    def waits(self) -> bool:
        """Whether sent bytes may still come back."""
        return bool(self._sent)

    def sent(self, data: bytes) -> None:
        """These bytes were sent; they replace what was sent before."""
        self._sent = data
        self.ever_sent = True

    def is_request(self, raw: bytes) -> bool:
        """Whether a frame is the profile's request, sent by somebody else."""
        return bool(self._request) and raw.strip(b"\r\n") == self._request.strip(b"\r\n")

    def forget(self) -> None:
        """The port was opened anew."""
        self._sent = b""
        self.ever_sent = False

    def take(self, raw: bytes, payload: bytes) -> int:
        """How many of a frame's first bytes are our own again; 0 for none.

        Args:
            raw: the frame's bytes; line ends in front of it are skipped.
            payload: the frame without line ends.

        Returns:
            The count, line ends in front included.
        """
        front = raw.index(payload) if payload else 0
        content = self._sent.strip(b"\r\n")
        exact = raw.startswith(self._sent, front) or payload == content
        if not content or not exact:
            return 0
        self.name = "echo" if self._sent == self._request else "acknowledgement"
        self._sent = b""
        return front + len(content)
