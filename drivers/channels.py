"""Which of several gauges on one wire is meant: a box with sockets, or a line of several values.

Each reading of such a wire carries its channel. Readings of two channels taken for one gauge's
would be a number that nobody measured: so where the bench does not say which channel is its
gauge's, nothing counts any more as soon as a second one is heard. Where it names several gauges by
their channels, each reading is its own gauge's; a fault without a channel may have been any one's,
and is told of all.
"""

from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import replace
from typing import Final

from barrelfit.drivers.outcome import Note, Outcome, WireFault

OTHER_CHANNEL: Final = "another channel"
SEVERAL_CHANNELS: Final = "one of several channels"


class Channels:
    """What is heard of a wire's channels since its port was opened.

    Args:
        wanted: the channels of the bench's gauges as the wire says them; none for the only one
            there is.
    """

    def __init__(self, wanted: Collection[str]) -> None:
        self._wanted = frozenset(wanted)
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
            return "" if channel in self._wanted else OTHER_CHANNEL
        return SEVERAL_CHANNELS if len(self._heard) > 1 else ""


def of_gauges(
    outcome: Outcome, gauge: str, behind: Mapping[str, str]
) -> Iterator[tuple[str, Outcome]]:
    """Which gauge each outcome of a wire is of; its bytes stand once, with the first that is given.

    Args:
        outcome: what the wire gave.
        gauge: the first gauge of the port: notes are its, and what no gauge's channel sent.
        behind: the gauges behind the port by their channels, empty where there is one.

    Yields:
        A gauge and its outcome: one, or of a fault that no channel was said of, one each.
    """
    channel = "" if isinstance(outcome, Note) else outcome.channel
    yield behind.get(channel, gauge), outcome
    if isinstance(outcome, WireFault) and not channel:
        others = (other for other in behind.values() if other != gauge)
        for place, other in enumerate(others, start=1):
            yield other, replace(outcome, raw=b"", index=place)
