"""The bench's own certificate, made once beside its sessions: nobody vouches for it but the eye.

Key and certificate stand in one file that its user alone can read. Whoever pairs a phone compares
the fingerprint on the bench's screen with the one that the phone shows.
"""

from dataclasses import dataclass
from datetime import datetime, timedelta
from ipaddress import ip_address
from pathlib import Path
from typing import Final

from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

from barrelfit.acquire.private_files import is_ours, write_private

GOOD_FOR: Final = timedelta(days=800)  # phones trust no certificate for longer than 825 days
LEAST: Final = timedelta(days=7)
_EARLIER: Final = timedelta(days=1)  # a phone's clock may be behind


@dataclass(frozen=True, slots=True)
class Certificate:
    """The file with key and certificate, and the certificate's SHA-256 as browsers show it."""

    path: Path
    fingerprint: str


def own_certificate(folder: Path, bench: str, address: str, now: datetime) -> Certificate:
    """The bench's certificate; one that is there is taken, unless it is old or others can read it.

    Args:
        folder: where the bench's sessions are.
        bench: its name.
        address: where phones find it, as far as that is known; empty if not.
        now: in UTC.

    Raises:
        OSError: it can't be kept.
    """
    path = folder / f"{bench}.certificate.pem"
    known = _good_one(path, now)
    if known is None:
        known, text = _made(bench, address, now)
        write_private(path, text)
    return Certificate(path, fingerprint_of(known))


def fingerprint_of(certificate: x509.Certificate) -> str:
    """SHA-256 of a certificate: pairs of hexadecimal digits with colons between."""
    return certificate.fingerprint(hashes.SHA256()).hex(":").upper()


def _good_one(path: Path, now: datetime) -> x509.Certificate | None:
    try:
        status = path.stat()
        data = path.read_bytes()
        certificate = x509.load_pem_x509_certificate(data)
        key = serialization.load_pem_private_key(data, None)
    except (OSError, ValueError, TypeError):
        return None
    if not is_ours(status):
        return None
    fits = key.public_key() == certificate.public_key()
    return certificate if fits and certificate.not_valid_after_utc - now > LEAST else None


def _made(bench: str, address: str, now: datetime) -> tuple[x509.Certificate, str]:
    key = ec.generate_private_key(ec.SECP256R1())
    name = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, f"barrelfit {bench}")])
    also = [x509.IPAddress(ip_address(address))] if address else [x509.DNSName("localhost")]
    usage = x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH])
    certificate = (
        x509.CertificateBuilder()
        .subject_name(name)
        .issuer_name(name)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - _EARLIER)
        .not_valid_after(now + GOOD_FOR)
        .add_extension(x509.SubjectAlternativeName(also), critical=False)
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(usage, critical=False)
        .sign(key, hashes.SHA256())
    )
    secret = key.private_bytes(
        serialization.Encoding.PEM,
        serialization.PrivateFormat.PKCS8,
        serialization.NoEncryption(),
    )
    return certificate, (secret + certificate.public_bytes(serialization.Encoding.PEM)).decode()
