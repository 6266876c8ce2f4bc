"""A record filed into the archive, in the transaction that keeps it; its rows can be made anew any time."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime
from hashlib import sha256

from sqlalchemy import delete, insert, select
from sqlalchemy.orm import Session

from api.archive.counting import add_to_roll_up, counts_of
from api.archive.filed_rows import Row, entry_rows, stage_rows, utterance_rows
from api.store.archive_state import archive_changed
from api.store.archive_tables import ArchivedEntry, ArchivedRecord, ArchivedStage, ArchivedUtterance
from api.store.sheets import sheet_from
from api.store.tables import SheetText, Table
from shared.errors import RebuildError
from shared.job_sheet import JobSheet, load_job_sheet
from shared.record import RebuildRecord
from shared.speech import Utterance

#: What hangs on a record, to be taken away with it.
_PARTS = (ArchivedEntry, ArchivedUtterance, ArchivedStage)


@dataclass(frozen=True)
class Filing:
    """What the archive is to know of a record besides itself."""

    job_id: str | None = None
    """None of a recording from before, whose record is then kept in the archive itself."""
    signed: bool = False
    engine: str | None = None
    """None: as the record says."""
    rules_sha256: str = ""
    """Of the rules of reading that it was read by; see :mod:`api.reading_rules`."""
    technician_id: int | None = None
    technician: str | None = None
    """As he is shown; None: as the record says."""
    crew: str | None = None
    bench: str | None = None
    pump_tag: str | None = None
    """None: as the record says; so of the next three."""
    pump_serial: str | None = None
    work_order: str | None = None
    running_hours: float | None = None
    """Of the pump's hour meter when it came in; never guessed."""
    started_at: datetime | None = None
    ended_at: datetime | None = None
    clock_doubt: str | None = None
    """Why the recording's clock is not believed."""
    talk: Mapping[int, Utterance] = field(default_factory=dict)
    """Job talk by the number that evidence names it by; never chatter. What evidence quotes is known."""


@dataclass(frozen=True)
class ToFile:
    """A record, where it came from, the sheet it was made by, and what else is known of it."""

    record: RebuildRecord
    source: str
    sheet: JobSheet | None = None
    filing: Filing = field(default_factory=Filing)


def file_record(
    session: Session,
    record: RebuildRecord,
    *,
    source: str,
    sheet: JobSheet | None = None,
    filing: Filing | None = None,
) -> ArchivedRecord:
    """File a record, and add it to the roll-up in place of the version of its source that stood.

    The same record by the same engine and rules is the version that is there, made anew. Another one is the
    next version; it stands unless a signed one does, which only another signed one replaces.

    Args:
        session: one that writes.
        record: validated.
        source: ``job:<job id>`` or ``file:<SHA-256 of the recording>``.
        sheet: that it was made by; None looks it up by the hash or the id that the record has.
        filing: what else is known of it.
    """
    filing = filing or Filing()
    sheet = sheet or _sheet_of(session, record)
    new, rows = _rows_of(ToFile(record, source, sheet, filing))
    versions = versions_of(session, source)
    same = next((one for one in versions if _same_reading(one, new)), None)
    newly_signed = filing.signed and not (same is not None and same.signed)
    if same is not None:
        _clear(session, same)
        new.signed = new.signed or same.signed
        for name in _DERIVED:
            setattr(same, name, getattr(new, name))
        kept = same
    else:
        new.version = max((one.version for one in versions), default=0) + 1
        session.add(kept := new)
    session.flush()
    _insert(session, [(kept.id, rows)])
    if kept.stands:
        add_to_roll_up(session, [kept])
    else:
        stood = next((one for one in versions if one.stands), None)
        if stood is None or newly_signed or (same is None and not stood.signed):
            let_stand(session, kept)
    session.flush()
    archive_changed(session)
    return kept


def file_new(session: Session, records: Iterable[ToFile]) -> list[ArchivedRecord]:
    """File many records at once whose sources the archive does not have yet: much quicker, the same rows.

    Args:
        session: one that writes.
        records: no two of one source.
    """
    made = [_rows_of(one) for one in records]
    for new, _ in made:
        new.version, new.stands = 1, True
    filed = [new for new, _ in made]
    session.add_all(filed)
    session.flush()
    _insert(session, [(new.id, rows) for new, rows in made])
    add_to_roll_up(session, filed)
    archive_changed(session)
    return filed


def versions_of(session: Session, source: str) -> Sequence[ArchivedRecord]:
    """Return all versions of a source, oldest first."""
    wanted = select(ArchivedRecord).where(ArchivedRecord.source == source)
    return session.scalars(wanted.order_by(ArchivedRecord.version)).all()


def let_stand(session: Session, chosen: ArchivedRecord) -> None:
    """Let a version stand for its source; the roll-up counts it in place of the one that stood."""
    stood = session.scalar(
        select(ArchivedRecord).where(ArchivedRecord.source == chosen.source, ArchivedRecord.stands)
    )
    if stood is not None and stood.id == chosen.id:
        return
    if stood is not None:
        add_to_roll_up(session, [stood], -1)
        stood.stands = False
        # Before the next one stands: the database allows one of a source.
        session.flush()
    chosen.stands = True
    session.flush()
    add_to_roll_up(session, [chosen])
    archive_changed(session)


def forget(session: Session, source: str) -> None:
    """Take all versions of a source out of the archive; what it was derived from stays."""
    for one in versions_of(session, source):
        _clear(session, one)
        session.delete(one)
    session.flush()
    archive_changed(session)


#: What is made anew where the same reading is filed again.
_DERIVED = (
    "signed", "record", "engine", "made_by_version", "sheet_id", "sheet_revision", "pump_type", "pump_tag",
    "pump_serial", "work_order", "technician_id", "technician", "crew", "bench", "started_at", "ended_at",
    "month", "running_hours", "clock_doubt", "counted",
)  # fmt: skip


def _same_reading(one: ArchivedRecord, other: ArchivedRecord) -> bool:
    return (one.record_sha256, one.engine, one.rules_sha256) == (
        other.record_sha256, other.engine, other.rules_sha256,
    )  # fmt: skip


def _rows_of(it: ToFile) -> tuple[ArchivedRecord, _Rows]:
    """Return a record's row, standing nowhere yet, and all that hangs on it."""
    record, filing, job = it.record, it.filing, it.record.job
    entries = entry_rows(record)
    started = filing.started_at or _moment(job.started)
    ended = filing.ended_at or _moment(job.ended)
    dated = started or ended
    sheet_id = (it.sheet.id if it.sheet else job.sheet_id) or ""
    row = ArchivedRecord(
        source=it.source, version=0, stands=False, signed=filing.signed, job_id=filing.job_id,
        record_sha256=_sha256(record),
        record=None if filing.job_id else record.model_dump_json(by_alias=True),
        engine=filing.engine or record.made_by.engine, rules_sha256=filing.rules_sha256,
        made_by_version=record.made_by.version, sheet_id=sheet_id,
        sheet_revision=(it.sheet.revision if it.sheet else None) or job.sheet_revision,
        pump_type=job.pump_type or sheet_id, pump_tag=filing.pump_tag or job.pump_tag,
        pump_serial=filing.pump_serial or job.pump_serial, work_order=filing.work_order or job.work_order,
        technician_id=filing.technician_id, technician=filing.technician or job.technician, crew=filing.crew,
        bench=filing.bench, started_at=started, ended_at=ended,
        month=dated.astimezone(UTC).strftime("%Y-%m") if dated else "", running_hours=filing.running_hours,
        clock_doubt=filing.clock_doubt, counted=json.dumps(counts_of(record, it.sheet, entries)),
    )  # fmt: skip
    return row, {
        ArchivedEntry: entries,
        ArchivedUtterance: utterance_rows(record, filing.talk),
        ArchivedStage: stage_rows(record),
    }


_Rows = dict[type[ArchivedEntry] | type[ArchivedUtterance] | type[ArchivedStage], list[Row]]


def _sha256(record: RebuildRecord) -> str:
    # Not the canonical JSON that is signed: that takes ten times as long, and this only tells versions apart.
    return sha256(record.model_dump_json(by_alias=True, exclude={"signatures"}).encode()).hexdigest()


def _insert(session: Session, filed: Sequence[tuple[int, _Rows]]) -> None:
    for table in _PARTS:
        rows = [{**row, "record_id": number} for number, parts in filed for row in parts[table]]
        if rows:
            # Of the table, not the class: that would part the rows by which of their fields are null.
            session.connection().execute(insert(Table.metadata.tables[table.__tablename__]), rows)


def _clear(session: Session, filed: ArchivedRecord) -> None:
    """Take away all that hangs on a record."""
    if filed.stands:
        add_to_roll_up(session, [filed], -1)
    for table in _PARTS:
        session.execute(delete(table).where(table.record_id == filed.id))


def _moment(text: str | None) -> datetime | None:
    """Return a time of a record; one without an offset is taken as UTC, as it came from no clock of ours."""
    try:
        found = datetime.fromisoformat(text) if text else None
    except ValueError:
        return None
    return found.replace(tzinfo=UTC) if found is not None and found.tzinfo is None else found


def _sheet_of(session: Session, record: RebuildRecord) -> JobSheet | None:
    """Return the sheet that a record was made by, or one of its id; None where there is neither."""
    kept = session.get(SheetText, record.made_by.hashes.get("sheet", ""))
    if kept is None:
        newest = select(SheetText).where(SheetText.sheet_id == record.job.sheet_id)
        kept = session.scalar(newest.order_by(SheetText.kept_at.desc()).limit(1))
    if kept is not None:
        return sheet_from(kept)
    try:
        return load_job_sheet(record.job.sheet_id) if record.job.sheet_id else None
    except RebuildError:
        return None
