"""The command line: every command is listed here, its body lives in `acquire.commands`."""

import sys
from collections.abc import Callable, Sequence
from functools import wraps
from inspect import cleandoc
from typing import ParamSpec

import typer

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
from barrelfit.acquire.commands.lead import lead
from barrelfit.acquire.commands.profiles import profiles
from barrelfit.acquire.commands.replay import replay
from barrelfit.acquire.commands.report import report
from barrelfit.acquire.commands.run import run
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

P = ParamSpec("P")

app = typer.Typer(
    name="barrelfit",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    help="Judge used pistons and barrels with live gauges, and keep the proof.",
    epilog="Exit codes: 0 fine, 1 a finding, 2 a usage or input error.",
)


def with_exit_code(body: Callable[P, int]) -> Callable[P, None]:
    """Make a command body's returned number the exit code of the process."""

    @wraps(body)
    def run(*args: P.args, **kwargs: P.kwargs) -> None:
        raise typer.Exit(body(*args, **kwargs))

    run.__doc__ = flowing(body.__doc__ or "")
    return run


def flowing(text: str) -> str:
    """A docstring as help: each paragraph one line, for the terminal to wrap to its own width."""
    paragraphs = cleandoc(text).split("\n\n")
    return "\n\n".join(" ".join(paragraph.split()) for paragraph in paragraphs)


@app.callback()
def root() -> None:
    """Keep one-command listings a group: the name of the command is always typed."""


app.command("decode")(with_exit_code(decode))
app.command("demo")(with_exit_code(demo))
app.command("run")(with_exit_code(run))
app.command("board")(with_exit_code(board))
app.command("profiles")(with_exit_code(profiles))
app.command("gauges")(with_exit_code(gauges))
app.command("identify")(with_exit_code(identify))
app.command("setting")(with_exit_code(setting))
app.command("budget")(with_exit_code(budget))
app.command("export")(with_exit_code(export))
app.command("find")(with_exit_code(find))
app.command("replay")(with_exit_code(replay))
app.command("sign")(with_exit_code(sign))
app.command("verify")(with_exit_code(verify))
app.command("size")(with_exit_code(size))
app.command("judge")(with_exit_code(judge))
app.command("report")(with_exit_code(report))
app.command("topics")(with_exit_code(topics))
app.command("lead")(with_exit_code(lead))
app.add_typer(sheet_command.app, name="sheet")


def run_cli(arguments: Sequence[str]) -> int:
    """Run one command and return its exit code: 0 fine, 1 a finding, 2 a usage or input error."""
    try:
        app(args=list(arguments), prog_name="barrelfit")
    except (UserError, DriverError, RulesError) as error:
        for problem in error.problems:
            print(f"barrelfit: {problem}", file=sys.stderr)  # noqa: T201  the one place errors go
        return EXIT_USAGE
    except SystemExit as end:
        return end.code if isinstance(end.code, int) else EXIT_USAGE
    except KeyboardInterrupt:
        return EXIT_INTERRUPTED
    return 0
