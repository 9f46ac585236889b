"""A mistake in a TOML text, with the line that it stands in and a mark below it."""

import re
from typing import Final

from barrelfit.acquire.errors import UserError
from barrelfit.rules.said import Said, said

_PLACE: Final = re.compile(
    r"^(.*?)\s*\(at (?:line (\d+), column (\d+)|end of document)\)$", re.DOTALL
)
_BEFORE, _SHOWN = 50, 76  # so much of a long line is shown, and so much of that before the mark


def mistake(message: str, text: str, name: str) -> UserError:
    """What a TOML parser refused: `FILE:LINE: sentence`, with the line and a mark below it.

    Args:
        message: the parser's, ending in `(at line 3, column 5)` or `(at end of document)`.
        text: what was parsed.
        name: how messages call the file.
    """
    text = text.replace("\r\n", "\n")  # as the parser counts
    found = _PLACE.match(message)
    if found is None:
        return UserError([said("of_file", file=name, what=message)])
    says, line, column = found.groups()
    if line is None:
        return _quoted(said("at_end_of_file", what=says), text, name, len(text))
    start = sum(len(one) + 1 for one in text.split("\n")[: int(line) - 1])
    return _quoted(says, text, name, start + int(column) - 1)


def _quoted(says: str | Said, text: str, name: str, at: int) -> UserError:
    """A sentence on one place of a text, with its line and a mark below.

    Args:
        says: what is wrong there.
        text: the whole text.
        name: how messages call the file.
        at: the place, as characters from the start; the end of the text is its last line's end.
    """
    written = text.rstrip("\n")
    at = min(at, len(written))
    start = written.rfind("\n", 0, at) + 1
    line = written[start:].split("\n", 1)[0]
    first = max(0, at - start - _BEFORE)
    shown = "".join(c if c.isprintable() else " " for c in line[first : first + _SHOWN])
    mark = " " * (at - start - first) + "^"
    where = f"{name}:{written.count(chr(10), 0, at) + 1}"
    return UserError([said("of_file", file=where, what=says)], below=f"    {shown}\n    {mark}")
