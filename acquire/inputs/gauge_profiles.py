"""Loads gauge profiles, shipped or a user's own."""

from pathlib import Path

from barrelfit.acquire.errors import UserError
from barrelfit.acquire.inputs.shelf import file_text, parse_toml, shipped_names, shipped_text
from barrelfit.drivers.profile import Profile, profile_from
from barrelfit.drivers.proving import example_problems


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
        UserError: the text is no TOML.
        DriverError: it is no profile; every problem is listed.
    """
    return profile_from(parse_toml(text, name), name)


def proven_profile(text: str, name: str) -> Profile:
    """The profile in a TOML text; a user's own (`….toml`) must also prove its examples.

    Raises:
        UserError: the text is no TOML, or its examples do not hold.
        DriverError: its data is not as it must be; every problem is listed.
    """
    profile = profile_of_text(text, name)
    problems = example_problems(profile) if name.endswith(".toml") else []
    if problems:
        raise UserError([f"{name}: {problem}" for problem in problems])
    return profile


def load_profile(name_or_path: str) -> Profile:
    """Load one profile, shipped or a user's own; raises as `proven_profile` does."""
    return proven_profile(profile_text(name_or_path), name_or_path)
