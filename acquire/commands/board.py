"""`barrelfit board`: the board alone, for all benches of a machine or a shop."""

import signal
import subprocess
import sys
from pathlib import Path
from typing import Annotated

import typer

Host = Annotated[str, typer.Option(metavar="ADDRESS", help="Address to serve on.")]
Sessions = Annotated[
    Path | None,
    typer.Option(metavar="FOLDER", help="Folder where this machine's benches keep their sessions."),
]
BrokerHost = Annotated[
    str | None,
    typer.Option(
        metavar="HOST", help="The shop's broker, to show what benches elsewhere copy to it."
    ),
]
BrokerPort = Annotated[
    int | None, typer.Option(metavar="PORT", help="Its port, 1883 unless named.")
]
User = Annotated[str, typer.Option(metavar="NAME", help="Its user; empty for none.")]
PasswordFile = Annotated[Path | None, typer.Option(metavar="FILE", help="File with its password.")]
SignIn = Annotated[
    Path | None,
    typer.Option(metavar="FILE", help="File with the identity provider that leads sign in with."),
]
ShowKey = Annotated[
    bool,
    typer.Option("--show-key", help="Print what a leads' file needs to know of it, and end."),
]


def board(  # noqa: PLR0913  an option each
    *,
    port: Annotated[int, typer.Option(metavar="PORT", help="Port to serve on.")] = 8501,
    host: Host = "127.0.0.1",
    sessions: Sessions = None,
    broker_host: BrokerHost = None,
    broker_port: BrokerPort = None,
    user: User = "barrelfit",
    password_file: PasswordFile = None,
    sign_in: SignIn = None,
    show_key: ShowKey = False,
) -> int:
    """Show benches in a browser: readings, sweeps, verdicts, health.

    Shows all benches that run on this machine as this user, or with --broker-host those that copy
    to the shop's broker (from there nothing can be entered but a lead's override). One board serves
    any number of screens. `/` shows the floor, `/bench?id=NAME` one bench in large digits. It makes
    no request outside this machine and the broker.

    Example:
      barrelfit board --port 8502
    """
    from barrelfit.acquire.journal.session import USUAL_FOLDER

    folder = (sessions or USUAL_FOLDER).expanduser()
    arguments = ["--host", host, "--port", str(port), "--sessions", str(folder)]
    if broker_host is not None:
        arguments += ["--broker-host", broker_host]
    if broker_port is not None:
        arguments += ["--broker-port", str(broker_port)]
    arguments += ["--user", user]
    if password_file is not None:
        arguments += ["--password-file", str(password_file)]
    if sign_in is not None:
        arguments += ["--sign-in", str(sign_in)]
    if show_key:
        arguments.append("--show-key")
    return _until_it_ends([sys.executable, "-m", "barrelfit.dashboard", *arguments])


def _until_it_ends(command: list[str]) -> int:
    """Run a process of its own (nothing of the board is ever loaded into this one) to its end.

    It ends with us, however we end: it watches the pipe that we hold.
    """
    child: subprocess.Popen[bytes] | None = None
    told = False

    def end(_number: int, _frame: object) -> None:
        nonlocal told
        told = True
        if child is not None:
            child.terminate()

    for number in (signal.SIGINT, signal.SIGTERM):
        signal.signal(number, end)
    child = subprocess.Popen(  # noqa: S603  our own program
        [*command, "--watch-stdin"], stdin=subprocess.PIPE, start_new_session=True
    )
    if told:
        child.terminate()
    code = child.wait()
    return 0 if told else code
