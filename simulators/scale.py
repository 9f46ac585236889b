"""A scale: what lies on it, how its pointer swings to rest, and what it sends of that.

Two shapes of wire, by the profile's own data: one sends all the time, and says by a letter whether
it is at rest; the other sends once when it has come to rest with something on it. Its physics are
those of a spring with a damper (the pan), and of a filter that calls a mass steady when the last
readings are alike. All chance comes from the `random.Random` given.
"""

import asyncio
import json
import math
import random
from collections import deque
from typing import Any, Final

from barrelfit.simulators.line import Encoder, profile_tables
from barrelfit.simulators.port import Port

FG_PER_G: Final = 10**15
SWING_HZ: Final = 3.0
DAMPING_S: Final = 0.25
ALIKE: Final = 5
"""So many readings in a row that are alike are called steady."""
LEAST_G: Final = 5.0
"""One that sends once sends nothing of less than this."""


class SimulatedScale:
    """One scale, sampled at a steady rate.

    Args:
        profile: the tables of its wire's profile.
        chance: for noise, and for where in its swing a part is laid on.
        rate_hz: samples a second.
        digit_g: what the last digit of its display is worth.
    """

    def __init__(
        self,
        profile: dict[str, Any],
        chance: random.Random,
        rate_hz: float = 10.0,
        digit_g: float = 0.1,
    ) -> None:
        self._encoder = Encoder(profile)
        self._sends_once = profile["sends"] == "button"
        self._moving = _letter_of_moving(profile)
        self._chance = chance
        self._digit_g = digit_g
        self._from_g = self._to_g = self.tare_g = 0.0
        self._since_s = -math.inf
        self._shown: deque[int] = deque(maxlen=ALIKE)
        self._sent = False
        self.rate_hz = rate_hz

    def lay(self, grams: float, t_s: float) -> None:
        """What lies on it from `t_s` on weighs so much; 0 for nothing."""
        self._from_g, self._to_g, self._since_s = self.pointer_g(t_s), grams, t_s
        self._sent = False

    def pointer_g(self, t_s: float) -> float:
        """Where its pointer stands, without its zero."""
        gone_s = t_s - self._since_s
        if gone_s > 20 * DAMPING_S:
            return self._to_g
        swing = math.exp(-gone_s / DAMPING_S) * math.cos(2 * math.pi * SWING_HZ * gone_s)
        return self._to_g + (self._from_g - self._to_g) * swing

    def sample(self, t_s: float) -> bytes:
        """What it sends at `t_s`, empty for nothing."""
        noise_g = self._chance.gauss(0.0, self._digit_g / 10)
        true_g = self.pointer_g(t_s) - self.tare_g + noise_g
        digits = round(true_g / self._digit_g)
        self._shown.append(digits)
        steady = len(self._shown) == ALIKE and max(self._shown) - min(self._shown) <= 1
        frame = self._encoder.encode(round(digits * self._digit_g * 1000) * FG_PER_G // 1000)
        if not self._sends_once:
            return frame if steady else self._moving + frame[1:]
        if not steady or self._sent or abs(digits * self._digit_g) < LEAST_G:
            return b""
        self._sent = True
        return frame


def _letter_of_moving(profile: dict[str, Any]) -> bytes:
    """The letter with which the profile's example begins of a scale that moves; none: empty."""
    moving = (e["text"] for e in profile["example"] if e.get("note") == "unsteady")
    return next(moving, "")[:1].encode("ascii")


async def serve_scale(
    scale: SimulatedScale, port: Port, lines: "asyncio.Queue[str]", speed: float
) -> None:
    """Send on an absolute schedule; a line `{"lay": 512.4}` lays so many g on, "" ends it."""
    await port.wait_for_reader()
    loop = asyncio.get_running_loop()
    start_s, number = loop.time(), 0
    while True:
        while not lines.empty():
            text = lines.get_nowait()
            if not text:
                return
            scale.lay(float(json.loads(text)["lay"]), (loop.time() - start_s) * speed)
        number += 1
        await asyncio.sleep(max(0.0, start_s + number / scale.rate_hz / speed - loop.time()))
        port.write(scale.sample((loop.time() - start_s) * speed))


def scale_of(profile: str, seed: int) -> SimulatedScale:
    """A scale that writes as a shipped profile says."""
    return SimulatedScale(profile_tables(profile), random.Random(seed))
