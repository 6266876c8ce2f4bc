"""Which gauge reads from where on, as events of the job: held up, chosen, or named aloud."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy.orm import Session

from api.live.bench_facts import Place, facts_of, place_of
from api.store.gauges import gauge_called, is_expired
from api.store.job_events import chain_of, note
from api.store.tables import Account, Gauge
from shared.job_sheet import JobSheet
from shared.record import RebuildRecord


def note_gauge(
    session: Session,
    job_id: str,
    gauge: Gauge,
    place: Place,
    now: datetime,
    *,
    by: Account | None,
    said: str | None = None,
) -> None:
    """Write down that a gauge reads from a place on, with its calibration as it is now.

    Args:
        session: one that writes.
        job_id: of the job.
        gauge: of the register.
        place: in the job's sound.
        now: the moment.
        by: who held it up; None where it was named in talk.
        said: how it was called in talk.
    """
    payload = {
        "gauge": gauge.id, "kind": gauge.kind, "calibrated_until": gauge.calibrated_until,
        "expired": is_expired(gauge, now.date()), "said": said,
        "recording": place.recording, "at_s": round(place.at_s, 1),
    }  # fmt: skip
    note(session, job_id, "gauge_used", payload, by=by, now=now)


def note_gauges_said(
    session: Session, job_id: str, record: RebuildRecord, sheet: JobSheet, now: datetime
) -> None:
    """Write down the gauges of the register that were named in talk and are not written down yet.

    One that the register does not have stays in the record as it was said.
    """
    noted = {use.said for use in facts_of(chain_of(session, job_id)).gauges}
    for reading in record.readings:
        measured, place = sheet.measured.get(reading.item), place_of(reading.evidence)
        if reading.gauge is None or reading.gauge in noted or place is None:
            continue
        if measured is None or measured.gauge is None:
            continue
        noted.add(reading.gauge)
        found = gauge_called(session, measured.gauge, reading.gauge.removeprefix(measured.gauge))
        if found is not None:
            note_gauge(session, job_id, found, place, now, by=None, said=reading.gauge)
