"""Rebuilds filed by hand: rows of the archive as filing leaves them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Any

from sqlalchemy.orm import Session

from api.store.archive_state import archive_changed
from api.store.archive_tables import ArchivedEntry, ArchivedRecord, ArchivedUtterance

SHEET_ID = "wash-water-end-suction"
BEGIN = datetime(2024, 1, 1, 6, 0, tzinfo=UTC)


@dataclass
class Archive:
    session: Session
    number: int = 0

    def rebuild(self, tag: str | None, day: int | None, *entries: dict[str, Any], **more: Any) -> int:
        """File a rebuild begun on a day after the beginning; return its row's id."""
        self.number += 1
        fields: dict[str, Any] = {
            "source": f"file:{self.number:064d}", "version": 1, "stands": True, "signed": True,
            "record_sha256": f"{self.number:064d}", "engine": "", "rules_sha256": "", "made_by_version": "0",
            "sheet_id": SHEET_ID, "pump_type": SHEET_ID, "pump_tag": tag, "work_order": f"WO {self.number}",
            "started_at": None if day is None else BEGIN + timedelta(days=day), "month": "", "counted": "[]",
            **more,
        }  # fmt: skip
        row = ArchivedRecord(**fields)
        self.session.add(row)
        self.session.flush()
        for number, entry in enumerate(entries):
            said = {"entry_id": f"e{number}", "needs_review": False, **entry}
            self.session.add(ArchivedEntry(record_id=row.id, **said))
        archive_changed(self.session)
        return row.id

    def said(self, record_id: int, number: int, words: str) -> None:
        self.session.add(
            ArchivedUtterance(
                record_id=record_id, number=number, recording="001", start_s=1.0, end_s=2.0, words=words
            )
        )
        archive_changed(self.session)


def reading(item: str, value: float, position: str | None = None, **more: Any) -> dict[str, Any]:
    return {
        "kind": "reading", "item": item, "position": position, "stage": "as_found", "value": value,
        "unit": "in", "verdict": "within", **more,
    }  # fmt: skip


def condition(part: str, what: str, **more: Any) -> dict[str, Any]:
    return {"kind": "condition", "part": part, "what": what, **more}


def part(name: str, what: str, **more: Any) -> dict[str, Any]:
    return {"kind": "part", "part": name, "what": what, **more}
