"""A gauge that babbles is cut off, its bytes counted, and tried again ever more seldom."""

import pytest

from barrelfit.drivers.coded import said
from barrelfit.drivers.decode import REST_OF_LINE
from barrelfit.drivers.fuse import BYTES_MAX, FRAMES_MAX, GARBAGE_MIN, Fuse
from barrelfit.drivers.outcome import Note, WireFault, WireReading
from tests.spoken import text_of

S = 1_000_000_000
GOOD = WireReading(b"+1\r", 0, "1", "mm", 1_000_000)
BAD = WireFault(b"x\r", 0, "unreadable", said("high_bytes"))
REST = Note(b"x" * 32, 0, REST_OF_LINE)
OLD = Note(b"+1\r", 0, "before session, not dated")


def fed(fuse, outcomes, per_second, seconds, from_s=100.0):
    """Feed one outcome after the other; gives when and why the fuse blew, None where it didn't."""
    for number in range(int(per_second * seconds)):
        t_s = from_s + number / per_second
        outcome = outcomes[number % len(outcomes)]
        if why := fuse.took([outcome], len(outcome.raw), int(t_s * S)):
            return t_s, text_of(why)
    return None


@pytest.mark.parametrize(
    ("outcomes", "per_second"),
    [
        ([GOOD], 1000),  # quicker than any gauge
        ([BAD], 30),  # at a wrong rate: told by every fault, and harmless
        ([GOOD, BAD], 500),  # half of it good: another reader on the port
        ([OLD], 1500),
        ([BAD] + [GOOD] * 3, 900),
    ],
)
def test_what_a_gauge_may_send_for_an_hour(outcomes, per_second):
    assert fed(Fuse(), outcomes, per_second, 60) is None


@pytest.mark.parametrize(
    ("outcomes", "per_second", "within_s"),
    [
        ([BAD], 500_000, 0.01),
        ([BAD], 50, 9),
        ([REST], 100, 5),
        ([BAD] * 9 + [GOOD], 100, 5),
        ([GOOD], 3000, 1),
        ([OLD], 3000, 1),
    ],
)
def test_babble_is_cut_off(outcomes, per_second, within_s):
    fuse = Fuse()
    blown_s, why = fed(fuse, outcomes, per_second, 30)
    assert blown_s - 100 <= within_s
    assert why.startswith("cut off: ")
    assert "tried again in 5 s" in why
    assert fuse.blown


def test_a_flood_of_bytes_without_frames_is_cut_off():
    fuse = Fuse()
    assert not fuse.took([], BYTES_MAX, 5 * S)
    assert "bytes within a second" in text_of(fuse.took([], 1, 5 * S + 1))


def test_the_last_hint_is_told():
    _, why = fed(Fuse(), [BAD], 1000, 1)
    assert f"{GARBAGE_MIN} of {GARBAGE_MIN} frames" in why
    assert "(bytes above 0x7F: check rate, bits and parity)" in why


def test_left_out_bytes_are_counted_and_the_first_are_kept():
    fuse = Fuse()
    for _ in range(1000):
        fuse.leave_out(b"abcdefgh")
    assert fuse.left_out() == (8000, b"abcdefgh" * 8)
    assert fuse.left_out() == (0, b"")


def test_waits_grow_to_a_minute_and_are_short_again_after_a_good_while():
    fuse, now_s, waits = Fuse(), 100.0, []
    for _ in range(7):
        now_s, why = fed(fuse, [GOOD], FRAMES_MAX * 2, 5, now_s)
        wait_s = int(why.split()[-2])
        assert not fuse.is_due(int((now_s + wait_s) * S) - 1000)
        now_s += wait_s + 0.001
        assert fuse.is_due(int(now_s * S))
        fuse.mend(int(now_s * S))
        assert not fuse.is_due(int(now_s * S))
        waits.append(wait_s)
    assert waits == [5, 10, 20, 40, 60, 60, 60]
    assert fed(fuse, [GOOD], 10, 100, now_s) is None
    _, why = fed(fuse, [BAD], 1000, 5, now_s + 100)
    assert "in 5 s" in why
