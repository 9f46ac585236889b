"""Ed25519 signatures: the published vectors, and keys handled with care."""

import stat

import pytest
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.asymmetric.ed25519 import (
    Ed25519PrivateKey,
    Ed25519PublicKey,
)
from cryptography.hazmat.primitives.serialization import (
    Encoding,
    NoEncryption,
    PrivateFormat,
    PublicFormat,
)

from barrelfit.acquire.errors import UserError
from barrelfit.acquire.journal.signing import (
    is_signed,
    load_private_key,
    load_public_key,
    make_key,
    sign_head,
)

KEY = Ed25519PrivateKey.from_private_bytes(bytes(range(32)))

# RFC 8032 section 7.1, TEST 1 to 3: secret key, public key, message, signature
RFC_8032 = [
    (
        "9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60",
        "d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a",
        "",
        (
            "e5564300c360ac729086e2cc806e828a84877f1eb8e5d974d873e06522490155"
            "5fb8821590a33bacc61e39701cf9b46bd25bf5f0595bbe24655141438e7a100b"
        ),
    ),
    (
        "4ccd089b28ff96da9db6c346ec114e0f5b8a319f35aba624da8cf6ed4fb8a6fb",
        "3d4017c3e843895a92b70aa74d1b7ebc9c982ccf2ec4968cc0cd55f12af4660c",
        "72",
        (
            "92a009a9f0d4cab8720e820b5f642540a2b27b5416503f8fb3762223ebdb69da"
            "085ac1e43e15996e458f3613d0f11d8c387b2eaeb4302aeeb00d291612bb0c00"
        ),
    ),
    (
        "c5aa8df43f9f837bedb7442f31dcb7b166d38535076f094b85ce3a2e0b4458f7",
        "fc51cd8e6218a1a38da47ed00230f0580816ed13ba3303ac5deb911548908025",
        "af82",
        (
            "6291d657deec24024827e69c3abe01a30ce548a284743a445e3680d7db5ac3ac"
            "18ff9b538d16f290ae67f760984dc6594a7c15e9716ed28dc027beceea1ec40a"
        ),
    ),
]


@pytest.mark.parametrize(("secret", "public", "message", "signature"), RFC_8032)
def test_the_published_vectors(secret, public, message, signature):
    key = Ed25519PrivateKey.from_private_bytes(bytes.fromhex(secret))
    assert key.public_key().public_bytes_raw().hex() == public
    assert key.sign(bytes.fromhex(message)).hex() == signature
    Ed25519PublicKey.from_public_bytes(bytes.fromhex(public)).verify(
        bytes.fromhex(signature), bytes.fromhex(message)
    )


def test_a_signature_holds_for_its_head_and_name_alone():
    signed = sign_head(KEY, "ab" * 32, "A. Smith")
    assert is_signed(signed)
    for changes in ({"head": "cd" * 32}, {"who": "B. Jones"}, {"signature": "00" * 64}):
        fields = {name: getattr(signed, name) for name in signed.__struct_fields__}
        assert not is_signed(type(signed)(**fields | changes))


@pytest.mark.parametrize("field", ["public_key", "signature"])
@pytest.mark.parametrize("text", ["", "xyz", "00", "ü"])
def test_nonsense_is_no_signature(field, text):
    signed = sign_head(KEY, "ab" * 32, "A. Smith")
    fields = {name: getattr(signed, name) for name in signed.__struct_fields__}
    assert not is_signed(type(signed)(**fields | {field: text}))


def test_keys_are_made_private_and_never_overwritten(tmp_path):
    path = tmp_path / "owner.pem"
    public = make_key(path)
    assert stat.S_IMODE(path.stat().st_mode) == 0o600
    signed = sign_head(load_private_key(path), "ab" * 32, "A. Smith")
    assert signed.public_key == load_public_key(public)
    with pytest.raises(UserError, match="never overwritten"):
        make_key(path)


def test_what_is_no_key_is_refused(tmp_path):
    path = tmp_path / "owner.pem"
    make_key(path)
    other = tmp_path / "other.pem"
    elliptic = ec.generate_private_key(ec.SECP256R1())
    other.write_bytes(elliptic.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, NoEncryption()))
    other_public = tmp_path / "other.pub"
    other_public.write_bytes(
        elliptic.public_key().public_bytes(Encoding.PEM, PublicFormat.SubjectPublicKeyInfo)
    )
    for load, file, says in (
        (load_private_key, tmp_path / "none.pem", "No such file"),
        (load_private_key, tmp_path / "owner.pem.pub", "no private key"),
        (load_public_key, path, "no public key"),
        (load_private_key, other, "another kind"),
        (load_public_key, other_public, "another kind"),
    ):
        with pytest.raises(UserError, match=says):
            load(file)
