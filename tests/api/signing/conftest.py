"""A signed record and its signed PDF, and what is needed to tamper with them."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from api.report.prepare import prepare_view
from api.signing.chain import Link, next_link
from api.signing.keys import ShopKey, new_key
from api.signing.signed_pdf import signed_report_pdf
from api.signing.signed_record import SignedRecord, Signer, sign_record
from shared.job_sheet import JobSheet
from shared.record import RebuildRecord

NOW = datetime(2026, 11, 26, 15, 4, 5, 678900, UTC)
SIGNER = Signer("R. Reviewer", "rr", "reviewer", "reviewed and accepted")


def events_of(*kinds: str) -> list[Link]:
    """Return a chain of events of these kinds, a second apart."""
    links: list[Link] = []
    for second, kind in enumerate(kinds):
        links.append(
            next_link(
                links[-1] if links else None,
                at=f"2026-11-26T14:00:{second:02d}.000+00:00",
                by="T. Tester (tt)" if second else None,
                kind=kind,
                payload={"entry": f"r{second}", "value": round(0.016 + second / 1000, 3), "what": "größer?"},
            )
        )
    return links


@pytest.fixture(scope="session")
def key() -> ShopKey:
    return new_key()


@pytest.fixture
def events() -> list[Link]:
    return events_of("opened", "drafted", "entry_corrected", "handed_over")


@pytest.fixture
def signed(record: RebuildRecord, events: list[Link], key: ShopKey) -> SignedRecord:
    return sign_record(record, events, SIGNER, key, now=NOW)


@pytest.fixture
def document(signed: SignedRecord, sheet: JobSheet, key: ShopKey) -> bytes:
    return signed_report_pdf(prepare_view(signed.record, sheet), {}, signed, key)
