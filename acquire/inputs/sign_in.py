"""Leads who sign in through the shop's identity provider (OpenID Connect). Pure but for keys.

The board lets a lead sign in and has the ID token checked against the provider's keys; it then
vouches for the token's claims: it signs the whole request, claims and the daemon's nonce in it,
with a key of its own (Ed25519, RFC 8032). The daemon knows the board's public key from the leads'
file, checks that the claims are for this shop (issuer, audience) and still good (expiry), and finds
the lead by subject or verified e-mail address. So nobody who only listens or speaks on the bus can
make such a request, or use one again; the ID token itself never goes over the bus.

Claims are those of OpenID Connect Core 1.0, section 2; times are seconds since 1970 (UTC).
"""

import re
from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING, Any, Final

import msgspec

from barrelfit.acquire.inputs.leads import Lead
from barrelfit.acquire.inputs.shelf import parse_toml
from barrelfit.acquire.inputs.toml_places import located, misfit
from barrelfit.rules.engine.form import Problem
from barrelfit.rules.said import Said, said

if TYPE_CHECKING:
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

EARLY_S: Final = 60  # clocks of two machines may differ by so much
KEY_HEX: Final = re.compile(r"[0-9a-f]{64}")


class SignIn(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """Whose word is taken: the provider, the board's client id there, the boards' public keys."""

    issuer: str
    audience: str
    boards: tuple[str, ...]


class Claims(msgspec.Struct, frozen=True):
    """What an ID token says of who signed in; other claims are passed over."""

    iss: str
    sub: str
    aud: str | tuple[str, ...]
    exp: int
    iat: int = 0
    email: str = ""
    email_verified: bool = False


def vouch(key: "Ed25519PrivateKey", request: Mapping[str, Any]) -> dict[str, Any]:
    """The request with the board's public key and its signature over all the rest (hex)."""
    signed = dict(request) | {"board": key.public_key().public_bytes_raw().hex()}
    return signed | {"signature": key.sign(_message(signed)).hex()}


def is_vouched(request: Mapping[str, Any], boards: Iterable[str]) -> bool:
    """Whether one of the known boards signed this very request."""
    from cryptography.exceptions import InvalidSignature  # noqa: PLC0415  slow to load
    from cryptography.hazmat.primitives.asymmetric.ed25519 import (  # noqa: PLC0415
        Ed25519PublicKey,
    )

    if request.get("board") not in set(boards):
        return False
    try:
        key = Ed25519PublicKey.from_public_bytes(bytes.fromhex(str(request["board"])))
        key.verify(bytes.fromhex(str(request["signature"])), _message(request))
    except (ValueError, KeyError, InvalidSignature):
        return False
    return True


def claims_problem(claims: Claims, sign_in: SignIn, utc_s: float) -> str:
    """Why claims are not good here and now, as a code; empty when they are.

    `audience`: of another provider, or meant for another program. `expired`: run out, or not yet
    valid.
    """
    meant_for = (claims.aud,) if isinstance(claims.aud, str) else claims.aud
    if claims.iss != sign_in.issuer or sign_in.audience not in meant_for:
        return "audience"
    return "" if claims.iat - EARLY_S <= utc_s < claims.exp else "expired"


def lead_of(claims: Claims, leads: Mapping[str, Lead]) -> Lead | None:
    """The lead with these claims' subject, or with their e-mail address if it was verified."""
    for lead in leads.values():
        if lead.subject and lead.subject == claims.sub:
            return lead
        same = lead.email and lead.email.casefold() == claims.email.casefold()
        if same and claims.email_verified:
            return lead
    return None


def sign_in_from(text: str, name: str) -> tuple[SignIn | None, list[Said]]:
    """The `[sign_in]` table of a leads' file, None where there is none; and what is wrong with it.

    Args:
        text: the file's text.
        name: its name, for messages.
    """
    data = parse_toml(text, name)
    if "sign_in" not in data:
        return None, []
    try:
        found = msgspec.convert(data["sign_in"], SignIn)
    except msgspec.ValidationError as error:
        return None, located([misfit(error, ("sign_in",), SignIn)], text, name)
    problems = []
    if not found.issuer.startswith(("https://", "http://127.0.0.1", "http://localhost")):
        problems.append(Problem(("sign_in", "issuer"), said("must_be_https")))
    if not found.audience:
        problems.append(Problem(("sign_in", "audience"), said("audience_empty")))
    if not found.boards or not all(KEY_HEX.fullmatch(key) for key in found.boards):
        says = said("must_list_keys")
        problems.append(Problem(("sign_in", "boards"), says))
    return found, located(problems, text, name)


def _message(request: Mapping[str, Any]) -> bytes:
    """What is signed: a purpose of its own, then the request in one form, keys sorted."""
    plain = {key: value for key, value in request.items() if key != "signature"}
    return b"barrelfit override " + msgspec.json.encode(plain, order="deterministic")
