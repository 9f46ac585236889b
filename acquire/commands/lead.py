"""`barrelfit lead`: who may override a verdict."""

from typing import Annotated

import typer


def lead(
    name: Annotated[
        str, typer.Argument(metavar="NAME", help="The lead's name, as it is to stand in reports.")
    ],
    *,
    passphrase_stdin: Annotated[
        bool, typer.Option("--passphrase-stdin", help="Read the passphrase from standard input.")
    ] = False,
) -> int:
    """Print a lead's entry for the leads' file of a bench.

    A lead may decide otherwise than a verdict, with a reason, from the board's floor page. The
    passphrase is asked for twice and kept nowhere: the entry holds what it is checked with, from
    which it can't be told. Put the printed text into a file that begins with the line
    `schema = 1`, readable by the daemon's user only.

    Example:
      barrelfit lead "R. Lead" --passphrase-stdin < passphrase.txt >> leads.toml
    """
    import secrets

    from barrelfit.acquire.commands.secret import secret_given
    from barrelfit.acquire.inputs.leads import SALT_BYTES, enrol, entry_text

    passphrase = secret_given("Passphrase", from_stdin=passphrase_stdin)
    print(entry_text(enrol(name, passphrase, secrets.token_bytes(SALT_BYTES))), end="")
    return 0
