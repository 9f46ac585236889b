"""The command line: every command is listed here, its body lives in `acquire.commands`."""

import sys
from collections.abc import Sequence

import click
import typer

from acquire.errors import UserError
from drivers.errors import DriverError
from rules.errors import RulesError

EXIT_FINE = 0
EXIT_FINDING = 1
EXIT_USAGE = 2

app = typer.Typer(
    name="barrelfit",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    help="Judge used pistons and barrels with live gauges, and keep the proof.",
)


def run_cli(arguments: Sequence[str]) -> int:
    """Run one command and return its exit code: 0 fine, 1 a finding, 2 a usage or input error."""
    try:
        result = app(args=list(arguments), standalone_mode=False)
    except click.ClickException as error:
        error.show()
        return EXIT_USAGE
    except (UserError, DriverError, RulesError) as error:
        for problem in error.problems:
            print(f"barrelfit: {problem}", file=sys.stderr)  # noqa: T201  the one place errors go
        return EXIT_USAGE
    except (click.exceptions.Abort, KeyboardInterrupt):
        return 130
    return result if isinstance(result, int) else EXIT_FINE
