"""The shop's authority and the server's certificate, as a TLS client sees them; renewed in time."""

from __future__ import annotations

import ipaddress
import os
import socket
import ssl
import stat
import threading
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from cryptography import x509
from cryptography.hazmat.primitives.serialization import load_pem_private_key

from api.tls import machine_names
from api.tls.local_ca import FILE, Authority, open_authority
from api.tls.machine_names import Names, names_of_machine
from api.tls.server_certificate import FILE as SERVER
from api.tls.server_certificate import RENEWED, server_certificate, tls_context
from api.tls.watch import FOLDER, TlsWatch
from shared.errors import SettingError, SigningError

NOW = datetime.now(UTC).replace(microsecond=0)
SHOP = Names(
    ("bench-server", "localhost"), (ipaddress.ip_address("127.0.0.1"), ipaddress.ip_address("192.168.7.4"))
)


def authority(folder: Path, now: datetime = NOW) -> Authority:
    return open_authority(folder, SHOP, None, now)


def handshake(path: Path, trusted: bytes, name: str) -> dict[str, object]:
    """What a client that trusts an authority makes of the server's certificate at a name."""
    server = socket.create_server(("127.0.0.1", 0))
    context = tls_context(path)

    def answer() -> None:
        sock, _ = server.accept()
        try:
            with context.wrap_socket(sock, server_side=True) as tls:
                tls.recv(1)
        except (ssl.SSLError, OSError):
            sock.close()

    thread = threading.Thread(target=answer)
    thread.start()
    client = ssl.create_default_context(cadata=trusted.decode())
    # As strict as browsers are: OpenSSL then wants what RFC 5280 wants.
    client.verify_flags |= ssl.VERIFY_X509_STRICT
    try:
        with (
            socket.create_connection(server.getsockname()) as sock,
            client.wrap_socket(sock, server_hostname=name) as tls,
        ):
            return tls.getpeercert() or {}
    finally:
        thread.join()
        server.close()


@pytest.mark.parametrize("name", ["localhost", "bench-server", "127.0.0.1", "192.168.7.4"])
def test_a_client_that_trusts_the_authority_trusts_the_server_by_all_its_names(
    tmp_path: Path, name: str
) -> None:
    own = authority(tmp_path)
    assert handshake(server_certificate(tmp_path, own, SHOP, NOW), own.pem, name)


def test_nobody_else_trusts_it_nor_by_another_name(tmp_path: Path) -> None:
    own = authority(tmp_path)
    path = server_certificate(tmp_path, own, SHOP, NOW)
    with pytest.raises(ssl.SSLCertVerificationError, match=r"mismatch|not valid for"):
        handshake(path, own.pem, "other")
    (tmp_path / "b").mkdir()
    with pytest.raises(ssl.SSLCertVerificationError):
        handshake(path, authority(tmp_path / "b").pem, "localhost")


@pytest.mark.parametrize("strange", ["bank.example", "203.0.113.9"])
def test_a_stolen_authority_passes_for_no_other_site(tmp_path: Path, strange: str) -> None:
    own = authority(tmp_path)
    address = machine_names.address_of(strange)
    forged = Names((), (address,)) if address else Names((strange,), ())
    forged = Names(forged.names or ("localhost",), forged.addresses)
    path = server_certificate(tmp_path, own, forged, NOW)
    with pytest.raises(ssl.SSLCertVerificationError, match="permitted subtree"):
        handshake(path, own.pem, strange)


def test_keys_are_their_owners_alone_and_the_authority_is_kept(tmp_path: Path) -> None:
    old = os.umask(0)
    try:
        own = authority(tmp_path)
        server_certificate(tmp_path, own, SHOP, NOW)
    finally:
        os.umask(old)
    for name in (FILE, SERVER):
        assert stat.S_IMODE((tmp_path / name).stat().st_mode) == 0o600
        load_pem_private_key((tmp_path / name).read_bytes(), None)
    assert authority(tmp_path).fingerprint == own.fingerprint
    assert [path.name for path in tmp_path.iterdir() if path.name.startswith(".")] == []


def test_a_key_that_others_can_read_is_not_used(tmp_path: Path) -> None:
    authority(tmp_path)
    (tmp_path / FILE).chmod(0o640)
    with pytest.raises(SigningError, match="chmod 600"):
        authority(tmp_path)


@pytest.mark.parametrize(
    "content", [b"", b"x", b"-----BEGIN CERTIFICATE-----\nAAAA\n-----END CERTIFICATE-----\n"]
)
def test_what_is_no_authority_is_told_in_one_line(tmp_path: Path, content: bytes) -> None:
    (tmp_path / FILE).write_bytes(content)
    (tmp_path / FILE).chmod(0o600)
    with pytest.raises(SigningError, match=FILE):
        authority(tmp_path)


def leaf(path: Path) -> x509.Certificate:
    return x509.load_pem_x509_certificate(path.read_bytes())


def test_the_certificate_is_renewed_in_time_and_when_names_change(tmp_path: Path) -> None:
    own = authority(tmp_path)
    first = leaf(server_certificate(tmp_path, own, SHOP, NOW))
    assert leaf(server_certificate(tmp_path, own, SHOP, NOW)) == first
    assert first.not_valid_after_utc - first.not_valid_before_utc < timedelta(days=825)
    early = first.not_valid_after_utc - RENEWED - timedelta(seconds=1)
    assert leaf(server_certificate(tmp_path, own, SHOP, early)) == first
    again = leaf(server_certificate(tmp_path, own, SHOP, early + timedelta(seconds=1)))
    assert again.not_valid_after_utc > first.not_valid_after_utc
    # A clock set back: what is of the future no phone takes.
    back = leaf(server_certificate(tmp_path, own, SHOP, NOW))
    assert back.not_valid_before_utc < NOW
    fewer = Names(("localhost",), SHOP.addresses[:1])
    assert leaf(server_certificate(tmp_path, own, fewer, NOW)) == back
    more = Names((*SHOP.names, "second.local"), SHOP.addresses)
    assert leaf(server_certificate(tmp_path, own, more, NOW)) != back


def test_an_authority_whose_time_is_over_is_made_anew(tmp_path: Path) -> None:
    own = authority(tmp_path)
    assert authority(tmp_path, NOW + timedelta(days=3600)).fingerprint == own.fingerprint
    late = NOW + timedelta(days=3645)
    new = authority(tmp_path, late)
    assert new.fingerprint != own.fingerprint
    # What the old one signed is of no use any more.
    assert leaf(server_certificate(tmp_path, new, SHOP, late)).issuer == new.certificate.subject


def test_a_running_server_gets_its_new_certificate_without_a_restart(tmp_path: Path) -> None:
    now = NOW
    watch = TlsWatch(tmp_path, "0.0.0.0", lambda: now)
    path = tmp_path / FOLDER / SERVER
    first = leaf(path)
    now += timedelta(days=380)
    watch.look()
    assert leaf(path).not_valid_after_utc > first.not_valid_after_utc


def test_an_address_that_comes_and_goes_keeps_no_server_from_starting(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    public = ipaddress.ip_address("2001:db8:1::7")
    TlsWatch(tmp_path, "0.0.0.0", lambda: NOW)
    monkeypatch.setattr(machine_names, "_outward", lambda: [public])
    watch = TlsWatch(tmp_path, "0.0.0.0", lambda: NOW)
    assert str(public) not in watch.names.shown()
    with pytest.raises(SettingError, match="every phone must install"):
        TlsWatch(tmp_path, str(public), lambda: NOW)
    assert str(public) in TlsWatch(new_folder(tmp_path), str(public), lambda: NOW).names.shown()


def new_folder(tmp_path: Path) -> Path:
    (tmp_path / "new").mkdir()
    return tmp_path / "new"


def test_a_machine_is_known_by_its_names_and_addresses() -> None:
    found = names_of_machine("bench.shop.local")
    assert {"localhost", "bench.shop.local"} <= set(found.names)
    assert {"127.0.0.1", "::1"} <= set(found.shown())
    assert "0.0.0.0" not in names_of_machine("0.0.0.0").shown()
    assert "192.168.1.9" in names_of_machine("192.168.1.9").shown()
