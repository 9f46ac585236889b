"""Plays many seeded sessions: `python -m tests.world.run --sessions 10000 --workers 2`.

Prints how often each trouble struck, and every session in which something was broken, shrunk to
the troubles that it takes. `--seed 17 --sessions 1 --journal` plays one session again and prints
its records.
"""

import argparse
import sys
from collections import Counter
from collections.abc import Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace

from tests.world.play import Played, play, shrink
from tests.world.trouble import KINDS


def main(arguments: Sequence[str]) -> int:
    """Play; returns 1 when something was broken."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--sessions", type=int, default=100)
    parser.add_argument("--seed", type=int, default=0, help="of the first session")
    parser.add_argument("--workers", type=int, default=1)
    parser.add_argument("--journal", action="store_true", help="print every record")
    chosen = parser.parse_args(arguments)
    seeds = range(chosen.seed, chosen.seed + chosen.sessions)
    if chosen.journal:
        for seed in seeds:
            _print_journal(play(seed))
        return 0
    struck: Counter[str] = Counter()
    broken = sized = done = 0
    with ProcessPoolExecutor(chosen.workers) as pool:
        for played in pool.map(_played, seeds, chunksize=8):
            struck.update(played.struck)
            sized += played.sized
            done += played.done
            if played.broken:
                broken += 1
                print(_told(played), flush=True)
    print("struck: " + ", ".join(f"{kind} {struck[kind]}" for kind in KINDS))
    print(f"{len(seeds)} sessions from seed {chosen.seed}: {done} done, {sized} sizes,"
          f" {broken} broken")  # fmt: skip
    return 1 if broken else 0


def _played(seed: int) -> Played:
    """Without the records, which are many."""
    return replace(play(seed), lines=[])


def _told(played: Played) -> str:
    small = shrink(played)
    troubles = "".join(f"\n    {one}" for one in small.troubles)
    return f"seed {played.seed}: " + "; ".join(small.broken[:3]) + troubles


def _print_journal(played: Played) -> None:
    for one in played.troubles:
        print(one)
    for line in played.lines:
        print(f"{line.seq:6} {line.t_ns / 1e9:9.3f} {line.event}")
    print("\n".join(played.broken))


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
