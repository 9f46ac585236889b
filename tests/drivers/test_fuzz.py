"""Ten minutes of random traffic for every profile: no exception, nothing lost, replay the same.

Run with `pytest -m long tests/drivers/test_fuzz.py -s`; FUZZ_SECONDS and FUZZ_SEED change it.
"""

import os
import random
import sys
import time
import tomllib
from decimal import Decimal
from importlib.resources import files

import pytest

from barrelfit.drivers.decode import Wire
from barrelfit.drivers.outcome import WireReading
from barrelfit.drivers.profile import profile_from

MS = 1_000_000
GAPS_MS = (0, 0, 0, 1, 5, 21, 49, 51, 101, 600, 2001, 5000)


def profiles():
    folder = files("barrelfit.drivers").joinpath("profiles")
    return [
        profile_from(tomllib.loads(entry.read_text(), parse_float=Decimal), entry.name)
        for entry in sorted(folder.iterdir(), key=lambda entry: entry.name)
    ]


def traffic(chance, profile):
    """Examples of this profile, whole, damaged, doubled, and plain garbage."""
    data = bytearray()
    for _ in range(chance.randrange(12)):
        raw = bytearray(chance.choice(profile.examples).raw)
        match chance.randrange(8):
            case 0:
                raw[chance.randrange(len(raw))] ^= 1 << chance.randrange(8)
            case 1:
                del raw[chance.randrange(len(raw))]
            case 2:
                raw.insert(chance.randrange(len(raw)), chance.randrange(256))
            case 3:
                raw = bytearray(chance.randbytes(chance.randrange(200)))
            case 4:
                raw = raw[: chance.randrange(len(raw))]
            case 5:
                raw = bytearray(b | (b.bit_count() % 2) << 7 for b in raw)
            case _:
                pass
        data += raw
    return bytes(data)


def pieces(chance, data):
    while data:
        size = chance.choice((1, 1, 2, 3, 8, 50, len(data)))
        yield data[:size]
        data = data[size:]


def play(chance, profile, seven_bit):
    """One session: bytes at random times, then the same again from what came out."""
    make = {"port": profile.port} if seven_bit else {}
    wire = Wire(profile, **make)
    wire.opened(0)
    sent, live, t_ns = b"", [], 0
    for piece in pieces(chance, traffic(chance, profile)):
        t_ns += chance.choice(GAPS_MS) * MS
        live += wire.idle(t_ns)
        live += wire.feed(piece, t_ns)
        sent += piece
    live += wire.closed(t_ns)
    assert b"".join(o.raw for o in live) == sent
    again = Wire(profile, **make)
    again.opened(0)
    redone = [o for was in live if was.raw for o in again.feed(was.raw, was.t_ns)]
    assert redone + again.closed(t_ns) == live
    whole = Wire(profile, **make, min_repeat_ms=0)
    got = whole.feed(sent, 0) + whole.closed(0)
    cut = Wire(profile, **make, min_repeat_ms=0)
    parts = [o for piece in pieces(chance, sent) for o in cut.feed(piece, 0)] + cut.closed(0)
    assert lengths(got) == lengths(parts)
    return len(sent)


def lengths(outcomes):
    return [(o.value, o.unit, o.length_nm) for o in outcomes if isinstance(o, WireReading)]


def fuzz(seconds, seed):
    shapes = profiles()
    rounds = size = 0
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        chance = random.Random(f"{seed}/{rounds}")  # noqa: S311  a seeded game of chance
        try:
            profile = chance.choice(shapes)
            size += play(chance, profile, seven_bit=chance.random() < 0.3)
        except Exception:
            sys.stderr.write(f"seed {seed} round {rounds}\n")
            raise
        rounds += 1
    return rounds, size


def test_short_fuzz():
    assert fuzz(0.2, seed=1)[0] > 0


@pytest.mark.long
@pytest.mark.timeout(0)
def test_long_fuzz():
    seconds = float(os.environ.get("FUZZ_SECONDS", "600"))
    seed = int(os.environ.get("FUZZ_SEED", str(random.SystemRandom().randrange(10**6))))
    rounds, size = fuzz(seconds, seed)
    sys.stdout.write(f"fuzz: seed {seed}, {seconds:.0f} s, {rounds} sessions, {size} bytes\n")
