"""What the studies share on their command line: how many, from which seed on, and of which rows."""

import argparse
import sys


def study_asked(doc: str, what: str, usual: int) -> tuple[range, str]:
    """The seeds that are asked for, which are printed, and what a row's name must hold.

    Args:
        doc: the study's docstring; its first line is the help.
        what: what there is one of for each seed, as the option is called.
        usual: how many, where nobody says so.
    """
    parser = argparse.ArgumentParser(description=doc.splitlines()[0])
    parser.add_argument(f"--{what}", type=int, default=usual, dest="count")
    parser.add_argument("--seed", type=int, default=0)
    parser.add_argument("--only", default="")
    options = parser.parse_args()
    seeds = range(options.seed, options.seed + options.count)
    tell(f"seeds {seeds.start} to {seeds.stop - 1}")
    return seeds, options.only


def tell(line: str) -> None:
    """Print a line as soon as it is known."""
    sys.stdout.write(f"{line}\n")
    sys.stdout.flush()
