"""The bench's own certificate: made once, kept private, made anew when it is no good."""

import hashlib
import os
import ssl
from datetime import UTC, datetime, timedelta

import pytest
from cryptography import x509

from barrelfit.dashboard.server.certificate import GOOD_FOR, own_certificate

NOW = datetime(2026, 11, 30, 5, 0, tzinfo=UTC)


def made(folder, now=NOW, bench="bench-1", address="192.0.2.7"):
    return own_certificate(folder, bench, address, now)


def test_it_is_made_once_and_its_user_alone_can_read_it(tmp_path):
    first = made(tmp_path)
    assert made(tmp_path, NOW + timedelta(days=300)) == first
    assert made(tmp_path, address="192.0.2.99") == first  # whoever compared it need not again
    if os.name == "posix":
        assert first.path.stat().st_mode & 0o077 == 0


def test_it_serves_and_is_what_a_browser_would_show(tmp_path):
    own = made(tmp_path)
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    context.load_cert_chain(own.path, own.path)
    text = own.path.read_text()
    pem = text[text.index("-----BEGIN CERTIFICATE") :]
    der = ssl.PEM_cert_to_DER_cert(pem)
    digits = hashlib.sha256(der).hexdigest().upper()
    assert own.fingerprint == ":".join(digits[i : i + 2] for i in range(0, 64, 2))
    known = x509.load_pem_x509_certificate(pem.encode())
    names = known.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    assert [str(a) for a in names.get_values_for_type(x509.IPAddress)] == ["192.0.2.7"]


@pytest.mark.parametrize(
    "spoil",
    [
        lambda path: path.unlink(),
        lambda path: path.write_text("else"),
        lambda path: path.chmod(0o644),
        lambda path: path.write_text(path.read_text()[:-200]),
    ],
    ids=["gone", "else", "readable", "torn"],
)
def test_one_that_is_no_good_is_made_anew(tmp_path, spoil):
    first = made(tmp_path)
    spoil(first.path)
    second = made(tmp_path)
    assert second.fingerprint != first.fingerprint
    assert made(tmp_path) == second


def test_an_old_one_is_made_anew_before_it_is_too_old(tmp_path):
    first = made(tmp_path)
    assert made(tmp_path, NOW + GOOD_FOR - timedelta(days=6)) != first


def test_another_bench_has_its_own(tmp_path):
    assert made(tmp_path).fingerprint != made(tmp_path, bench="bench-2").fingerprint
