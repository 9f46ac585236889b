"""HTML and SVG from templates: every word that is put into one is escaped, unless it is markup."""

import re
from collections.abc import Mapping
from typing import Any, Final

from jinja2 import Environment, PackageLoader, StrictUndefined
from jinja2.ext import Extension

_BREAK: Final = re.compile(r"(?P<before>.?)[ \t]*\n\s*(?P<after>.?)")


class _Joined(Extension):
    """Line breaks and indents of a template are the writer's, and leave no blank on a page.

    Between two tags nothing is left of them; within a tag or a text, one space.
    """

    def preprocess(self, source: str, name: str | None, filename: str | None = None) -> str:
        """Join a template's lines."""
        return _BREAK.sub(_joint, source.strip())


def _joint(found: re.Match[str]) -> str:
    before, after = found["before"], found["after"]
    between = before in {">", "}"} or after in {"<", "{"}
    return before + ("" if between else " ") + after


class Templates:
    """The templates in one folder of a room; each is a file of macros.

    Args:
        package: the room, as `barrelfit.dashboard`.
        folder: where its templates lie in it.
        known: what every template may call.
    """

    def __init__(self, package: str, folder: str, known: Mapping[str, Any]) -> None:
        self._made = Environment(
            loader=PackageLoader(package, folder),
            autoescape=True,
            undefined=StrictUndefined,
            extensions=[_Joined],
        )
        self._made.globals.update(known)

    def __call__(self, template: str, macro: str, *values: Any) -> str:  # noqa: ANN401  any view
        """What a macro makes of some values.

        Args:
            template: the file's name without its ending.
            macro: a macro in it.
            values: its arguments.
        """
        made = self._made.get_template(f"{template}.html").module
        return str(getattr(made, macro)(*values))
