"""`barrelfit schema`: the keys of a file for an editor."""

from typing import Annotated

import typer

from barrelfit.acquire.commands.completing import choice
from barrelfit.rules.said import said


def schema(
    file: Annotated[
        str,
        typer.Argument(
            metavar="FILE",
            help="bench, sheet, set, profile, or journal (one line of it).",
            autocompletion=choice("bench", "sheet", "set", "profile", "journal"),
        ),
    ],
) -> int:
    """Print the JSON Schema of a kind of file, for an editor that checks and completes.

    It says of each key what it means and what may stand there. What must hold between keys is
    still said by the commands that read the file.

    Example:
      barrelfit schema sheet > sheet.schema.json
    """
    import json

    from barrelfit.acquire.errors import UserError
    from barrelfit.acquire.inputs.json_schema import FILES, schema_of

    if file not in FILES:
        raise UserError([said("no_kind_of_file", file=file, files=tuple(FILES))])
    print(json.dumps(schema_of(file), ensure_ascii=False, indent=2))
    return 0
