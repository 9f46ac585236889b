"""Times of matching: `python -m tests.bench.matching_times`; prints figures, judges nothing."""

import random
import time

from barrelfit.rules.judge.matching import MatchBarrel, MatchPiston, Task, best_match


def task_of(cylinders: int, spares: int, seed: int) -> Task:
    """A random set with banks, height groups and masses; seed printed by the caller."""
    rng = random.Random(seed)  # noqa: S311
    count = cylinders + spares
    skirts = [84_940_000 - rng.randint(0, 60_000) for _ in range(count)]
    bores = [85_000_000 + rng.randint(0, 60_000) for _ in range(count)]
    return Task(
        cylinders=cylinders,
        pistons=tuple(MatchPiston(f"P{i}", rng.randint(0, 6000)) for i in range(count)),
        barrels=tuple(MatchBarrel(f"B{i}", "12"[i % 2], f"P{i}") for i in range(count)),
        clearances_nm={
            (f"P{i}", f"B{j}"): b - s for i, s in enumerate(skirts) for j, b in enumerate(bores)
        },
        bank_sizes=(cylinders // 2, cylinders // 2),
        mass_spread_mg=5500,
    )


def main() -> None:
    """Print the time of the first call (with the library's import) and of sets of each size."""
    start = time.perf_counter()
    best_match(task_of(2, 0, 0))
    print(f"first call, import included: {time.perf_counter() - start:.2f} s")  # noqa: T201
    for cylinders, spares in ((4, 0), (6, 0), (8, 0), (12, 0), (12, 2)):
        times = []
        for seed in range(5):
            task = task_of(cylinders, spares, seed)
            start = time.perf_counter()
            best_match(task)
            times.append(time.perf_counter() - start)
        print(f"{cylinders} cylinders, {spares} spares: worst of 5 seeds {max(times):.3f} s")  # noqa: T201


if __name__ == "__main__":
    main()
