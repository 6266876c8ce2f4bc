"""Job sheets as they were when a job began."""

from __future__ import annotations

import json
from datetime import datetime
from hashlib import sha256

from sqlalchemy.orm import Session

from api.store.tables import SheetText
from shared.job_sheet import JobSheet


def keep_sheet(session: Session, sheet: JobSheet, now: datetime) -> SheetText:
    """Keep a sheet by its content and return its row; a sheet that was kept before is that row."""
    text = sheet.model_dump_json(by_alias=True)
    digest = sha256(text.encode()).hexdigest()
    found = session.get(SheetText, digest)
    if found is None:
        found = SheetText(sha256=digest, sheet_id=sheet.id, revision=sheet.revision, text=text, kept_at=now)
        session.add(found)
        session.flush()
    return found


def sheet_from(row: SheetText) -> JobSheet:
    """Return the sheet that was kept."""
    return JobSheet.model_validate(json.loads(row.text))
