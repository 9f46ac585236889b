"""Loads gauge profiles, shipped or a user's own."""

from collections.abc import Iterable
from itertools import count
from pathlib import Path

from barrelfit.acquire.coded import said_of
from barrelfit.acquire.errors import UserError
from barrelfit.acquire.inputs.shelf import file_text, parse_toml, shipped_names, shipped_text
from barrelfit.acquire.inputs.toml_places import located
from barrelfit.drivers.profile import Profile, profile_from
from barrelfit.drivers.proving import example_problems
from barrelfit.drivers.schema import Problem as ProfileProblem
from barrelfit.drivers.schema import ProfileError
from barrelfit.rules.engine.form import Problem
from barrelfit.rules.said import said


def profile_names() -> tuple[str, ...]:
    """Ids of the shipped profiles, sorted."""
    return shipped_names("drivers", "profiles")


def profile_text(name_or_path: str) -> str:
    """Text of a profile: a file's when the name ends in `.toml`, else a shipped one's.

    Raises:
        UserError: there is no such file or profile; the sentence names the choices.
    """
    if name_or_path.endswith(".toml"):
        return file_text(Path(name_or_path))
    return shipped_text("drivers", "profiles", name_or_path)


def profile_of_text(text: str, name: str) -> Profile:
    """The profile in a TOML text (a shipped file, a user's file or a journal's copy).

    Raises:
        UserError: the text is no profile; every problem is listed, with its line.
    """
    table = parse_toml(text, name)
    try:
        return profile_from(table, name)
    except ProfileError as error:
        raise UserError(located(_placed(error.located), text, name)) from None


def _placed(problems: Iterable[ProfileProblem]) -> list[Problem]:
    return [Problem(one.path, said_of(one.sentence)) for one in problems]


def proven_profile(text: str, name: str) -> Profile:
    """The profile in a TOML text; a user's own (`….toml`) must also prove its examples.

    Raises:
        UserError: the text is no profile, or its examples do not hold; every problem is listed.
    """
    profile = profile_of_text(text, name)
    problems = example_problems(profile) if name.endswith(".toml") else []
    if problems:
        raise UserError(located(_placed(problems), text, name))
    return profile


def save_profile(text: str, folder: Path, name: str) -> Path:
    """Save a profile's text as a file of its own, named by its shape; none is ever overwritten.

    Raises:
        UserError: the folder can't be written to.
    """
    names = (f"{name}{'' if number == 1 else f'-{number}'}.toml" for number in count(1))
    path = next(path for one in names if not (path := folder / one).exists())
    try:
        with path.open("x", encoding="utf-8") as file:
            file.write(text)
    except OSError as error:
        raise UserError([said("of_file", file=str(path), what=str(error.strerror))]) from None
    return path


def load_profile(name_or_path: str) -> Profile:
    """Load one profile, shipped or a user's own; raises as `proven_profile` does."""
    return proven_profile(profile_text(name_or_path), name_or_path)
