"""Runs a simulator: `python -m barrelfit.simulators trace|serve|line`; `--help` tells more."""

import argparse
import asyncio
import contextlib
import signal
import sys
from collections.abc import Coroutine
from pathlib import Path

from barrelfit.simulators.errors import SimulatorError
from barrelfit.simulators.oracle import OraclePlan, send_numbered
from barrelfit.simulators.port import Port
from barrelfit.simulators.scale import SimulatedScale, scale_of, serve_scale
from barrelfit.simulators.scenario import load_scenario
from barrelfit.simulators.second_trace import SecondTrace, make_second_trace, second_kinds
from barrelfit.simulators.serve import Bench, say_json, serve, standard_input
from barrelfit.simulators.trace import Trace, kinds, make_trace
from barrelfit.simulators.trouble import FAULTS, shares_from

EXIT_USAGE = 2
FIRST = "first"


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
    parser = argparse.ArgumentParser(prog="python -m barrelfit.simulators", description=__doc__)
    commands = parser.add_subparsers(dest="command", required=True)
    trace = commands.add_parser("trace", help="write one simulated sweep as t_s,reading_mm")
    trace.add_argument("kind", choices=kinds(), metavar="KIND", help=", ".join(kinds()))
    trace.add_argument("--rate", type=float, default=20.0, help="readings a second, 5 to 50")
    trace.add_argument("--seed", type=int, default=1)
    trace.add_argument("--digit-nm", type=int, default=1_000, help="1000, 500 or 1270")
    trace.add_argument("--model", choices=(FIRST, "second"), default=FIRST, help="of the physics")
    trace.set_defaults(run=_trace)
    bench = commands.add_parser("serve", help="play a bench: a machinist, parts and gauges")
    bench.add_argument("--scenario", default="demo", help="a shipped one, or a .toml/.json file")
    bench.add_argument("--bench", type=int, default=1, help="2 and on: other parts, other seed")
    bench.add_argument("--seed", type=int, help="instead of the scenario's")
    bench.add_argument("--speed", type=float, default=1.0, help="times real time")
    bench.add_argument(
        "--profile", action="append", default=[], metavar="GAUGE=ID", help="how a gauge writes"
    )
    bench.add_argument("--link-dir", type=Path, help="folder for port names that stay")
    bench.add_argument("--plan", default="-", help="where the board's lines come from: - or a file")
    bench.set_defaults(run=_serve)
    scale = commands.add_parser("scale", help='play a scale: a line {"lay": 512.4} lays on g')
    scale.add_argument("--profile", default="steady-letter-mass-unit-crlf", help="how it writes")
    scale.add_argument("--seed", type=int, default=1)
    scale.add_argument("--speed", type=float, default=1.0, help="times real time")
    scale.add_argument("--link", type=Path, help="a port name that survives unplugging")
    scale.set_defaults(run=_scale)
    line = commands.add_parser("line", help="send known, numbered readings, keep a list of them")
    line.add_argument("--profile", required=True, help="how the gauge writes: an id, or a .toml")
    line.add_argument("--rate", type=float, default=10.0, help="readings a second")
    line.add_argument("--count", type=int, default=1_000, help="how many readings")
    line.add_argument("--seed", type=int, default=1)
    line.add_argument("--start-nm", type=int, default=12_000_000, help="the first reading")
    line.add_argument("--step-nm", type=int, default=1_000, help="from one reading to the next")
    line.add_argument("--trouble", default="", help=f"drop=0.01,…; faults: {', '.join(FAULTS)}")
    line.add_argument("--settle", type=float, default=0.5, help="s, from a reader to the first")
    line.add_argument("--oracle", type=Path, help="file for the list of what was sent")
    line.add_argument("--link", type=Path, help="a port name that survives unplugging")
    line.set_defaults(run=_line)
    return parser


def _trace(options: argparse.Namespace) -> int:
    made: Trace | SecondTrace
    if options.model == FIRST:
        made = make_trace(options.kind, options.rate, options.seed, digit_nm=options.digit_nm)
    elif options.kind in second_kinds():
        made = make_second_trace(options.kind, options.rate, options.seed, options.digit_nm)
    else:
        message = f"the second model has no '{options.kind}', but: {', '.join(second_kinds())}"
        raise SimulatorError([message])
    sys.stdout.write(made.csv())
    truth = "no size" if made.truth_nm is None else f"{made.truth_nm} nm"
    sys.stderr.write(f"seed {made.seed}, {made.movement}, truth: {truth}, expect: {made.expect}\n")
    return 0


def _serve(options: argparse.Namespace) -> int:
    profiles = dict(text.partition("=")[::2] for text in options.profile)
    scenario = load_scenario(options.scenario, options.bench, options.seed, profiles)
    if options.link_dir:
        options.link_dir.mkdir(parents=True, exist_ok=True)
    looks = None if options.plan == "-" else Path(options.plan).read_text(encoding="utf-8")
    bench = Bench(scenario, options.speed, options.link_dir)
    return asyncio.run(_until_told(serve(bench, say_json, looks)))


def _scale(options: argparse.Namespace) -> int:
    scale, port = scale_of(options.profile, options.seed), Port(options.link)
    say_json({"seed": options.seed})
    say_json({"gauge": options.profile, "port": port.shown_name})
    try:
        return asyncio.run(_until_told(_played(scale, port, options.speed)))
    finally:
        port.unplug()


async def _played(scale: SimulatedScale, port: Port, speed: float) -> None:
    await serve_scale(scale, port, standard_input(), speed)


def _line(options: argparse.Namespace) -> int:
    plan = OraclePlan(
        profile=options.profile,
        rate_hz=options.rate,
        count=options.count,
        seed=options.seed,
        shares=shares_from(options.trouble),
        start_nm=options.start_nm,
        step_nm=options.step_nm,
        settle_s=options.settle,
    )
    port = Port(options.link)
    say_json({"seed": plan.seed})
    say_json({"gauge": plan.profile, "port": port.shown_name})
    try:
        return asyncio.run(_until_told(send_numbered(plan, port, options.oracle)))
    finally:
        port.unplug()


async def _until_told(work: Coroutine[None, None, None]) -> int:
    """Do the work until it is over, or SIGTERM or SIGINT comes."""
    this = asyncio.current_task()
    if this is not None:
        for number in (signal.SIGTERM, signal.SIGINT):
            asyncio.get_running_loop().add_signal_handler(number, this.cancel)
    with contextlib.suppress(asyncio.CancelledError):
        await work
    return 0


if __name__ == "__main__":
    sys.exit(main())
