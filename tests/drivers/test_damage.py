"""A plausible wrong number is the worst fault: no damage to a frame of fixed width makes one.

Every byte of every example is lost, doubled, or the frame is cut before the next one. Profiles
that say they can't see a lost character (`caution`) are left out; that they say so is tested.
"""

import pytest

from barrelfit.drivers.outcome import WireReading
from barrelfit.drivers.proving import decode_whole
from tests.drivers.test_wire_properties import PROFILES

STRICT = [p for p in PROFILES if not p.caution]


def lengths(profile, raw):
    return {o.length_nm for o in decode_whole(profile, raw) if isinstance(o, WireReading)}


def damaged(raw):
    for at in range(len(raw)):
        yield raw[:at] + raw[at + 1 :]
        yield raw[: at + 1] + raw[at:]
        yield raw[:at] + raw
        yield raw + raw[at:]
        for end in range(at + 2, min(len(raw), at + 6)):
            yield raw[:at] + raw[end:] + raw
    yield raw.rstrip(b"\r\n") + raw


@pytest.mark.parametrize("profile", STRICT, ids=lambda p: p.id)
def test_damage_gives_the_number_sent_or_none(profile):
    for example in profile.examples:
        good = lengths(profile, example.raw)
        if not good:  # an example of a fault may be one byte away from a number
            continue
        for raw in damaged(example.raw):
            assert lengths(profile, raw) <= good, raw.hex(" ")


def test_most_profiles_are_strict_and_the_others_say_so():
    assert len(STRICT) >= 17
    assert all("lost" in p.caution or "silence" in p.caution for p in PROFILES if p.caution)
