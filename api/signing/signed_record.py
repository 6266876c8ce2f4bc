"""A signed record: record, chain of events and public key in one JSON file, with a signature over all of it.

The signature is Ed25519 (RFC 8032) over the canonical bytes (:mod:`api.signing.canonical`) of everything in
the file but itself. It holds after any re-spacing or re-ordering of the file, and after no other change.
"""

from __future__ import annotations

import json
from base64 import b64encode
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

from api.signing.canonical import canonical_bytes, canonical_sha256
from api.signing.chain import BEGINNING, Link, as_json, first_break
from api.signing.keys import ShopKey
from shared.errors import SigningError
from shared.record import RebuildRecord, Signature

SCHEMA = "signed-record/1"
ALGORITHM = "Ed25519"


@dataclass(frozen=True)
class Signer:
    """Who signs, and what he means by it."""

    name: str
    account: str
    role: str
    meaning: str


@dataclass(frozen=True)
class SignedRecord:
    """What was signed."""

    record: RebuildRecord
    """With its signature filled in."""
    data: bytes
    """The file, UTF-8."""


def sign_record(
    record: RebuildRecord,
    events: Sequence[Link],
    signer: Signer,
    key: ShopKey,
    *,
    now: datetime,
    revision: int = 1,
    replaces_sha256: str | None = None,
) -> SignedRecord:
    """Sign a record.

    Args:
        record: as reviewed; signatures that it has are replaced.
        events: the whole chain of what happened to the job, from its first.
        signer: who signs.
        key: the shop's.
        now: the moment, with an offset.
        revision: of the job's signed record, from 1.
        replaces_sha256: SHA-256 of the file of the revision before; None exactly for the first.

    Raises:
        SigningError: the chain does not hold, a field of the signer is empty, or the revision does not name
            the one before.
    """
    _check(events, signer, now, revision, replaces_sha256)
    bare = record.model_copy(update={"signatures": []})
    signature = Signature(
        name=signer.name,
        account=signer.account,
        role=signer.role,
        at=now.astimezone(UTC).isoformat(timespec="milliseconds"),
        meaning=signer.meaning,
        revision=revision,
        replaces_sha256=replaces_sha256,
        record_sha256=record_sha256(as_plain(bare)),
        chain_events=len(events),
        chain_sha256=events[-1].sha256 if events else BEGINNING,
        key_fingerprint=key.fingerprint,
    )
    signed = bare.model_copy(update={"signatures": [signature]})
    content = {
        "schema": SCHEMA,
        "record": as_plain(signed),
        "events": [as_json(link) for link in events],
        "public_key": key.public_pem,
    }
    value = b64encode(key.private.sign(canonical_bytes(content))).decode("ascii")
    whole = {**content, "signature": {"algorithm": ALGORITHM, "value": value}}
    text = json.dumps(whole, ensure_ascii=False, allow_nan=False, indent=2)
    return SignedRecord(signed, text.encode() + b"\n")


def as_plain(record: RebuildRecord) -> dict[str, Any]:
    """Return a record as the JSON value that is signed."""
    return record.model_dump(mode="json", by_alias=True)


def record_sha256(record: dict[str, Any]) -> str:
    """Return the hash that names what was signed: over a record, as JSON, without its signatures."""
    return canonical_sha256({**record, "signatures": []})


def signed_content(whole: dict[str, Any]) -> bytes:
    """Return the bytes that the signature of a signed record's JSON is over.

    Raises:
        SigningError: it cannot be put into canonical JSON.
    """
    return canonical_bytes({name: value for name, value in whole.items() if name != "signature"})


def _check(
    events: Sequence[Link], signer: Signer, now: datetime, revision: int, replaces_sha256: str | None
) -> None:
    if (found := first_break(events)) is not None:
        raise SigningError(
            f"the job's chain of events is broken at event {found.number}: {found.why}",
            remedy="nothing is signed on top of a changed past; restore the database from a copy",
        )
    for name in ("name", "account", "role", "meaning"):
        if not getattr(signer, name).strip():
            raise SigningError(f"the signer's {name} is empty", expected="name, account, role and meaning")
    if now.tzinfo is None:
        raise SigningError("a moment without an offset")
    if (revision == 1) != (replaces_sha256 is None) or revision < 1:
        raise SigningError(
            f"revision {revision} replaces {replaces_sha256 or 'nothing'}",
            expected="the first revision to replace nothing, every other to name the one before",
        )
