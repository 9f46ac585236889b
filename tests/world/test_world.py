"""Whatever goes wrong: a size is of its part, nothing shown is lost, a redo is equal."""

import os
from concurrent.futures import ProcessPoolExecutor
from itertools import islice

import pytest

from tests.world.mutants import MUTANTS, sessions
from tests.world.play import Played, play, shrink
from tests.world.trouble import KINDS

SESSIONS = int(os.environ.get("WORLD_SESSIONS", "10000"))
FIRST = int(os.environ.get("WORLD_SEED", "100000"))


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(24))
def test_nothing_is_broken(seed):
    played = play(seed)
    if played.broken:
        small = shrink(played)
        pytest.fail(f"seed {seed}: {small.broken} by {small.troubles}")


@pytest.mark.slow
def test_a_seed_is_the_same_session_again():
    one, two = play(7), play(7)
    assert one.lines == two.lines
    assert one.troubles == two.troubles


def test_shrinking_keeps_what_it_takes():
    """A session is broken by one of its troubles alone: the others are left out."""

    def tried(_seed: int, troubles):
        broken = ["broken"] if any(one.kind == "swap" for one in troubles) else []
        return Played(1, troubles, broken)

    whole = next(p for p in (play_nothing(seed) for seed in range(99)) if has(p, "swap"))
    small = shrink(tried(1, whole.troubles), tried)
    assert [one.kind for one in small.troubles] == ["swap"]


def play_nothing(seed: int) -> Played:
    from tests.world.play import Session  # noqa: PLC0415

    return Played(seed, Session(seed).troubles)


def has(played: Played, kind: str) -> bool:
    kinds = [one.kind for one in played.troubles]
    return kinds.count(kind) == 1 and len(kinds) > 1


@pytest.mark.long
@pytest.mark.timeout(3 * 3600)
def test_many_sessions():
    """`WORLD_SESSIONS` of them from `WORLD_SEED` on; each kind of trouble strikes in its share."""
    struck = dict.fromkeys(KINDS, 0)
    with ProcessPoolExecutor() as pool:
        for broken, kinds in pool.map(_broken, range(FIRST, FIRST + SESSIONS), chunksize=16):
            assert not broken
            for kind in kinds:
                struck[kind] += 1
    assert min(struck.values()) >= SESSIONS / 20, struck


def _broken(seed: int) -> tuple[str, list[str]]:
    played = play(seed)
    return f"seed {seed}: {played.broken}" if played.broken else "", list(played.struck.elements())


@pytest.mark.long
@pytest.mark.timeout(900)
@pytest.mark.parametrize("name", MUTANTS)
def test_a_planted_fault_is_found(name):
    """Some session shows it, or the world looks at too little."""
    with pytest.MonkeyPatch.context() as patch:
        MUTANTS[name][0](patch)
        assert any(play(seed, troubles).broken for seed, troubles in islice(sessions(name), 200))
