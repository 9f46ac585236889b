"""Runs a simulator: `python -m simulators trace|serve|line`; `--help` tells the options."""

import argparse
import asyncio
import contextlib
import signal
import sys
from pathlib import Path

from simulators.errors import SimulatorError
from simulators.scenario import load_scenario
from simulators.serve import Bench, say_json, serve
from simulators.trace import kinds, make_trace

EXIT_USAGE = 2


def main(arguments: list[str] | None = None) -> int:
    """Parse the command line and run one simulator; returns its exit code."""
    options = _parser().parse_args(arguments)
    try:
        return int(options.run(options))
    except SimulatorError as error:
        for problem in error.problems:
            sys.stderr.write(f"simulators: {problem}\n")
        return EXIT_USAGE


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(prog="python -m simulators", description=__doc__)
    commands = parser.add_subparsers(dest="command", required=True)
    trace = commands.add_parser("trace", help="write one simulated sweep as t_s,reading_mm")
    trace.add_argument("kind", choices=kinds(), metavar="KIND", help=", ".join(kinds()))
    trace.add_argument("--rate", type=float, default=20.0, help="readings a second, 5 to 50")
    trace.add_argument("--seed", type=int, default=1)
    trace.add_argument("--digit-nm", type=int, default=1_000, help="1000, 500 or 1270")
    trace.set_defaults(run=_trace)
    bench = commands.add_parser("serve", help="play a bench: a machinist, parts and gauges")
    bench.add_argument("--scenario", default="demo", help="a shipped one, or a .toml/.json file")
    bench.add_argument("--bench", type=int, default=1, help="2 and on: other parts, other seed")
    bench.add_argument("--seed", type=int, help="instead of the scenario's")
    bench.add_argument("--speed", type=float, default=1.0, help="times real time")
    bench.add_argument("--link-dir", type=Path, help="folder for port names that stay")
    bench.add_argument("--plan", default="-", help="where the board's lines come from: - or a file")
    bench.set_defaults(run=_serve)
    return parser


def _trace(options: argparse.Namespace) -> int:
    made = make_trace(options.kind, options.rate, options.seed, digit_nm=options.digit_nm)
    sys.stdout.write(made.csv())
    truth = "no size" if made.truth_nm is None else f"{made.truth_nm} nm"
    sys.stderr.write(f"seed {made.seed}, {made.movement}, truth: {truth}, expect: {made.expect}\n")
    return 0


def _serve(options: argparse.Namespace) -> int:
    scenario = load_scenario(options.scenario, options.bench, options.seed)
    if options.link_dir:
        options.link_dir.mkdir(parents=True, exist_ok=True)
    looks = None if options.plan == "-" else Path(options.plan).read_text(encoding="utf-8")
    bench = Bench(scenario, options.speed, options.link_dir)
    return asyncio.run(_until_told(bench, looks))


async def _until_told(bench: Bench, looks: str | None) -> int:
    """Serve until standard input ends, or SIGTERM or SIGINT comes."""
    this = asyncio.current_task()
    if this is not None:
        for number in (signal.SIGTERM, signal.SIGINT):
            asyncio.get_running_loop().add_signal_handler(number, this.cancel)
    with contextlib.suppress(asyncio.CancelledError):
        await serve(bench, say_json, looks)
    return 0


if __name__ == "__main__":
    sys.exit(main())
