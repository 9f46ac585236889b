"""Who may override a verdict, and how a passphrase is proved without being sent.

The proof is SCRAM's (RFC 5802 section 3) with Argon2id (RFC 9106) in the place of its PBKDF2:

    SaltedPassword = Argon2id(passphrase, salt)
    ClientKey      = HMAC(SaltedPassword, "Client Key")
    StoredKey      = H(ClientKey)
    ClientProof    = ClientKey XOR HMAC(StoredKey, AuthMessage)

with HMAC and H of SHA-256. The leads' file holds StoredKey and salt: whoever reads the file or
listens on the bus can't make a proof from it. AuthMessage is the whole request with the daemon's
nonce in it, so a proof is good for one request, once.
"""

import hashlib
import hmac
import re
import unicodedata
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

import msgspec

from barrelfit.acquire.errors import UserError
from barrelfit.acquire.inputs.shelf import parse_toml
from barrelfit.acquire.inputs.toml_places import Path, located, misfit, unknown_key
from barrelfit.rules.engine.form import Problem
from barrelfit.rules.said import Said, said

SALT_BYTES: Final = 16
KEY_BYTES: Final = 32
NAME: Final = re.compile(r"\S(?:[^\n\r\t\"\\]{0,60}\S)?")
PASSPHRASE_LEAST: Final = 8
# RFC 9106 section 4, second recommended option: for a machine that has other work as well.
TIME_COST: Final = 3
MEMORY_KIB: Final = 65_536
LANES: Final = 4
# Bounds on what a file may ask of this machine; the lower ones are RFC 9106's and common sense.
COSTS: Final = {"time_cost": (1, 20), "memory_kib": (8_192, 1_048_576), "lanes": (1, 16)}


class Lead(msgspec.Struct, frozen=True):
    """One lead: the name, and what a proof is checked with.

    With a passphrase: salt and stored key (hex) and the costs of Argon2id. With a sign-in
    (`acquire.inputs.sign_in`): the provider's subject or e-mail address. One lead may have both.
    """

    name: str
    salt: str = ""
    stored_key: str = ""
    time_cost: int = TIME_COST
    memory_kib: int = MEMORY_KIB
    lanes: int = LANES
    subject: str = ""
    email: str = ""


@dataclass(frozen=True, slots=True)
class HashCosts:
    """Argon2id's costs: passes, memory in KiB, lanes."""

    time_cost: int = TIME_COST
    memory_kib: int = MEMORY_KIB
    lanes: int = LANES


def enrol(
    name: str,
    passphrase: str,
    salt: bytes,
    costs: HashCosts | None = None,
    *,
    least: int = PASSPHRASE_LEAST,
) -> Lead:
    """Make a lead's entry; raises UserError when name or passphrase won't do.

    Args:
        name: as it is to stand in journals and reports.
        passphrase: it is not kept.
        salt: sixteen random bytes.
        costs: Argon2id's costs, RFC 9106's second recommendation if not given.
        least: how many characters the passphrase must have.
    """
    problems = []
    if not NAME.fullmatch(name):
        problems.append(said("lead_name"))
    if len(passphrase) < least:
        problems.append(said("passphrase_short", least=least))
    if problems:
        raise UserError(problems)
    chosen = costs or HashCosts()
    stored = hashlib.sha256(_client_key(passphrase, salt, chosen)).hexdigest()
    return Lead(name, salt.hex(), stored, chosen.time_cost, chosen.memory_kib, chosen.lanes)


def prove(passphrase: str, salt: bytes, costs: HashCosts, request: Mapping[str, Any]) -> str:
    """The proof (hex) that goes with a request; the passphrase itself is never sent.

    Args:
        passphrase: as the lead typed it.
        salt: the lead's salt, from the daemon's challenge.
        costs: from the challenge too.
        request: the request with its nonce, without `proof`.
    """
    client_key = _client_key(passphrase, salt, costs)
    stored_key = hashlib.sha256(client_key).digest()
    return _xor(client_key, _signature(stored_key, request)).hex()


def is_proved(lead: Lead, request: Mapping[str, Any], proof: str) -> bool:
    """Whether a request's proof was made with the lead's passphrase."""
    stored_key = bytes.fromhex(lead.stored_key)
    try:
        given = bytes.fromhex(proof)
    except ValueError:
        return False
    if len(given) != KEY_BYTES or len(stored_key) != KEY_BYTES:
        return False
    client_key = _xor(given, _signature(stored_key, request))
    return hmac.compare_digest(hashlib.sha256(client_key).digest(), stored_key)


def challenge_of(lead: Lead) -> dict[str, str | int]:
    """What whoever proves a passphrase must know of its entry, which tells nothing of it."""
    costs = {key: getattr(lead, key) for key in COSTS}
    return {"salt": lead.salt, **costs}


def _client_key(passphrase: str, salt: bytes, costs: HashCosts) -> bytes:
    from argon2.low_level import Type, hash_secret_raw  # noqa: PLC0415  only who types one needs it

    salted = hash_secret_raw(
        unicodedata.normalize("NFKC", passphrase).encode(),
        salt,
        time_cost=costs.time_cost,
        memory_cost=costs.memory_kib,
        parallelism=costs.lanes,
        hash_len=KEY_BYTES,
        type=Type.ID,
    )
    return hmac.digest(salted, b"Client Key", "sha256")


def _signature(stored_key: bytes, request: Mapping[str, Any]) -> bytes:
    """HMAC over the request in one form: keys sorted, no blanks (msgspec's deterministic JSON)."""
    plain = {key: value for key, value in request.items() if key != "proof"}
    text = msgspec.json.encode(plain, order="deterministic")
    return hmac.digest(stored_key, text, "sha256")


def _xor(one: bytes, other: bytes) -> bytes:
    return bytes(a ^ b for a, b in zip(one, other, strict=True))


# ---------------------------------------------------------------- the leads' file


def leads_from(text: str, name: str) -> dict[str, Lead]:
    """Read a leads' file; raises UserError with every problem.

    Args:
        text: TOML with `schema = 1` and a `[[lead]]` for each lead, as `barrelfit lead` prints it;
            its `[sign_in]` is read by `acquire.inputs.sign_in`.
        name: the file's name, for messages.
    """
    data = parse_toml(text, name)
    known = ("schema", "lead", "sign_in")
    entries, problems = entries_in(data, "lead", known, said("needs_a_lead"))
    leads: dict[str, Lead] = {}
    for at, entry, lead in entries:
        problems += _problems_of(lead, entry, at)
        if lead.name in leads:
            problems.append(Problem((*at, "name"), said("there_twice", name=lead.name)))
        problems += [
            Problem(at, said("signs_in_alike", name=other.name))
            for other in leads.values()
            if other.name != lead.name and _same_person(other, lead)
        ]
        if (lead.subject or lead.email) and "sign_in" not in data:
            problems.append(Problem(at, said("needs_sign_in")))
        leads[lead.name] = lead
    if problems:
        raise UserError(located(problems, text, name))
    return leads


def entries_in(
    data: Mapping[str, Any], kind: str, known: Sequence[str], missing: Said
) -> tuple[list[tuple[Path, Mapping[str, Any], Lead]], list[Problem]]:
    """The entries of a file of names and proofs, and what is wrong with the file as a whole.

    Args:
        data: the file's tables.
        kind: the table of which each entry is one.
        known: the keys that the file may have.
        missing: said where there is no entry.

    Returns:
        Each entry's path, its table, and what it says; problems of the others among the rest.
    """
    problems = [Problem((k,), unknown_key(k, known)) for k in sorted(set(data) - set(known))]
    if data.get("schema") != 1:
        problems.append(Problem(("schema",), said("must_be_1")))
    tables = data.get(kind)
    if not isinstance(tables, list) or not tables:
        problems.append(Problem((), missing))
        tables = []
    entries: list[tuple[Path, Mapping[str, Any], Lead]] = []
    for number, table in enumerate(tables):
        at: Path = (kind, number)
        try:
            entries.append((at, table, msgspec.convert(table, Lead)))
        except msgspec.ValidationError as error:
            problems.append(misfit(error, at, Lead))
    return entries, problems


def _problems_of(lead: Lead, entry: Mapping[str, Any], at: Path) -> list[Problem]:
    known = Lead.__struct_fields__
    problems = [Problem((*at, k), unknown_key(k, known)) for k in sorted(set(entry) - set(known))]
    problems += name_problems(lead, at)
    if not (lead.salt or lead.stored_key or lead.subject or lead.email):
        says = said("needs_a_proof")
        problems.append(Problem(at, says))
    if lead.salt or lead.stored_key:
        problems += key_problems(lead, at)
    return problems


def name_problems(lead: Lead, at: Path) -> list[Problem]:
    """What is wrong with an entry's name, and with what it asks of this machine."""
    problems = []
    if not NAME.fullmatch(lead.name):
        problems.append(Problem((*at, "name"), said("name_unfit")))
    for key, (least, most) in COSTS.items():
        if not least <= getattr(lead, key) <= most:
            problems.append(Problem((*at, key), said("must_be_within", least=least, most=most)))
    return problems


def key_problems(lead: Lead, at: Path) -> list[Problem]:
    """What is wrong with what an entry's proof is checked with."""
    problems = []
    if not re.fullmatch(rf"[0-9a-f]{{{2 * SALT_BYTES},128}}", lead.salt):
        problems.append(Problem((*at, "salt"), said("must_have_bytes", count=SALT_BYTES)))
    if not re.fullmatch(rf"[0-9a-f]{{{2 * KEY_BYTES}}}", lead.stored_key):
        problems.append(Problem((*at, "stored_key"), said("must_be_bytes", count=KEY_BYTES)))
    return problems


def _same_person(one: Lead, other: Lead) -> bool:
    subject = one.subject and one.subject == other.subject
    return bool(subject or (one.email and one.email.casefold() == other.email.casefold()))


def entry_text(lead: Lead, kind: str = "lead") -> str:
    """The entry as it stands in a leads' file, or in another one whose entries are called so."""
    return (
        f'[[{kind}]]\nname = "{lead.name}"\n'
        f'salt = "{lead.salt}"\nstored_key = "{lead.stored_key}"\n'
        f"time_cost = {lead.time_cost}\nmemory_kib = {lead.memory_kib}\nlanes = {lead.lanes}\n"
    )
