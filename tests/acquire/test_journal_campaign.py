"""Sessions on a disk that fails at random, loses its power, and fails again on the way back.

After every flush and every power cut, each line that was ever confirmed is still there.
"""

import errno
import random

import pytest

from barrelfit.acquire.errors import UserError
from barrelfit.acquire.journal.writer import JournalFile
from tests.acquire.fake_disk import FakeDisk, PowerError
from tests.acquire.journal_samples import opened, reading
from tests.acquire.test_journal_file import PATH, clock, lines_on, texts

ALL = 10**6
TAILS = ("none", "prefix", "nuls")


class Trouble:
    """Makes a disk's operations fail by chance, until its power goes."""

    def __init__(self, disk, chance, share, off_at, spared):
        self._step, self._chance, self._share = disk.step, chance, share
        self._off_at, self._spared, self._count = off_at, spared, 0
        self._disk = disk
        disk.step = self.step

    def end(self):
        self._disk.step = self._step

    def step(self, operation, size=0):
        self._count += 1
        if self._count == self._off_at:
            raise PowerError
        if self._count > self._spared and self._chance.random() < self._share:
            if operation == "write" and size > 1 and self._chance.random() < 0.5:
                return self._chance.randint(1, size - 1)
            raise OSError(self._chance.choice((errno.EIO, errno.ENOSPC)), "no")
        return self._step(operation, size)


def first_life(disk, chance, share):
    """Record until the power goes; gives every line that was confirmed."""
    confirmed = []
    trouble = Trouble(disk, chance, share, chance.randint(5, 120), spared=6)
    try:
        journal = JournalFile.create(PATH, disk, clock())
        journal.append(opened())
        for number in range(60):
            for _ in range(chance.randint(0, 3)):
                journal.append(reading(texts(number)))
            journal.flush(now=chance.random() < 0.7)
            now = journal.lines_since(0, ALL)
            assert now[: len(confirmed)] == confirmed
            confirmed = now
            assert lines_on(disk)[: len(confirmed)] == confirmed
        journal.close()
        confirmed = journal.lines_since(0, ALL)
    except (PowerError, UserError):
        pass
    trouble.end()
    return confirmed


def second_life(disk, chance, share):
    """Go on with the session until the power goes again."""
    confirmed, refused = [], ""
    trouble = Trouble(disk, chance, share, chance.randint(1, 40), spared=0)
    try:
        journal = JournalFile.resume(PATH, disk, clock())
        for number in range(10):
            journal.append(reading(texts(number)))
            journal.flush(now=True)
            confirmed = journal.lines_since(0, ALL)
        journal.close()
        confirmed = journal.lines_since(0, ALL)
    except PowerError:
        pass
    except UserError as error:
        refused = str(error)
    assert not refused or "can't record" in refused  # the disk's doing; never a damaged journal
    trouble.end()
    return confirmed


def campaign(seed):
    chance = random.Random(seed)  # noqa: S311  a test's chance
    share = chance.choice((0.02, 0.1, 0.3))
    disk = FakeDisk()
    confirmed = first_life(disk, chance, share)
    for tail in TAILS:
        after = disk.power_cut(chance, tail=tail)
        if PATH not in after.files:
            assert not confirmed
            continue
        left = lines_on(after)
        assert left[: len(confirmed)] == confirmed
        again = second_life(after, chance, share)
        last = lines_on(after.power_cut(chance, tail=chance.choice(TAILS)))
        assert last[: len(again)] == again
        assert last[: len(confirmed)] == confirmed


@pytest.mark.slow
@pytest.mark.parametrize("start", range(0, 400, 100))
def test_nothing_confirmed_is_ever_lost(start):
    for seed in range(start, start + 100):
        campaign(seed)


@pytest.mark.long
@pytest.mark.timeout(1200)
def test_nothing_confirmed_is_ever_lost_in_many_campaigns():
    for seed in range(1000, 41_000):
        campaign(seed)
