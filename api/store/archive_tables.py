"""The archive as SQLAlchemy maps it: what records say, laid out to be searched and counted.

All of it is derived and can be made anew at any time (:mod:`api.archive.filing`); the truth stays in jobs,
drafts, revisions and events, or, of recordings from before, in ``ArchivedRecord.record``.

The words of ``archived_utterances`` have an index for full text that the mapping does not know, since each
kind of database has its own: the FTS5 table ``utterance_words`` on SQLite (kept up by triggers), the
generated column ``words_vector`` on PostgreSQL. :mod:`api.archive.full_text` hides which.
"""

from __future__ import annotations

from datetime import datetime
from typing import Any

from sqlalchemy import (
    ColumnElement,
    Float,
    ForeignKey,
    Index,
    Integer,
    String,
    UniqueConstraint,
    and_,
    literal_column,
    or_,
    text,
)
from sqlalchemy.orm import Mapped, mapped_column

from api.store.tables import Table

#: The one version of a source that stands, as each kind of database writes the condition.
_STANDS = text("stands")


def _standing(name: str, *columns: str) -> Index:
    """Return an index of the records that stand; SQLite takes it where the query says it the same way."""
    return Index(
        f"ix_archived_records_{name}", *columns, sqlite_where=text("stands = 1"), postgresql_where=_STANDS
    )


#: Pictures that stand. Written out, as in a query: an index of some rows is taken where both say the same.
_PICTURE = text("kind = 'photo' and picture is not null and fate is null")


def _pictures(name: str, *columns: str) -> Index:
    """Return an index of the pictures that stand."""
    return Index(f"ix_archived_entries_{name}", *columns, sqlite_where=_PICTURE, postgresql_where=_PICTURE)


#: What was found of a part, done with it or not as it should be, where it stands; written out likewise.
_FINDING = text("(kind = 'condition' or kind = 'part' or kind = 'deviation') and fate is null")


class ArchivedRecord(Table):
    """A record that was filed: one reading of one source. Of the versions of a source exactly one stands."""

    __tablename__ = "archived_records"
    __table_args__ = (
        UniqueConstraint("source", "version"),
        Index(
            "ix_archived_records_stands", "source", unique=True,
            sqlite_where=_STANDS, postgresql_where=_STANDS,
        ),
        Index("ix_archived_records_pump", "pump_tag", "started_at"),
        Index("ix_archived_records_type", "pump_type", "started_at"),
        # With all that a page over the whole archive asks of a record, whose row is long.
        _standing(
            "of_sheet", "sheet_id", "started_at", "id", "pump_tag", "pump_serial", "running_hours",
            "work_order",
        ),
        _standing("of_pump", "pump_tag", "pump_serial", "sheet_id", "started_at"),
        _standing("of_time", "started_at", "sheet_id", "work_order", "job_id"),
        _standing("of_technician", "technician", "id"),
    )  # fmt: skip

    id: Mapped[int] = mapped_column(primary_key=True)
    source: Mapped[str] = mapped_column(String(80))
    """``job:<job id>`` or ``file:<SHA-256 of the recording>``."""
    version: Mapped[int]
    """Of the source, from 1: read with newer rules or by another engine, it is another version."""
    stands: Mapped[bool]
    """The signed version, else the newest, unless a person chose another."""
    signed: Mapped[bool]
    job_id: Mapped[str | None] = mapped_column(ForeignKey("jobs.id"), index=True)
    record_sha256: Mapped[str] = mapped_column(String(64))
    """Over the record's JSON without its signatures: tells versions apart."""
    record: Mapped[str | None]
    """JSON of the contract, of records without a job; those with one have it among drafts and revisions."""
    engine: Mapped[str] = mapped_column(String(128))
    rules_sha256: Mapped[str] = mapped_column(String(64))
    made_by_version: Mapped[str] = mapped_column(String(32))
    sheet_id: Mapped[str] = mapped_column(String(128), index=True)
    sheet_revision: Mapped[str | None] = mapped_column(String(64))
    pump_type: Mapped[str] = mapped_column(String(128))
    """As the job has it; where it has none, the sheet's id."""
    pump_tag: Mapped[str | None] = mapped_column(String(128))
    pump_serial: Mapped[str | None] = mapped_column(String(128), index=True)
    work_order: Mapped[str | None] = mapped_column(String(128), index=True)
    technician_id: Mapped[int | None] = mapped_column(ForeignKey("accounts.id"), index=True)
    technician: Mapped[str | None]
    """As he is shown."""
    crew: Mapped[str | None] = mapped_column(String(64))
    """Team or shift, where the shop keeps one."""
    bench: Mapped[str | None] = mapped_column(String(64))
    started_at: Mapped[datetime | None]
    ended_at: Mapped[datetime | None]
    month: Mapped[str] = mapped_column(String(7), index=True)
    """``YYYY-MM`` in UTC; empty where nobody knows when."""
    running_hours: Mapped[float | None] = mapped_column(Float)
    """Of the pump's hour meter when it came in; never guessed."""
    clock_doubt: Mapped[str | None]
    """Why the recording's clock is not believed, or None."""
    counted: Mapped[str]
    """JSON of what it adds to the roll-up, so that the same is taken off: [[kind, key, wanted, lacking]]."""


class ArchivedEntry(Table):
    """One entry of a filed record, whatever its kind; null is what its kind does not have."""

    __tablename__ = "archived_entries"
    __table_args__ = (
        Index("ix_archived_entries_said", "record_id", "utterance"),
        Index("ix_archived_entries_kind", "record_id", "kind"),
        # With the row's number, so that the newest come out of the index in their order.
        Index("ix_archived_entries_item", "item", "id"),
        Index("ix_archived_entries_part", "part", "id"),
        Index("ix_archived_entries_what", "what", "kind", "id"),
        # The newest pictures, and the newest of a part, each without a look at the row.
        _pictures("picture", "id", "part", "stage", "record_id"),
        _pictures("picture_of", "part", "id", "stage", "record_id"),
        # Which records found something of a part, without a look at the row: asked of many pictures at once.
        Index(
            "ix_archived_entries_finding",
            "what",
            "part",
            "kind",
            "record_id",
            sqlite_where=_FINDING,
            postgresql_where=_FINDING,
        ),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    record_id: Mapped[int] = mapped_column(ForeignKey("archived_records.id"))
    kind: Mapped[str] = mapped_column(String(16))
    """reading, condition, part, consumable, step, photo, deviation, missing, question, note or event."""
    entry_id: Mapped[str] = mapped_column(String(128))
    """In the record; empty of what is missing, which has none."""
    item: Mapped[str | None] = mapped_column(String(128))
    part: Mapped[str | None] = mapped_column(String(128))
    position: Mapped[str | None] = mapped_column(String(64))
    stage: Mapped[str | None] = mapped_column(String(16))
    value: Mapped[float | None] = mapped_column(Float)
    unit: Mapped[str | None] = mapped_column(String(16))
    verdict: Mapped[str | None] = mapped_column(String(16))
    what: Mapped[str | None] = mapped_column(String(128))
    """Condition, action, consumable, kind of deviation or of what is missing, step, event, or what a photo
    is of."""
    quantity: Mapped[float | None] = mapped_column(Float)
    serial: Mapped[str | None] = mapped_column(String(128))
    needs_review: Mapped[bool]
    fate: Mapped[str | None] = mapped_column(String(24))
    """Of what no longer stands: corrected, measured_again, struck, or reviewer_corrected by the office."""
    disposition: Mapped[str | None] = mapped_column(String(16))
    text: Mapped[str | None]
    """Of notes, deviations, questions and what is missing."""
    utterance: Mapped[int | None] = mapped_column(Integer)
    recording: Mapped[str | None] = mapped_column(String(255))
    start_s: Mapped[float | None] = mapped_column(Float)
    """Seconds from the start of the recording; of what is missing, when the talk was last about it."""
    end_s: Mapped[float | None] = mapped_column(Float)
    picture: Mapped[str | None]
    """Its name in the record."""


def is_picture(entry: Any = ArchivedEntry) -> ColumnElement[bool]:
    """Return the condition that an entry is a picture that stands, as its indexes have it.

    Args:
        entry: the class, or another name of it.
    """
    return and_(entry.kind == literal_column("'photo'"), entry.picture.is_not(None), entry.fate.is_(None))


def is_finding(entry: Any = ArchivedEntry) -> ColumnElement[bool]:
    """Return the condition that an entry says something of a part and stands, as its index has it.

    Args:
        entry: the class, or another name of it.
    """
    kinds = [entry.kind == literal_column(f"'{kind}'") for kind in ("condition", "part", "deviation")]
    return and_(or_(*kinds), entry.fate.is_(None))


class ArchivedUtterance(Table):
    """What was said about the job between two pauses; never chatter."""

    __tablename__ = "archived_utterances"
    __table_args__ = (Index("ix_archived_utterances_said", "record_id", "number"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    record_id: Mapped[int] = mapped_column(ForeignKey("archived_records.id"))
    number: Mapped[int]
    """As entries' evidence names it."""
    recording: Mapped[str] = mapped_column(String(255))
    start_s: Mapped[float] = mapped_column(Float)
    """Seconds from the start of the recording."""
    end_s: Mapped[float] = mapped_column(Float)
    words: Mapped[str]


class ArchivedCount(Table):
    """How often something was wanted and how often it was lacking, in all standing records of a cell."""

    __tablename__ = "archived_counts"
    __table_args__ = (
        Index("ix_archived_counts_sheet", "sheet_id", "kind", "month"),
        Index("ix_archived_counts_kind", "kind", "key"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    cell: Mapped[str] = mapped_column(String(600), unique=True)
    """All that follows but the counts, in one text: two unknowns are the same, which no constraint over
    several columns says on both kinds of database."""
    month: Mapped[str] = mapped_column(String(7), index=True)
    sheet_id: Mapped[str] = mapped_column(String(128))
    pump_type: Mapped[str] = mapped_column(String(128))
    crew: Mapped[str | None] = mapped_column(String(64))
    technician_id: Mapped[int | None] = mapped_column(ForeignKey("accounts.id"), index=True)
    kind: Mapped[str] = mapped_column(String(16))
    """record, reading, photo, part_decision, step, limit or corrected; what each counts stands in
    :mod:`api.archive.counting`."""
    key: Mapped[str] = mapped_column(String(200))
    """Item, photo, part or step; with a position ``item@position``; of corrections ``kind:name``."""
    wanted: Mapped[int]
    lacking: Mapped[int]


class ArchivedStage(Table):
    """How long a stage of a rebuild took, by the narration's own times."""

    __tablename__ = "archived_stages"

    id: Mapped[int] = mapped_column(primary_key=True)
    record_id: Mapped[int] = mapped_column(ForeignKey("archived_records.id"), index=True)
    stage: Mapped[str] = mapped_column(String(16))
    """as_found, as_left, or whole for all of it."""
    seconds: Mapped[float] = mapped_column(Float)
