"""The shop's key: made once in the data folder, read by its owner only, and what proves a signature by it.

Ed25519 (RFC 8032). The certificate is signed by the key itself: it says nothing that the key does not,
but a PDF signature wants one. Whoever checks a record compares the fingerprint with the one that the shop
gave him, or hands ``witnessmark verify`` the public key.
"""

from __future__ import annotations

import os
import tempfile
from dataclasses import dataclass
from datetime import UTC, datetime
from hashlib import sha256
from pathlib import Path

from cryptography import x509
from cryptography.exceptions import UnsupportedAlgorithm
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey, Ed25519PublicKey
from cryptography.hazmat.primitives.serialization import (
    Encoding,
    NoEncryption,
    PrivateFormat,
    PublicFormat,
    load_pem_private_key,
    load_pem_public_key,
)
from cryptography.x509.oid import NameOID

from api.private_file import read_private
from shared.errors import SigningError

KEY_FILE = "signing-key.pem"
PUBLIC_FILE = "signing-key.public.pem"
#: The clock of a shop's machine may be wrong or set back; that must never make a signature look expired.
_FROM = datetime(2000, 1, 1, tzinfo=UTC)
#: "No well-defined expiration date" (RFC 5280, section 4.1.2.5).
_UNTIL = datetime(9999, 12, 31, 23, 59, 59, tzinfo=UTC)
#: A key and its certificate take some 700 bytes.
_MOST_BYTES = 20_000


@dataclass(frozen=True)
class ShopKey:
    """What the shop signs with."""

    private: Ed25519PrivateKey
    certificate: x509.Certificate

    @property
    def public_pem(self) -> str:
        """The public key as it is handed out."""
        return public_pem(self.private.public_key())

    @property
    def fingerprint(self) -> str:
        """What is printed of it."""
        return fingerprint(self.private.public_key())


def open_shop_key(folder: Path) -> ShopKey:
    """Return the shop's key, made if it is not there, with its public half beside it to be handed out.

    Args:
        folder: the data folder, which exists.

    Raises:
        SigningError: the file can be read by others, or holds no such key.
        OSError: it can be neither read nor written.
    """
    path = folder / KEY_FILE
    if not path.exists():
        _make(path)
    key = _read(path)
    public = folder / PUBLIC_FILE
    if not public.exists():
        public.write_text(key.public_pem, encoding="ascii")
    return key


def new_key() -> ShopKey:
    """Return a new key with its certificate."""
    private = Ed25519PrivateKey.generate()
    return ShopKey(private, _certificate(private))


def read_public_key(data: bytes | str, *, where: str = "") -> Ed25519PublicKey:
    """Return the Ed25519 public key of a PEM text.

    Raises:
        SigningError: it is none.
    """
    raw = data.encode() if isinstance(data, str) else data
    try:
        key = load_pem_public_key(raw)
    except (ValueError, UnsupportedAlgorithm) as exc:
        raise SigningError("no public key", where=where, expected="an Ed25519 public key in PEM") from exc
    if not isinstance(key, Ed25519PublicKey):
        raise SigningError("a public key of another kind", where=where, expected="an Ed25519 public key")
    return key


def read_public_key_file(path: Path) -> Ed25519PublicKey:
    """Return the Ed25519 public key in a PEM file.

    Raises:
        SigningError: no such file, or no such key in it.
    """
    if not path.is_file():
        raise SigningError("no such file", where=str(path), expected="an Ed25519 public key in PEM")
    with path.open("rb") as file:
        return read_public_key(file.read(_MOST_BYTES), where=str(path))


def public_pem(key: Ed25519PublicKey) -> str:
    """Return a public key as PEM text (SubjectPublicKeyInfo, RFC 8410)."""
    return key.public_bytes(Encoding.PEM, PublicFormat.SubjectPublicKeyInfo).decode("ascii")


def fingerprint(key: Ed25519PublicKey) -> str:
    """Return the first 16 bytes of SHA-256 over a raw public key, in groups that a person can compare.

    128 bits: nobody makes a second key for it.
    """
    digits = sha256(key.public_bytes(Encoding.Raw, PublicFormat.Raw)).hexdigest()[:32]
    return " ".join(digits[at : at + 4] for at in range(0, len(digits), 4))


def _make(path: Path) -> None:
    """Write a new key to disk whole or not at all; where another process was quicker, its key stays."""
    key = new_key()
    data = key.private.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, NoEncryption())
    data += key.certificate.public_bytes(Encoding.PEM)
    # mkstemp makes it 0600 from the first moment, whatever the umask.
    handle, name = tempfile.mkstemp(prefix=f".{path.name}-", dir=path.parent)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        try:
            os.link(name, path)
        except FileExistsError:
            return
        folder = os.open(path.parent, os.O_RDONLY)
        try:
            os.fsync(folder)
        finally:
            os.close(folder)
    finally:
        Path(name).unlink()


def _read(path: Path) -> ShopKey:
    data = read_private(path)
    expected = "an Ed25519 private key and its certificate in PEM"
    try:
        private = load_pem_private_key(data, password=None)
        certificate = x509.load_pem_x509_certificate(data)
    except (ValueError, TypeError, UnsupportedAlgorithm) as exc:
        raise SigningError("not the shop's key", where=str(path), expected=expected) from exc
    if not isinstance(private, Ed25519PrivateKey):
        raise SigningError("a key of another kind", where=str(path), expected=expected)
    if certificate.public_key() != private.public_key():
        raise SigningError("key and certificate do not belong together", where=str(path), expected=expected)
    return ShopKey(private, certificate)


def _certificate(private: Ed25519PrivateKey) -> x509.Certificate:
    public = private.public_key()
    name = x509.Name(
        [
            x509.NameAttribute(NameOID.COMMON_NAME, "Witnessmark signing key"),
            x509.NameAttribute(NameOID.SERIAL_NUMBER, fingerprint(public).replace(" ", "")),
        ]
    )
    # What it may sign: documents, with the weight of a signature (RFC 5280, 4.2.1.3; RFC 8410, 5).
    usage = x509.KeyUsage(
        digital_signature=True, content_commitment=True, key_encipherment=False, data_encipherment=False,
        key_agreement=False, key_cert_sign=False, crl_sign=False, encipher_only=False, decipher_only=False,
    )  # fmt: skip
    return (
        x509.CertificateBuilder()
        .subject_name(name)
        .issuer_name(name)
        .public_key(public)
        .serial_number(x509.random_serial_number())
        .not_valid_before(_FROM)
        .not_valid_after(_UNTIL)
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(usage, critical=True)
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(public), critical=False)
        .sign(private, None)
    )
