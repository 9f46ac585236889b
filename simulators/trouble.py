"""Faults of a cable and of what hangs on it, by seed: what is sent instead of a clean frame.

A `Trouble` turns one frame into the steps that really happen on the wire, and names the fault.
Shares are per frame; at most one fault strikes a frame.
"""

import random
from collections.abc import Callable, Mapping
from dataclasses import dataclass

from barrelfit.simulators.errors import SimulatorError

TRICKLE_S = 0.012
EVEN, ODD = "even", "odd"


@dataclass(frozen=True, slots=True)
class Step:
    """Send `data` (it may be empty), then wait `wait_s`; `unplug` takes the port away meanwhile."""

    data: bytes = b""
    wait_s: float = 0.0
    unplug: bool = False


# A frame, the same reading as a gauge switched to the other unit would write it, and chance.
Fault = Callable[[bytes, bytes, random.Random], list[Step]]


def with_parity(data: bytes, parity: str = EVEN) -> bytes:
    """Seven data bits and a parity bit, as a reader set to eight data bits sees them."""
    odd = parity == ODD
    return bytes((b & 0x7F) | (((b & 0x7F).bit_count() % 2) ^ odd) << 7 for b in data)


def _flip(frame: bytes, _other: bytes, chance: random.Random) -> list[Step]:
    at = chance.randrange(len(frame))
    spoiled = bytearray(frame)
    spoiled[at] ^= 1 << chance.randrange(8)
    return [Step(bytes(spoiled))]


def _cut(frame: bytes, _other: bytes, chance: random.Random) -> list[Step]:
    return [Step(frame[: chance.randrange(1, len(frame))])]


def _hole(frame: bytes, _other: bytes, chance: random.Random) -> list[Step]:
    begin = chance.randrange(1, max(2, len(frame) - 1))
    return [Step(frame[:begin] + frame[begin + chance.randint(1, 3) :])]


def _trickle(frame: bytes, _other: bytes, _chance: random.Random) -> list[Step]:
    return [Step(bytes([byte]), TRICKLE_S) for byte in frame]


FAULTS: dict[str, Fault] = {
    "drop": lambda _f, _o, _c: [],
    "flip": _flip,
    "cut": _cut,
    "hole": _hole,
    "stall": lambda f, _o, c: [Step(wait_s=c.uniform(0.8, 2.5)), Step(f)],
    "unplug": lambda f, _o, c: [Step(wait_s=c.uniform(0.3, 1.5), unplug=True), Step(f)],
    "double": lambda f, _o, _c: [Step(f), Step(f)],
    "wrong-unit": lambda _f, o, _c: [Step(o)],
    "trickle": _trickle,
    "parity": lambda f, _o, _c: [Step(with_parity(f))],
    "garbage": lambda f, _o, c: [Step(c.randbytes(c.randint(1, 12))), Step(f)],
}


class Trouble:
    """Strikes frames with faults, each with its share of them (0 to 1)."""

    def __init__(self, shares: Mapping[str, float], chance: random.Random) -> None:
        problems = [
            f"no fault is called '{name}'; there are: {', '.join(FAULTS)}"
            for name in shares
            if name not in FAULTS
        ]
        if sum(shares.values()) > 1.0 or any(share < 0.0 for share in shares.values()):
            problems.append("the shares of the faults must be 0 to 1, and together at most 1")
        if problems:
            raise SimulatorError(problems)
        self._shares, self._chance = dict(shares), chance

    def strike(self, frame: bytes, other_unit: bytes) -> tuple[str, list[Step]]:
        """The fault that strikes this frame (empty: none), and what happens on the wire."""
        dice = self._chance.random()
        for name, share in self._shares.items():
            if dice < share:
                return name, FAULTS[name](frame, other_unit, self._chance)
            dice -= share
        return "", [Step(frame)]


def shares_from(text: str) -> dict[str, float]:
    """Read `drop=0.01,flip=0.02`; raises SimulatorError with every problem."""
    shares, problems = {}, []
    for item in filter(None, text.split(",")):
        name, _, share = item.partition("=")
        try:
            shares[name.strip()] = float(share)
        except ValueError:
            problems.append(f"'{item}': expected fault=share, as in drop=0.01")
    if problems:
        raise SimulatorError(problems)
    return shares
