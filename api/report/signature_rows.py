"""Signatures as the report shows them: by whom, what for, and what a print of it is checked against."""

from __future__ import annotations

from api.report.view import Fact, SignatureView
from shared.record import RebuildRecord, Signature

CHECK = (
    "A print proves nothing by itself. Check the file with: witnessmark verify FILE --key PUBLIC.pem, "
    "and compare the fingerprint with the one that the shop gave out."
)


def signature_views(record: RebuildRecord) -> list[SignatureView]:
    """Return the signatures of a record; none of one that nobody signed."""
    return [_view(signature) for signature in record.signatures]


def signed_words(record: RebuildRecord) -> str:
    """Return in one sentence who signed and what he meant; empty where nobody did."""
    return " ".join(
        f"Revision {s.revision} signed by {s.name} ({s.role}), {s.at}: {s.meaning.rstrip('.')}."
        for s in record.signatures
    )


def _view(signature: Signature) -> SignatureView:
    replaces = signature.replaces_sha256
    facts = [
        Fact("Signed at", signature.at),
        Fact("Account", signature.account),
        Fact("Revision", str(signature.revision)),
        *([Fact("Replaces", f"revision {signature.revision - 1}, SHA-256 {replaces}")] if replaces else []),
        Fact("SHA-256 of the record", signature.record_sha256),
        Fact("Chain of events", f"{signature.chain_events} events, last {signature.chain_sha256}"),
        Fact("Key fingerprint", signature.key_fingerprint),
    ]
    return SignatureView(f"Signed by {signature.name}, {signature.role}", signature.meaning, facts, CHECK)
