"""The shop's certificate authority: made once, installed on phones, good for the shop's names alone.

Whoever stole its key could pass for a machine of the shop, and for nobody else: the certificate itself says
for which names and addresses it counts (name constraints, RFC 5280, section 4.2.1.10).
"""

from __future__ import annotations

import ipaddress
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

from cryptography import x509
from cryptography.exceptions import UnsupportedAlgorithm
from cryptography.hazmat.primitives.asymmetric.ec import (
    SECP256R1,
    EllipticCurvePrivateKey,
    generate_private_key,
)
from cryptography.hazmat.primitives.hashes import SHA256
from cryptography.hazmat.primitives.serialization import (
    Encoding,
    NoEncryption,
    PrivateFormat,
    load_pem_private_key,
)
from cryptography.x509.oid import NameOID

from api.private_file import read_private, write_private
from api.tls.machine_names import Address, Names
from shared.errors import SigningError

FILE = "authority.pem"
_LASTS = timedelta(days=3650)
#: Clocks of phones are off; a certificate of the future is refused.
EARLIER = timedelta(days=1)
#: Networks that only a shop's own machines are in (RFC 1918, RFC 4193, RFC 1122 section 3.2.1.3, RFC 4291).
_NETWORKS = tuple(
    ipaddress.ip_network(text)
    for text in ("10.0.0.0/8", "172.16.0.0/12", "192.168.0.0/16", "127.0.0.0/8", "fc00::/7", "::1/128")
)
#: Names that no public server has (RFC 6761, RFC 6762, RFC 8375).
_LOCAL_NAMES = ("localhost", "local", "home.arpa")


@dataclass(frozen=True)
class Authority:
    """Key and certificate."""

    key: EllipticCurvePrivateKey
    certificate: x509.Certificate

    @property
    def fingerprint(self) -> str:
        """SHA-256 over the certificate in groups that a person can compare with what a phone shows."""
        digits = self.certificate.fingerprint(SHA256()).hex().upper()
        return " ".join(digits[at : at + 4] for at in range(0, len(digits), 4))

    @property
    def pem(self) -> bytes:
        """The certificate, to be handed out."""
        return self.certificate.public_bytes(Encoding.PEM)

    @property
    def der(self) -> bytes:
        """Likewise, as phones want it."""
        return self.certificate.public_bytes(Encoding.DER)

    def permitted(self, names: Names) -> Names:
        """Return those names and addresses for which certificates by it count."""
        subtrees = self.certificate.extensions.get_extension_for_class(
            x509.NameConstraints
        ).value.permitted_subtrees
        assert subtrees is not None, "made with it"
        domains = [one.value for one in subtrees if isinstance(one, x509.DNSName)]
        # Made of networks alone: RFC 5280 has a constraint's address with its mask.
        networks = [
            ipaddress.ip_network(str(one.value)) for one in subtrees if isinstance(one, x509.IPAddress)
        ]
        return Names(
            tuple(n for n in names.names if any(n == d or n.endswith(f".{d}") for d in domains)),
            tuple(one for one in names.addresses if any(one in network for network in networks)),
        )


def open_authority(folder: Path, names: Names, given: Address | None, now: datetime) -> Authority:
    """Return the shop's authority, made where it is not there or its time is over.

    Args:
        folder: for TLS; it exists.
        names: of the machine; a new authority counts for its names and for private addresses.
        given: an address that the server is to listen at, which counts even where it is public.
        now: the moment.

    Raises:
        SigningError: others can read the file, or it is none of ours.
        OutputUnwritable: it cannot be written.
    """
    path = folder / FILE
    if path.exists():
        found = _read(path)
        if now < found.certificate.not_valid_after_utc - timedelta(days=30):
            return found
    key = generate_private_key(SECP256R1())
    made = Authority(key, _certificate(key, names, given, now))
    private = key.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, NoEncryption())
    write_private(path, private + made.pem)
    return made


def _certificate(
    key: EllipticCurvePrivateKey, names: Names, given: Address | None, now: datetime
) -> x509.Certificate:
    public = key.public_key()
    ski = x509.SubjectKeyIdentifier.from_public_key(public)
    subject = x509.Name(
        [x509.NameAttribute(NameOID.COMMON_NAME, f"Witnessmark of this shop {ski.digest.hex()[:8]}")]
    )
    permitted: list[x509.GeneralName] = [
        x509.DNSName(name) for name in dict.fromkeys((*_LOCAL_NAMES, *names.names))
    ]
    permitted += [x509.IPAddress(network) for network in _NETWORKS]
    if given is not None and not given.is_unspecified:
        permitted.append(x509.IPAddress(ipaddress.ip_network(given)))
    usage = x509.KeyUsage(
        digital_signature=False, content_commitment=False, key_encipherment=False, data_encipherment=False,
        key_agreement=False, key_cert_sign=True, crl_sign=True, encipher_only=False, decipher_only=False,
    )  # fmt: skip
    return (
        x509.CertificateBuilder()
        .subject_name(subject)
        .issuer_name(subject)
        .public_key(public)
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - EARLIER)
        .not_valid_after(now + _LASTS)
        .add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
        .add_extension(usage, critical=True)
        .add_extension(x509.NameConstraints(permitted, None), critical=True)
        .add_extension(ski, critical=False)
        .sign(key, SHA256())
    )


def _read(path: Path) -> Authority:
    data = read_private(path)
    try:
        key, certificate = load_pem_private_key(data, password=None), x509.load_pem_x509_certificate(data)
        certificate.extensions.get_extension_for_class(x509.NameConstraints)
    except (ValueError, TypeError, UnsupportedAlgorithm, x509.ExtensionNotFound) as exc:
        raise SigningError("no certificate authority of ours, or damaged", where=str(path)) from exc
    if not isinstance(key, EllipticCurvePrivateKey) or key.public_key() != certificate.public_key():
        raise SigningError("key and certificate do not belong together", where=str(path))
    return Authority(key, certificate)
