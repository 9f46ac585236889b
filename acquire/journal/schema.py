"""Writes the JSON Schema of a journal's lines.

`python -m barrelfit.acquire.journal.schema > FILE`
"""

import json

from barrelfit.acquire.journal.codec import schema


def schema_text() -> str:
    """The schema as it is kept in acquire/schemas/journal.json."""
    return json.dumps(schema(), indent=1, sort_keys=True, ensure_ascii=False) + "\n"


if __name__ == "__main__":
    print(schema_text(), end="")  # noqa: T201  this is a command
