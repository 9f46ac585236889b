"""Who has a personal code to sign on with: a file beside the bench's, checked as a lead's is.

A code is proved as a passphrase is (`acquire.inputs.leads`): the file holds what a proof is checked
with, and the code itself is never sent. A code is short, so the bench lets nobody try many; who has
the file can try them all, so it is readable by the daemon's user alone.
"""

import os
import stat
from collections.abc import Mapping
from pathlib import Path
from typing import Final

import msgspec

from barrelfit.acquire.errors import UserError
from barrelfit.acquire.inputs.leads import Lead, enrol, key_problems, name_problems
from barrelfit.acquire.inputs.shelf import file_text, parse_toml
from barrelfit.acquire.inputs.toml_places import located, misfit, unknown_key
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
    lines = (f"{key} = {_toml(getattr(person, key))}\n" for key in _KNOWN)
    return f"[[person]]\n{''.join(lines)}"


def _toml(value: object) -> str:
    return f'"{value}"' if isinstance(value, str) else str(value)


def load_people(path: Path | None) -> dict[str, Lead]:
    """The people of a bench who have a code, by what their names are known by; none without a file.

    Raises:
        UserError: the file is not as it must be, or others can read it.
    """
    if path is None:
        return {}
    text = file_text(path)
    if os.name == "posix" and path.stat().st_mode & (stat.S_IRWXG | stat.S_IRWXO):
        raise UserError([said("people_readable", file=str(path))])
    return people_from(text, str(path))


def people_from(text: str, name: str) -> dict[str, Lead]:
    """Read a people's file; raises UserError with every problem.

    Args:
        text: TOML with `schema = 1` and a `[[person]]` each, as `barrelfit person` prints it.
        name: the file's name, for messages.
    """
    data = parse_toml(text, name)
    known = ("schema", "person")
    problems = [Problem((k,), unknown_key(k, known)) for k in sorted(set(data) - set(known))]
    if data.get("schema") != 1:
        problems.append(Problem(("schema",), said("must_be_1")))
    entries = data.get("person")
    if not isinstance(entries, list) or not entries:
        problems.append(Problem((), said("needs_a_person")))
        entries = []
    people: dict[str, Lead] = {}
    for number, entry in enumerate(entries):
        person = _person(entry, number, problems)
        if person is None:
            continue
        if known_by(person.name) in people:
            twice = said("there_twice", name=person.name)
            problems.append(Problem(("person", number, "name"), twice))
        people[known_by(person.name)] = person
    if problems:
        raise UserError(located(problems, text, name))
    return people


def _person(entry: Mapping[str, object], number: int, problems: list[Problem]) -> Lead | None:
    at = ("person", number)
    try:
        person = msgspec.convert(entry, Lead)
    except msgspec.ValidationError as error:
        problems.append(misfit(error, at, Lead))
        return None
    strange = sorted(set(entry) - set(_KNOWN))
    problems += [Problem((*at, key), unknown_key(key, _KNOWN)) for key in strange]
    problems += name_problems(person, at)
    problems += key_problems(person, at)
    return person


def known_by(name: str) -> str:
    """What a name is known by: blanks and capitals make nobody another person."""
    return " ".join(name.split()).casefold()
