"""The server's certificate by the shop's authority: for this machine's names, renewed in time."""

from __future__ import annotations

import ssl
from datetime import datetime, timedelta
from pathlib import Path

from cryptography import x509
from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric.ec import SECP256R1, generate_private_key
from cryptography.hazmat.primitives.hashes import SHA256
from cryptography.hazmat.primitives.serialization import Encoding, NoEncryption, PrivateFormat
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

from api.private_file import read_private, write_private
from api.tls.local_ca import EARLIER, Authority
from api.tls.machine_names import Names

FILE = "server.pem"
#: Phones refuse server certificates that last longer than 825 days, even by an authority that they were given
#: (from memory of a rule of 2019).
_LASTS = timedelta(days=397)
RENEWED = timedelta(days=30)


def server_certificate(folder: Path, authority: Authority, names: Names, now: datetime) -> Path:
    """Return the file with the server's key and certificate, made anew where it is not good for long enough.

    Args:
        folder: for TLS; it exists.
        authority: of the shop.
        names: that it is for.
        now: the moment; a clock set back before the certificate's time makes another, too.

    Raises:
        SigningError: others can read the file.
        OutputUnwritable: it cannot be written.
    """
    path = folder / FILE
    if path.exists() and _is_good(read_private(path), authority, names, now):
        return path
    key = generate_private_key(SECP256R1())
    public = key.public_key()
    shown: list[x509.GeneralName] = [x509.DNSName(name) for name in names.names]
    shown += [x509.IPAddress(one) for one in names.addresses]
    usage = x509.KeyUsage(
        digital_signature=True, content_commitment=False, key_encipherment=False, data_encipherment=False,
        key_agreement=False, key_cert_sign=False, crl_sign=False, encipher_only=False, decipher_only=False,
    )  # fmt: skip
    own = authority.certificate.extensions.get_extension_for_class(x509.SubjectKeyIdentifier).value
    certificate = (
        x509.CertificateBuilder()
        .subject_name(x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, names.names[0][:64])]))
        .issuer_name(authority.certificate.subject)
        .public_key(public)
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - EARLIER)
        .not_valid_after(min(now + _LASTS, authority.certificate.not_valid_after_utc))
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(usage, critical=True)
        .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
        .add_extension(x509.SubjectAlternativeName(shown), critical=False)
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(public), critical=False)
        .add_extension(x509.AuthorityKeyIdentifier.from_issuer_subject_key_identifier(own), critical=False)
        .sign(authority.key, SHA256())
    )
    private = key.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, NoEncryption())
    write_private(path, private + certificate.public_bytes(Encoding.PEM))
    return path


def tls_context(path: Path) -> ssl.SSLContext:
    """Return what the server speaks TLS with; loading the file again later renews its certificate at work."""
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    context.minimum_version = ssl.TLSVersion.TLSv1_2
    context.load_cert_chain(path)
    return context


def _is_good(data: bytes, authority: Authority, names: Names, now: datetime) -> bool:
    try:
        found = x509.load_pem_x509_certificate(data)
        found.verify_directly_issued_by(authority.certificate)
        shown = found.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    except (ValueError, TypeError, InvalidSignature, x509.ExtensionNotFound):
        return False
    has = {*shown.get_values_for_type(x509.DNSName), *map(str, shown.get_values_for_type(x509.IPAddress))}
    in_time = found.not_valid_before_utc <= now < found.not_valid_after_utc - RENEWED
    return in_time and has >= set(names.shown())
