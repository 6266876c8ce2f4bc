"""Job sheets as they were when a job began."""

from __future__ import annotations

import json
from datetime import datetime
from functools import lru_cache
from hashlib import sha256

from sqlalchemy import select
from sqlalchemy.orm import Session

from api.store.tables import SheetText
from shared.job_sheet import JobSheet, load_job_sheet, shipped_sheet_ids


def keep_sheet(session: Session, sheet: JobSheet, now: datetime) -> SheetText:
    """Keep a sheet by its content and return its row; a sheet that was kept before is that row."""
    text, digest = sheet.model_dump_json(by_alias=True), sheet_sha256(sheet)
    found = session.get(SheetText, digest)
    if found is None:
        found = SheetText(sha256=digest, sheet_id=sheet.id, revision=sheet.revision, text=text, kept_at=now)
        session.add(found)
        session.flush()
    return found


def sheet_sha256(sheet: JobSheet) -> str:
    """Return the hash by which a sheet is kept."""
    return sha256(sheet.model_dump_json(by_alias=True).encode()).hexdigest()


def sheet_from(row: SheetText) -> JobSheet:
    """Return the sheet that was kept."""
    return JobSheet.model_validate(json.loads(row.text))


def newest_sheet(session: Session, sheet_id: str) -> JobSheet | None:
    """Return the sheet of an id as it was kept last, else the shipped one; None where there is neither."""
    newest = select(SheetText.text).where(SheetText.sheet_id == sheet_id)
    text = session.scalar(newest.order_by(SheetText.kept_at.desc()).limit(1))
    if text is not None:
        return _read(text)
    return _shipped(sheet_id) if sheet_id in shipped_sheet_ids() else None


@lru_cache(maxsize=32)
def _read(text: str) -> JobSheet:
    return JobSheet.model_validate(json.loads(text))


@lru_cache(maxsize=32)
def _shipped(sheet_id: str) -> JobSheet:
    return load_job_sheet(sheet_id)
