"""Ed25519 signatures (RFC 8032) over a session's head hash: who closed it, and what it was then.

The chain of hashes tells that a journal is whole in itself; a signature tells that the holder of a
key stood behind that very chain. What is signed is the text `barrelfit session head HASH signed by
NAME`, so that a signature can't be taken for one of anything else.

Keys are PEM files: the private one (PKCS #8, mode 0600) stays on the bench and in the owner's
safe; the public one goes to whoever may have to check. A lost private key makes no signature bad;
a stolen one lets the thief sign in its owner's name from then on, so make a new one and say so.
"""

import os
from pathlib import Path

from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric.ed25519 import (
    Ed25519PrivateKey,
    Ed25519PublicKey,
)
from cryptography.hazmat.primitives.serialization import (
    Encoding,
    NoEncryption,
    PrivateFormat,
    PublicFormat,
    load_pem_private_key,
    load_pem_public_key,
)

from barrelfit.acquire.errors import UserError
from barrelfit.acquire.journal.events import SessionSigned
from barrelfit.acquire.streams import read_bytes
from barrelfit.rules.said import said


def make_key(path: Path) -> Path:
    """Make a private key file (mode 0600) and its public one beside it; gives the public path.

    Raises:
        UserError: a file is there already, or can't be written.
    """
    key = Ed25519PrivateKey.generate()
    private = key.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, NoEncryption())
    public = key.public_key().public_bytes(Encoding.PEM, PublicFormat.SubjectPublicKeyInfo)
    public_path = path.with_name(path.name + ".pub")
    for target, text, mode in ((path, private, 0o600), (public_path, public, 0o644)):
        try:
            fd = os.open(target, os.O_WRONLY | os.O_CREAT | os.O_EXCL, mode)
        except FileExistsError:
            raise UserError([said("key_there_already", target=str(target))]) from None
        except OSError as error:
            raise UserError([said("of_file", file=str(target), what=str(error.strerror))]) from None
        with os.fdopen(fd, "wb") as file:
            file.write(text)
    return public_path


def load_private_key(path: Path) -> Ed25519PrivateKey:
    """Read a private key.

    Raises:
        UserError: no such file, or no Ed25519 private key in it.
    """
    try:
        key = load_pem_private_key(_read(path), password=None)
    except (ValueError, TypeError):
        raise UserError([said("no_private_key", path=str(path))]) from None
    if not isinstance(key, Ed25519PrivateKey):
        raise UserError([said("another_kind_of_key", path=str(path))])
    return key


def load_public_key(path: Path) -> str:
    """Read a public key as hex text.

    Raises:
        UserError: no such file, or no Ed25519 public key in it.
    """
    try:
        key = load_pem_public_key(_read(path))
    except (ValueError, TypeError):
        raise UserError([said("no_public_key", path=str(path))]) from None
    if not isinstance(key, Ed25519PublicKey):
        raise UserError([said("another_kind_of_key", path=str(path))])
    return key.public_bytes_raw().hex()


def sign_head(key: Ed25519PrivateKey, head_hash: str, who: str) -> SessionSigned:
    """Sign a session's head hash."""
    public = key.public_key().public_bytes_raw().hex()
    return SessionSigned(who, head_hash, public, key.sign(_message(head_hash, who)).hex())


def is_signed(signed: SessionSigned) -> bool:
    """Tell whether a signature is one of its public key's over its head hash and name."""
    try:
        key = Ed25519PublicKey.from_public_bytes(bytes.fromhex(signed.public_key))
        key.verify(bytes.fromhex(signed.signature), _message(signed.head, signed.who))
    except (ValueError, InvalidSignature):
        return False
    return True


def _message(head_hash: str, who: str) -> bytes:
    return f"barrelfit session head {head_hash} signed by {who}".encode()


def _read(path: Path) -> bytes:
    try:
        return read_bytes(path)
    except OSError as error:
        raise UserError([said("of_file", file=str(path), what=str(error.strerror))]) from None
