"""What the shell offers for an option or argument when Tab is pressed."""

from collections.abc import Callable
from typing import Annotated

import typer

from barrelfit.rules.model import Movement

Completer = Callable[[str], list[str]]


def choice(*words: str) -> Completer:
    """One of a few words."""

    def completed(begun: str) -> list[str]:
        return [word for word in words if word.startswith(begun)]

    return completed


def sheets(begun: str) -> list[str]:
    """The shipped sheets' names; the shell itself offers files where none fits."""
    from barrelfit.acquire.inputs.shelf import shipped_names

    return [name for name in shipped_names("rules", "sheets") if name.startswith(begun)]


def profiles(begun: str) -> list[str]:
    """The shipped profiles' names."""
    from barrelfit.acquire.inputs.gauge_profiles import profile_names

    return [name for name in profile_names() if name.startswith(begun)]


def sessions(begun: str) -> list[str]:
    """The names of the sessions in the usual folder."""
    from barrelfit.acquire.journal.session import USUAL_FOLDER

    folder = USUAL_FOLDER.expanduser()
    return sorted(p.stem for p in folder.glob("**/*.jsonl") if p.stem.startswith(begun))


def movements(begun: str) -> list[str]:
    """The names of the movements a gauge may have."""
    return [name.value for name in Movement if name.value.startswith(begun)]


def movement_words() -> str:
    """The names of the movements as a choice in words: `following, screw, bore or held`."""
    *names, last = Movement
    return f"{', '.join(names)} or {last}"


Unit = Annotated[
    str,
    typer.Option(
        metavar="UNIT", autocompletion=choice("mm", "inch"), help="Lengths are shown in mm or inch."
    ),
]
Mark = Annotated[
    str,
    typer.Option(
        metavar="MARK",
        autocompletion=choice("point", "comma"),
        help="Decimals are shown after a point or a comma.",
    ),
]
