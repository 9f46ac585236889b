"""Runs a simulator: `python -m simulators trace KIND`, and more; `--help` tells."""

import argparse
import sys

from simulators.trace import kinds, make_trace


def main(arguments: list[str] | None = None) -> int:
    """Parse the command line and run one simulator; returns its exit code."""
    parser = argparse.ArgumentParser(prog="python -m simulators", description=__doc__)
    commands = parser.add_subparsers(dest="command", required=True)
    trace = commands.add_parser("trace", help="write one simulated sweep as t_s,reading_mm")
    trace.add_argument("kind", choices=kinds(), metavar="KIND", help=", ".join(kinds()))
    trace.add_argument("--rate", type=float, default=20.0, help="readings a second, 5 to 50")
    trace.add_argument("--seed", type=int, default=1)
    trace.add_argument("--digit-nm", type=int, default=1_000, help="1000, 500 or 1270")
    options = parser.parse_args(arguments)
    made = make_trace(options.kind, options.rate, options.seed, digit_nm=options.digit_nm)
    sys.stdout.write(made.csv())
    truth = "no size" if made.truth_nm is None else f"{made.truth_nm} nm"
    sys.stderr.write(f"seed {made.seed}, {made.movement}, truth: {truth}, expect: {made.expect}\n")
    return 0


if __name__ == "__main__":
    sys.exit(main())
