"""Checks signed files, records and PDFs alike, and what several of them say of each other; offline."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey

from api.signing.findings import Verification
from api.signing.record_checks import check_record
from shared.errors import SigningError

#: A day of talk with pictures makes some tens of megabytes.
MOST_BYTES = 500_000_000


def verify_file(path: Path, trusted: Ed25519PublicKey | None = None) -> Verification:
    """Check one file.

    Raises:
        SigningError: no such file, too large, or nothing in it can be checked.
    """
    if path.is_dir():
        raise SigningError("this is a folder", where=str(path), expected="a signed record or PDF")
    if not path.is_file():
        raise SigningError("no such file", where=str(path), expected="a signed record or PDF")
    if path.stat().st_size > MOST_BYTES:
        raise SigningError("too large", where=str(path), expected=f"at most {MOST_BYTES // 10**6} MB")
    return verify_bytes(path.read_bytes(), str(path), trusted)


def verify_bytes(data: bytes, name: str, trusted: Ed25519PublicKey | None = None) -> Verification:
    """Check a file's bytes.

    Args:
        data: signed record (JSON) or signed PDF.
        name: how the findings call it.
        trusted: the public key that the shop handed out; None where the checker has none.

    Raises:
        SigningError: nothing in it can be checked.
    """
    # A PDF may have a kilobyte of anything before its header, say its readers; ours has none.
    if data.startswith(b"%PDF-"):
        from api.signing.document_checks import check_document

        found = Verification(name, "document")
        check_document(data, found, trusted)
    else:
        found = Verification(name, "record")
        check_record(data, found, trusted)
    return found


def compare(found: Sequence[Verification]) -> None:
    """Add what several files say of each other: which replaces which, and whether they tell one past."""
    for one in found:
        for other in found:
            if one is not other and one.signed and other.signed and _same_job(one, other):
                _compare(one, other)


def _same_job(one: Verification, other: Verification) -> bool:
    """Whether both chains begin with the same event: it names the job and its moment."""
    return bool(one.events and other.events and one.events[0].sha256 == other.events[0].sha256)


def _compare(later: Verification, earlier: Verification) -> None:
    number, before = later.signed["revision"], earlier.signed["revision"]
    assert isinstance(number, int)
    assert isinstance(before, int)
    if number == before:
        if later.record_file_sha256 != earlier.record_file_sha256:
            text = f"{earlier.file} says that it is revision {before} too, but differs"
            later.add("revision", "broken", text)
        return
    if number < before:
        return
    if number == before + 1 and later.signed["replaces_sha256"] != earlier.record_file_sha256:
        text = f"{earlier.file} is not the revision {before} that this one names as the one before it"
        later.add("revision", "broken", text)
        return
    past = [link.sha256 for link in earlier.events]
    if [link.sha256 for link in later.events[: len(past)]] != past:
        later.add("events", "broken", f"they tell another past than {earlier.file}")
    else:
        later.add("revision", "holds", f"it follows {earlier.file}, revision {before}")
        earlier.add("revision", "note", f"a later one replaces it: {later.file}, revision {number}")
