"""What is said, in lines of JSON: the text for whoever reads it, its parts for whoever shows it.

A value that is said stands as its text in mm under its own key, and as key and exact values under
the same key with `_said`; of a list all texts, and all parts. So a report in inches, or a board,
takes the parts, and reads no text back into numbers. Lines of earlier versions have no parts: what
they say is shown as it was written.
"""

from typing import Any, Final

import msgspec

from barrelfit.rules.manner import told
from barrelfit.rules.said import NOTHING, Said, written

_PARTS: Final = "_said"
_FIELDS: Final = {"key", "values"}


def texts(value: Any, nothing: str | None = None) -> Any:  # noqa: ANN401  plain JSON, and Said
    """A line with texts in mm in place of what is said; `nothing` where nothing is."""
    if isinstance(value, Said):
        return told(value) or nothing
    if isinstance(value, dict):
        return {key: texts(one, nothing) for key, one in value.items()}
    if isinstance(value, list | tuple):
        return [texts(one, nothing) for one in value]
    return value


def with_parts(value: Any, nothing: str | None = None) -> Any:  # noqa: ANN401  as above
    """A line as it is written down: texts in mm, and the parts beside them."""
    if isinstance(value, list | tuple):
        return [with_parts(one, nothing) for one in value]
    if not isinstance(value, dict):
        return texts(value, nothing)
    line: dict[str, Any] = {}
    for key, one in value.items():
        line[key] = with_parts(one, nothing)
        if _is_said(one):
            line[f"{key}{_PARTS}"] = msgspec.to_builtins(one) if one else None
    return line


def said_in(document: object) -> Any:  # noqa: ANN401  plain JSON, and Said
    """A record's document as plain JSON, but for what is said in it."""
    return _lifted(msgspec.to_builtins(document))


def from_parts(value: Any, said_keys: frozenset[str]) -> Any:  # noqa: ANN401  plain JSON
    """What `with_parts` wrote, with what was said in place of its texts.

    Args:
        value: the line.
        said_keys: the keys under which something is said; of a line without parts their texts are
            taken as they were written.

    Raises:
        ValueError: parts that are none.
    """
    if isinstance(value, list):
        return [from_parts(one, said_keys) for one in value]
    if not isinstance(value, dict):
        return value
    line: dict[str, Any] = {}
    for key, one in value.items():
        if key.endswith(_PARTS) and key.removesuffix(_PARTS) in said_keys:
            continue
        if key in said_keys:
            parts = value.get(f"{key}{_PARTS}")
            line[key] = _as_written(one) if parts is None else _said(parts)
        else:
            line[key] = from_parts(one, said_keys)
    return line


def _is_said(value: object) -> bool:
    if isinstance(value, Said):
        return True
    return isinstance(value, list | tuple) and any(isinstance(one, Said) for one in value)


def _as_written(text: Any) -> Any:  # noqa: ANN401  plain JSON
    if isinstance(text, list):
        return [_as_written(one) for one in text]
    return NOTHING if text is None else written(str(text))


def _said(parts: Any) -> Any:  # noqa: ANN401  plain JSON
    if isinstance(parts, list):
        return [_said(one) for one in parts]
    return msgspec.convert(parts, type=Said)


def _lifted(value: Any) -> Any:  # noqa: ANN401  plain JSON
    if isinstance(value, dict):
        if value.keys() == _FIELDS:
            return msgspec.convert(value, type=Said)
        return {key: _lifted(one) for key, one in value.items()}
    return [_lifted(one) for one in value] if isinstance(value, list | tuple) else value
