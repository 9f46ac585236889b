"""The command line: every command is listed here, its body lives in `acquire.commands`."""

import errno
import os
import signal
import sys
from collections.abc import Callable, Sequence
from functools import cache, wraps
from typing import Annotated, ParamSpec

import typer
from typer.main import get_command

from barrelfit.acquire.commands import sheet as sheet_command
from barrelfit.acquire.commands.board import board
from barrelfit.acquire.commands.budget import budget
from barrelfit.acquire.commands.decode import decode
from barrelfit.acquire.commands.demo import demo
from barrelfit.acquire.commands.export import export
from barrelfit.acquire.commands.find import find
from barrelfit.acquire.commands.gauges import gauges
from barrelfit.acquire.commands.identify import identify
from barrelfit.acquire.commands.judge import judge
from barrelfit.acquire.commands.labels import labels
from barrelfit.acquire.commands.lead import lead
from barrelfit.acquire.commands.manual import OPTION_NAMES, Contents, Manual
from barrelfit.acquire.commands.person import person
from barrelfit.acquire.commands.profiles import profiles
from barrelfit.acquire.commands.replay import replay
from barrelfit.acquire.commands.report import report
from barrelfit.acquire.commands.run import run
from barrelfit.acquire.commands.schema import schema
from barrelfit.acquire.commands.setting import setting
from barrelfit.acquire.commands.sign import sign
from barrelfit.acquire.commands.size import size
from barrelfit.acquire.commands.topics import topics
from barrelfit.acquire.commands.verify import verify
from barrelfit.acquire.errors import UserError
from barrelfit.drivers.errors import DriverError
from barrelfit.rules.errors import RulesError

EXIT_USAGE = 2
EXIT_INTERRUPTED = 130
EXIT_UNREAD = 141  # what a shell says of a command that SIGPIPE ended
ERRORS = (UserError, DriverError, RulesError)

P = ParamSpec("P")
Body = Callable[..., int]

# Which command is for which task, in the order in which a shop comes to them.
TASKS: dict[str, tuple[Body, ...]] = {
    "See it at work": (demo,),
    "Set up a bench": (gauges, identify, profiles, setting, lead, person),
    "Record and judge": (run, board),
    "Judge without gauges": (size, judge),
    "Look back": (find, replay, report, labels, budget, export),
    "Prove a record": (verify, sign),
    "For other programs": (decode, schema, topics),
}

# They hear Ctrl-C themselves as soon as there is anything to end; until then it ends them at once.
HEAR_CTRL_C: tuple[Body, ...] = (run, demo, board)

app = typer.Typer(
    name="barrelfit",
    cls=Contents,
    no_args_is_help=True,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    context_settings=OPTION_NAMES,
    help="Judge used pistons and barrels with live gauges, and keep the proof.",
    epilog="'barrelfit COMMAND --help' tells all of a command, with an example. "
    "Exit codes: 0 fine, 1 a finding, 2 a usage or input error.",
)


def with_exit_code(body: Callable[P, int]) -> Callable[P, None]:
    """Make a command body's returned number the exit code of the process."""

    @wraps(body)
    def run(*args: P.args, **kwargs: P.kwargs) -> None:
        try:
            if body not in HEAR_CTRL_C and signal.getsignal(signal.SIGINT) is signal.SIG_DFL:
                signal.signal(signal.SIGINT, signal.default_int_handler)
            code = body(*args, **kwargs)
            sys.stdout.flush()
            raise typer.Exit(code)
        except BrokenPipeError:  # nobody reads on (`… | head`): no finding, and no error either
            _write_no_more()
            raise typer.Exit(EXIT_UNREAD) from None
        except OSError as error:
            if error.filename is not None or error.errno not in (errno.ENOSPC, errno.EDQUOT):
                raise
            _write_no_more()
            print(f"barrelfit: standard output: {error.strerror}", file=sys.stderr)  # noqa: T201
            raise typer.Exit(EXIT_USAGE) from None
        except ERRORS as error:
            _tell(error, str(kwargs.get("unit", "")), str(kwargs.get("decimal", "")))
            raise typer.Exit(EXIT_USAGE) from None

    return run


def _write_no_more() -> None:
    """What is still to be written at the end of the process goes nowhere."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def _tell(error: UserError | DriverError | RulesError, unit: str = "", decimal: str = "") -> None:
    """Tell all that is wrong, in the unit and with the mark that were asked for."""
    from barrelfit.acquire.coded import said_of  # noqa: PLC0415  loads every word
    from barrelfit.acquire.inputs.manner import plain_manner  # noqa: PLC0415
    from barrelfit.rules.manner import told  # noqa: PLC0415

    manner = plain_manner(unit, decimal)
    problems = map(said_of, error.problems) if isinstance(error, DriverError) else error.problems
    for problem in problems:
        print(f"barrelfit: {told(problem, manner)}", file=sys.stderr)  # noqa: T201  the one place errors go
    if isinstance(error, UserError) and error.below:
        print(error.below, file=sys.stderr)  # noqa: T201  the line that is spoken of


def _tell_version(asked: bool) -> None:  # noqa: FBT001  an option's callback
    if asked:
        from importlib.metadata import version  # noqa: PLC0415  slow to load

        print(f"barrelfit {version('barrelfit')}")  # noqa: T201  what was asked for
        raise typer.Exit


@app.callback()
def root(
    *,
    version: Annotated[
        bool,
        typer.Option("--version", callback=_tell_version, is_eager=True, help="Tell the version."),
    ] = False,
) -> None:
    """Keep one-command listings a group: the name of the command is always typed."""


for task, bodies in TASKS.items():
    for body in bodies:
        app.command(body.__name__, cls=Manual, rich_help_panel=task)(with_exit_code(body))
app.add_typer(sheet_command.app, name="sheet", rich_help_panel="Set up a bench")


@cache
def _command() -> Callable[..., object]:
    """The commands as they are parsed; made once, for who runs several in one process."""
    return get_command(app)


def run_cli(arguments: Sequence[str]) -> int:
    """Run one command and return its exit code: 0 fine, 1 a finding, 2 a usage or input error."""
    try:
        _command()(args=list(arguments), prog_name="barrelfit")
    except ERRORS as error:
        _tell(error)
        return EXIT_USAGE
    except SystemExit as end:
        return end.code if isinstance(end.code, int) else EXIT_USAGE
    except KeyboardInterrupt:
        return EXIT_INTERRUPTED
    return 0
