"""`barrelfit person`: who signs on at a bench with a personal code."""

from typing import Annotated

import typer


def person(
    name: Annotated[
        str, typer.Argument(metavar="NAME", help="The name, as it is to stand in reports.")
    ],
    *,
    code_stdin: Annotated[
        bool, typer.Option("--code-stdin", help="Read the code from standard input.")
    ] = False,
) -> int:
    """Print a person's entry for the people's file of a bench.

    Without a code a name is a statement, and printed as one. With one it is proved at each
    sign-on. The code is asked for twice and kept nowhere. Put the printed text into a file that
    begins with the line `schema = 1`, readable by the daemon's user only, and name it in the bench
    file as `people = "people.toml"`.

    Example:
      barrelfit person "A. Smith" --code-stdin < code.txt >> people.toml
    """
    import secrets

    from barrelfit.acquire.commands.secret import secret_given
    from barrelfit.acquire.inputs.leads import SALT_BYTES
    from barrelfit.acquire.inputs.people import enrol_person, person_text

    code = secret_given("Code", from_stdin=code_stdin)
    person = enrol_person(name, code, secrets.token_bytes(SALT_BYTES))
    print(person_text(person), end="")
    return 0
