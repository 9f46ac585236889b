"""The shop's identity provider, where leads sign in with one: its file, and the board's own key.

The file is what Streamlit's sign-in reads: a table `[auth]` with `redirect_uri`, `cookie_secret`,
`client_id`, `client_secret` and `server_metadata_url`. The board's key lies beside it and is made
when it is first needed.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from barrelfit.acquire.errors import UserError
from barrelfit.acquire.inputs.shelf import file_text, parse_toml
from barrelfit.acquire.inputs.toml_places import located
from barrelfit.acquire.journal.signing import load_private_key, make_key
from barrelfit.rules.engine.form import Problem
from barrelfit.rules.said import said

if TYPE_CHECKING:
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

KEYS: Final = ("redirect_uri", "cookie_secret", "client_id", "client_secret", "server_metadata_url")
SECRET_LEAST: Final = 32
METADATA: Final = "/.well-known/openid-configuration"
CLAIMS: Final = ("iss", "sub", "aud", "iat", "exp", "email", "email_verified")
KEY_FILE: Final = "board-key.pem"


@dataclass(frozen=True, slots=True)
class Provider:
    """An identity provider, ready to be used: its file, the client id, the board's key."""

    path: Path
    issuer: str
    audience: str
    key: "Ed25519PrivateKey"

    @property
    def public_key(self) -> str:
        """The board's public key in hex, for the leads' file of each bench."""
        return self.key.public_key().public_bytes_raw().hex()

    def table(self) -> str:
        """The `[sign_in]` table that a bench's leads' file needs."""
        return (
            f'[sign_in]\nissuer = "{self.issuer}"\naudience = "{self.audience}"\n'
            f'boards = ["{self.public_key}"]\n'
        )


def read_provider(path: Path) -> Provider:
    """Read a sign-in file and the board's key beside it; raises UserError with every problem."""
    text = file_text(path)
    auth = parse_toml(text, str(path)).get("auth")
    if not isinstance(auth, dict):
        raise UserError([said("needs_auth", path=str(path))])
    strange = [
        Problem(("auth", key), said("must_be_quoted") if key in auth else said("missing"))
        for key in KEYS
        if not isinstance(auth.get(key), str)
    ]
    if not str(auth.get("redirect_uri", "")).endswith("/oauth2callback"):
        strange.append(Problem(("auth", "redirect_uri"), said("must_end_callback")))
    if len(str(auth.get("cookie_secret", ""))) < SECRET_LEAST:
        says = said("secret_short", secret_least=SECRET_LEAST)
        strange.append(Problem(("auth", "cookie_secret"), says))
    problems = located(strange, text, str(path))
    if find_spec("authlib") is None or find_spec("httpx") is None:
        problems.append(said("needs_sign_in_packages"))
    if problems:
        raise UserError(problems)
    key = path.with_name(KEY_FILE)
    if not key.exists():
        make_key(key)
    issuer = auth["server_metadata_url"].removesuffix(METADATA)
    return Provider(path, issuer, auth["client_id"], load_private_key(key))


def claims_of(user: Mapping[str, Any]) -> dict[str, Any]:
    """The claims a bench is told of who signed in; nothing else leaves the board."""
    return {name: user[name] for name in CLAIMS if user.get(name) is not None}
