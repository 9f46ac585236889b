"""Who has a personal code to sign on with: a file beside the bench's, checked as a lead's is.

A code is proved as a passphrase is (`acquire.inputs.leads`): the file holds what a proof is checked
with, and the code itself is never sent. A code is short, so the bench lets nobody try many; who has
the file can try them all, so it is readable by the daemon's user alone.
"""

from pathlib import Path
from typing import Final

from barrelfit.acquire.errors import UserError
from barrelfit.acquire.inputs.leads import (
    Lead,
    enrol,
    entries_in,
    entry_text,
    key_problems,
    name_problems,
)
from barrelfit.acquire.inputs.shelf import file_text, parse_toml
from barrelfit.acquire.inputs.toml_places import located, unknown_key
from barrelfit.acquire.private_files import others_may_read
from barrelfit.rules.engine.form import Problem
from barrelfit.rules.said import said

CODE_LEAST: Final = 4
_KNOWN: Final = ("name", "salt", "stored_key", "time_cost", "memory_kib", "lanes")


def enrol_person(name: str, code: str, salt: bytes) -> Lead:
    """Make a person's entry; raises UserError when name or code won't do.

    Args:
        name: as it is to stand in journals and reports.
        code: at least four characters; it is not kept.
        salt: sixteen random bytes.
    """
    return enrol(name, code, salt, least=CODE_LEAST)


def person_text(person: Lead) -> str:
    """The person's entry as it stands in a people's file."""
    return entry_text(person, "person")


def load_people(path: Path | None) -> dict[str, Lead]:
    """The people of a bench who have a code, by what their names are known by; none without a file.

    Raises:
        UserError: the file is not as it must be, or others can read it.
    """
    if path is None:
        return {}
    text = file_text(path)
    if others_may_read(path.stat()):
        raise UserError([said("people_readable", file=str(path))])
    return people_from(text, str(path))


def people_from(text: str, name: str) -> dict[str, Lead]:
    """Read a people's file; raises UserError with every problem.

    Args:
        text: TOML with `schema = 1` and a `[[person]]` each, as `barrelfit person` prints it.
        name: the file's name, for messages.
    """
    missing = said("needs_a_person")
    entries, problems = entries_in(parse_toml(text, name), "person", ("schema", "person"), missing)
    people: dict[str, Lead] = {}
    for at, entry, person in entries:
        strange = sorted(set(entry) - set(_KNOWN))
        problems += [Problem((*at, key), unknown_key(key, _KNOWN)) for key in strange]
        problems += name_problems(person, at)
        problems += key_problems(person, at)
        if known_by(person.name) in people:
            problems.append(Problem((*at, "name"), said("there_twice", name=person.name)))
        people[known_by(person.name)] = person
    if problems:
        raise UserError(located(problems, text, name))
    return people


def known_by(name: str) -> str:
    """What a name is known by: blanks and capitals make nobody another person."""
    return " ".join(name.split()).casefold()
