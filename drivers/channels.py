"""Which of several gauges on one wire is meant: a box with sockets, or a line of several values.

Each reading of such a wire carries its channel. Readings of two channels taken for one gauge's
would be a number that nobody measured: so where the bench does not say which channel is its
gauge's, nothing counts any more as soon as a second one is heard.
"""

from collections.abc import Iterable
from typing import Final

OTHER_CHANNEL: Final = "another channel"
SEVERAL_CHANNELS: Final = "one of several channels"


class Channels:
    """What is heard of a wire's channels since its port was opened.

    Args:
        wanted: the gauge's own channel as the wire says it; empty for the only one there is.
    """

    def __init__(self, wanted: str) -> None:
        self._wanted = wanted
        self._heard: set[str] = set()

    def opened(self) -> None:
        """The port was opened: another box may hang on it."""
        self._heard.clear()

    def heard(self, channels: Iterable[str]) -> None:
        """Take the channels of the readings of one frame."""
        self._heard.update(channels)

    def doubt(self, channel: str) -> str:
        """Why a reading of a channel is suspect; empty where it is the gauge's."""
        if self._wanted:
            return "" if channel == self._wanted else OTHER_CHANNEL
        return SEVERAL_CHANNELS if len(self._heard) > 1 else ""
