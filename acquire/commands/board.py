"""`barrelfit board`: the board alone, for a screen that is not on the bench's own machine."""

import contextlib
import subprocess
import sys
from pathlib import Path
from typing import Annotated

import typer


def board(  # noqa: PLR0913  an option each
    *,
    port: Annotated[int, typer.Option(help="Port to serve on.")] = 8501,
    host: Annotated[str, typer.Option(help="Address to serve on.")] = "127.0.0.1",
    broker_host: Annotated[str, typer.Option(help="The bus's broker.")] = "127.0.0.1",
    broker_port: Annotated[int, typer.Option(help="Its port.")] = 1883,
    user: Annotated[str, typer.Option(help="Its user; empty for none.")] = "barrelfit",
    password_file: Annotated[
        Path | None,
        typer.Option(help="File with its password; by default the embedded broker's."),
    ] = None,
    sign_in: Annotated[
        Path | None,
        typer.Option(help="File with the identity provider that leads sign in with."),
    ] = None,
    show_key: Annotated[
        bool,
        typer.Option("--show-key", help="Print what a leads' file needs to know of it, and end."),
    ] = False,
) -> int:
    """Show every bench of a bus in a browser: readings, sweeps, verdicts, health.

    One board serves any number of screens. `/` shows the floor, `/bench?id=NAME` one bench in
    large digits. It makes no request outside this machine and the broker.
    """
    from barrelfit.acquire.journal.session import USUAL_FOLDER

    usual = USUAL_FOLDER.expanduser() / "broker-password"
    chosen = password_file or (usual if usual.exists() else None)
    arguments = ["--host", host, "--port", str(port), "--user", user]
    arguments += ["--broker-host", broker_host, "--broker-port", str(broker_port)]
    if chosen is not None:
        arguments += ["--password-file", str(chosen)]
    if sign_in is not None:
        arguments += ["--sign-in", str(sign_in)]
    if show_key:
        arguments.append("--show-key")
    # A process of its own: nothing of the board is ever loaded into this one.
    command = [sys.executable, "-m", "barrelfit.dashboard", *arguments]
    with contextlib.suppress(KeyboardInterrupt):
        return subprocess.run(command, check=False).returncode  # noqa: S603  our own program
    return 0
