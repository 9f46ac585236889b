"""Listens to a port that nobody reads yet: which gauge is there, and what it shows while it moves.

One thread a port. It holds the port until `close`, so that no bench can be run meanwhile.
"""

import threading
from collections import deque
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from itertools import cycle
from typing import Any, Final

from barrelfit.acquire.clock import Clock
from barrelfit.acquire.errors import UserError
from barrelfit.acquire.wires.identifying import RATES, Identifier
from barrelfit.acquire.wires.one_reading import PortEar, is_readable, one_reading
from barrelfit.drivers.decode import Wire
from barrelfit.drivers.outcome import Shown, WireMass
from barrelfit.drivers.profile import Profile
from barrelfit.drivers.quantity import UNIT_FG
from barrelfit.drivers.recognise import Chunk, ProfileFit
from barrelfit.rules.said import NOTHING, Said, said

MOVED_NS: Final = 4_000_000_000
"""How far back a gauge is told to have moved."""
FG_PER_MG: Final = UNIT_FG["g"] // 1_000
_LOOK_S: Final = 0.1
_HOUR_S: Final = 3600.0


@dataclass(frozen=True, slots=True)
class PortHeard:
    """What is known of one port now.

    `fit` is the profile that fits; `value` with `unit` is the last reading, `moved_nm` how far
    readings have been apart lately (`moved_mg` of a scale), of
    several gauges that of `moved_channel`. `count` bytes came. `sent` is a reading
    that waits to be told what the display showed for it. `wrong` says what keeps the port from
    being listened to.
    """

    port: str
    product: str = ""
    wrong: Said = NOTHING
    baud: int = 0
    count: int = 0
    fit: ProfileFit | None = None
    value: str = ""
    unit: str = ""
    channels: tuple[str, ...] = ()
    moved_nm: int = 0
    moved_mg: int = 0
    moved_channel: str = ""
    sent: tuple[Chunk, ...] = ()


class _ClosedError(OSError):
    """Nobody wants to listen any longer."""


class GaugeListener:
    """Finds out what a gauge sends, then follows it; `heard` is what it knows now.

    Args:
        port: its name.
        product: what its adapter calls itself.
        profiles: those to try.
        opened: opens the port at a rate.
        clock: stamps what arrives.
    """

    def __init__(
        self,
        port: str,
        product: str,
        profiles: Sequence[Profile],
        opened: Callable[[str, int], PortEar],
        clock: Clock,
    ) -> None:
        self._profiles = profiles
        self._opened = opened
        self._clock = clock
        self._heard = PortHeard(port, product)
        self._guard = threading.Lock()
        self._closed = threading.Event()
        self._teaching = False
        self._again = False
        self._baud = 0
        self._recent: dict[str, deque[tuple[int, int]]] = {}
        self._thread = threading.Thread(target=self._run, daemon=True)

    @property
    def heard(self) -> PortHeard:
        """What is known now."""
        with self._guard:
            return self._heard

    def start(self) -> None:
        """Begin to listen."""
        self._thread.start()

    def close(self) -> None:
        """Let go of the port."""
        self._closed.set()
        if self._thread.is_alive():
            self._thread.join(5)

    def teach(self, baud: int = 0) -> None:
        """No profile is looked for any longer: readings are kept for what the display showed.

        Args:
            baud: the rate; 0 to find one that gives characters.
        """
        self._baud = baud
        self._again = self._teaching = True
        self._note(fit=None, value="", sent=())

    def taken(self) -> None:
        """What was sent has been told of: the next reading may come."""
        self._note(sent=())

    def follow(self, fit: ProfileFit) -> None:
        """A profile was taught: read with it from now on."""
        self._teaching, self._again = False, True
        self._note(fit=fit, baud=fit.profile.port.baud, sent=())

    def listen(self, timeout_s: float) -> bytes:
        """As `identifying.Ear`: what arrives next, as long as this goes on with what it does."""
        left_s = timeout_s
        while True:
            if self._closed.is_set() or self._again:
                raise _ClosedError
            data = self._ear.listen(min(left_s, _LOOK_S))
            left_s -= _LOOK_S
            if data or left_s <= 0:
                break
        if data:
            self._note(count=self.heard.count + len(data))
        return data

    def set_rate(self, baud: int) -> None:
        """As `identifying.Ear`."""
        self._ear.set_rate(baud)
        self._note(baud=baud)

    def say(self, data: bytes) -> None:
        """As `identifying.Ear`; nothing is ever sent from here."""

    def _note(self, **what: Any) -> None:  # noqa: ANN401  the fields of `PortHeard`
        with self._guard:
            self._heard = replace(self._heard, **what)

    def _run(self) -> None:
        port = self._heard.port
        try:
            with self._opened(port, RATES[0]) as self._ear:
                while not self._closed.is_set():
                    self._again = False
                    try:
                        self._go_on()
                    except _ClosedError:
                        continue
        except UserError as error:
            self._note(wrong=error.problems[0])
        except OSError as error:
            self._note(wrong=said("of_port", name=port, what=str(error.strerror or error)))

    def _go_on(self) -> None:
        """Teach, follow, or find out, until something else is wanted."""
        fit = self.heard.fit
        if self._teaching:
            self._learn()
        elif fit is not None:
            self._ear.set_rate(self.heard.baud)
            self._follow(fit)
        else:
            found = Identifier(self, self._profiles, self._clock, lambda _: None).listen(_HOUR_S)
            if found.fits:
                streaming = (f for f in found.fits if f.streams and f.profile.sends == "free")
                self._note(fit=next(streaming, found.fits[0]), baud=found.baud)

    def _follow(self, fit: ProfileFit) -> None:
        port = replace(fit.profile.port, bits=fit.bits, parity=fit.parity)
        wire = Wire(fit.profile, port=port, min_repeat_ms=0)
        while True:
            data = self.listen(_LOOK_S)
            now_ns = self._clock.monotonic_ns()
            for outcome in wire.feed(data, now_ns) if data else wire.idle(now_ns):
                if isinstance(outcome, Shown):
                    self._read(outcome, now_ns)
            ways = {channel: _way(recent, now_ns) for channel, recent in self._recent.items()}
            moved, channel = max(((way, name) for name, way in ways.items()), default=(0, ""))
            by = {"moved_mg": moved // FG_PER_MG} if fit.profile.weighs else {"moved_nm": moved}
            self._note(moved_channel=channel if len(ways) > 1 else "", **by)

    def _read(self, reading: Shown, now_ns: int) -> None:
        amount = reading.mass_fg if isinstance(reading, WireMass) else reading.length_nm
        self._recent.setdefault(reading.channel, deque()).append((now_ns, amount))
        channels = sorted({*self.heard.channels, reading.channel} - {""})
        self._note(value=reading.value, unit=reading.unit, channels=tuple(channels))

    def _learn(self) -> None:
        """Keep one reading after another; at first the rate is the first that gives characters."""
        rates = cycle(RATES)
        self.set_rate(self._baud or self.heard.baud or next(rates))
        while True:
            if self.heard.sent:
                self.listen(_LOOK_S)  # what comes before the display was told is not kept
                continue
            chunks = one_reading(self, self._clock)
            if self._baud or is_readable(chunks):
                self._note(sent=chunks)
            else:
                self.set_rate(next(rates))


def _way(recent: deque[tuple[int, int]], now_ns: int) -> int:
    """How far a gauge's readings have been apart lately."""
    while recent and now_ns - recent[0][0] > MOVED_NS:
        recent.popleft()
    shown = [amount for _, amount in recent]
    return max(shown) - min(shown) if shown else 0
