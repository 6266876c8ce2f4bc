"""The tables of the shop, as SQLAlchemy maps them. Alembic's migrations make them (``migrations/``)."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

from sqlalchemy import (
    JSON,
    CheckConstraint,
    ForeignKey,
    Integer,
    LargeBinary,
    MetaData,
    String,
    Text,
    TypeDecorator,
    UniqueConstraint,
)
from sqlalchemy.engine import Dialect
from sqlalchemy.orm import DeclarativeBase, Mapped, mapped_column, relationship

#: Constraints need names on both kinds of database, or no later migration can change them.
_NAMES = {
    "ix": "ix_%(table_name)s_%(column_0_N_name)s",
    "uq": "uq_%(table_name)s_%(column_0_N_name)s",
    "ck": "ck_%(table_name)s_%(constraint_name)s",
    "fk": "fk_%(table_name)s_%(column_0_N_name)s",
    "pk": "pk_%(table_name)s",
}


class Moment(TypeDecorator[datetime]):
    """A time with its offset, kept as ISO 8601 text in UTC: the same on every kind of database."""

    impl = String(32)
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> str | None:
        """Return the text that is kept."""
        if value is None:
            return None
        if value.tzinfo is None:
            raise ValueError("a moment without an offset")
        return value.astimezone(UTC).isoformat(timespec="milliseconds")

    def process_result_value(self, value: str | None, dialect: Dialect) -> datetime | None:
        """Return the moment that was kept."""
        return None if value is None else datetime.fromisoformat(value)


class Table(DeclarativeBase):
    """Root of all tables."""

    metadata = MetaData(naming_convention=_NAMES)
    type_annotation_map = {datetime: Moment, dict[str, Any]: JSON, list[str]: JSON, str: Text}


class Account(Table):
    """Somebody who works here."""

    __tablename__ = "accounts"

    id: Mapped[int] = mapped_column(primary_key=True)
    name: Mapped[str] = mapped_column(String(64), unique=True)
    """What is typed to sign in; folded to lower case."""
    shown_name: Mapped[str]
    """As it stands in records."""
    roles: Mapped[list[str]]
    secret_hash: Mapped[str | None]
    """argon2id; None where only a badge signs in."""
    pin_hash: Mapped[str | None]
    """argon2id; figures given beside a badge at a hold point. They sign nobody in."""
    badge_sha256: Mapped[str | None] = mapped_column(String(64), unique=True)
    made_at: Mapped[datetime]
    closed_at: Mapped[datetime | None]
    """From then on nobody signs in with it; records keep its name."""


class NoticeText(Table):
    """A notice on recording as it was shown; one that changes is another row."""

    __tablename__ = "notices"

    sha256: Mapped[str] = mapped_column(String(64), primary_key=True)
    text: Mapped[str]
    kept_at: Mapped[datetime]


class Consent(Table):
    """What somebody answered to a notice; never changed, a later answer is another row."""

    __tablename__ = "consents"

    id: Mapped[int] = mapped_column(primary_key=True)
    account_id: Mapped[int] = mapped_column(ForeignKey("accounts.id"), index=True)
    notice_sha256: Mapped[str] = mapped_column(ForeignKey("notices.sha256"))
    agreed: Mapped[bool]
    at: Mapped[datetime]


class WebSession(Table):
    """A browser that is signed in."""

    __tablename__ = "web_sessions"

    token_sha256: Mapped[str] = mapped_column(String(64), primary_key=True)
    account_id: Mapped[int] = mapped_column(ForeignKey("accounts.id"), index=True)
    form_token: Mapped[str] = mapped_column(String(64))
    """What every form of this session carries, so that no other page can send one."""
    made_at: Mapped[datetime]
    ends_at: Mapped[datetime]
    means: Mapped[str] = mapped_column(String(16), default="secret")
    """secret or badge: a badge can be photographed, so it opens the bench and nothing else."""
    seen_at: Mapped[datetime | None]
    """Last used, of a session by badge, to the minute."""
    account: Mapped[Account] = relationship(lazy="joined")


class ApiToken(Table):
    """What a script signs in with."""

    __tablename__ = "api_tokens"

    id: Mapped[int] = mapped_column(primary_key=True)
    account_id: Mapped[int] = mapped_column(ForeignKey("accounts.id"), index=True)
    purpose: Mapped[str]
    token_sha256: Mapped[str] = mapped_column(String(64), unique=True)
    made_at: Mapped[datetime]
    closed_at: Mapped[datetime | None]
    account: Mapped[Account] = relationship(lazy="joined")


class SheetText(Table):
    """A job sheet as it was when a job began; a sheet that changes is another row."""

    __tablename__ = "sheets"

    sha256: Mapped[str] = mapped_column(String(64), primary_key=True)
    sheet_id: Mapped[str] = mapped_column(String(128), index=True)
    revision: Mapped[str | None]
    text: Mapped[str]
    """JSON of the sheet as it was read."""
    kept_at: Mapped[datetime]


class JobTag(Table):
    """A tag that was printed for a job, so that its work order is known before the pump is on a bench."""

    __tablename__ = "job_tags"

    work_order: Mapped[str] = mapped_column(String(128), primary_key=True)
    pump_tag: Mapped[str | None] = mapped_column(String(128), index=True)
    sheet_id: Mapped[str] = mapped_column(String(128))
    made_at: Mapped[datetime]
    made_by: Mapped[int] = mapped_column(ForeignKey("accounts.id"))


class Gauge(Table):
    """A gauge of the shop's register."""

    __tablename__ = "gauges"

    id: Mapped[str] = mapped_column(String(64), primary_key=True)
    """As it is engraved or labelled."""
    kind: Mapped[str] = mapped_column(String(64), index=True)
    """As job sheets name it."""
    reach: Mapped[str | None]
    """What it measures from and to, in words."""
    resolution: Mapped[str | None]
    """With its unit, in words."""
    uncertainty: Mapped[str | None]
    """As its certificate states it, in words."""
    calibrated_until: Mapped[str | None] = mapped_column(String(10))
    """Last day on which its calibration is good, ISO 8601; None where it does not end."""
    made_at: Mapped[datetime]
    closed_at: Mapped[datetime | None]
    """From then on it is not in use any more."""


class BenchJob(Table):
    """One pump on the bench, from the tag held to the camera to the signature."""

    __tablename__ = "jobs"
    __table_args__ = (
        CheckConstraint("state in ('open', 'handed_over', 'returned', 'signed')", name="state"),
    )

    id: Mapped[str] = mapped_column(String(32), primary_key=True)
    work_order: Mapped[str] = mapped_column(String(128), index=True)
    pump_tag: Mapped[str | None] = mapped_column(String(128), index=True)
    pump_serial: Mapped[str | None] = mapped_column(String(128), index=True)
    sheet_sha256: Mapped[str] = mapped_column(ForeignKey("sheets.sha256"))
    bench: Mapped[str | None] = mapped_column(String(64))
    running_hours: Mapped[float | None]
    """Of the pump's hour meter when it came in, as somebody read it off; never guessed."""
    state: Mapped[str] = mapped_column(String(16), index=True)
    opened_at: Mapped[datetime]
    opened_by: Mapped[int] = mapped_column(ForeignKey("accounts.id"))
    turn: Mapped[int] = mapped_column(Integer, default=1)
    """Rises with every change: whoever decides names the one that he saw, so that two cannot both."""
    sheet: Mapped[SheetText] = relationship(lazy="joined")
    recordings: Mapped[list[Recording]] = relationship(order_by="Recording.number")


class Recording(Table):
    """A stretch of sound of a job; a job over two shifts has several."""

    __tablename__ = "recordings"
    __table_args__ = (UniqueConstraint("job_id", "number"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    job_id: Mapped[str] = mapped_column(ForeignKey("jobs.id"), index=True)
    number: Mapped[int]
    """In the job, from 1."""
    account_id: Mapped[int] = mapped_column(ForeignKey("accounts.id"), index=True)
    """Who was signed in at the bench."""
    source: Mapped[str] = mapped_column(String(32))
    """browser, server_microphone or file."""
    settings: Mapped[dict[str, Any]]
    """As the browser said that its microphone is set."""
    folder: Mapped[str]
    """Where its journals lie, under the data folder."""
    begun_at: Mapped[datetime]
    ended_at: Mapped[datetime | None]
    sound_sha256: Mapped[str | None] = mapped_column(String(64))
    """What stays of the sound once its retention is over."""
    sound_gone_at: Mapped[datetime | None]
    chatter_gone_at: Mapped[datetime | None]
    """From then on what was not said about the job is silence in it."""
    erase_asked_at: Mapped[datetime | None]
    """Its sound goes as soon as the job is signed, whatever the period."""


class Draft(Table):
    """A job's record as extraction made it, unreviewed; a newer one never replaces an older."""

    __tablename__ = "drafts"
    __table_args__ = (UniqueConstraint("job_id", "number"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    job_id: Mapped[str] = mapped_column(ForeignKey("jobs.id"), index=True)
    number: Mapped[int]
    record: Mapped[str]
    """JSON of the contract."""
    rules_sha256: Mapped[str] = mapped_column(String(64))
    sheet_sha256: Mapped[str | None] = mapped_column(String(64))
    """Of the sheet that it was read by; None in drafts from before this was kept: their job's."""
    made_at: Mapped[datetime]


class Review(Table):
    """What a person decided about an entry of a draft; the last one about an entry stands."""

    __tablename__ = "reviews"

    id: Mapped[int] = mapped_column(primary_key=True)
    job_id: Mapped[str] = mapped_column(ForeignKey("jobs.id"), index=True)
    draft_id: Mapped[int] = mapped_column(ForeignKey("drafts.id"))
    entry: Mapped[str] = mapped_column(String(128))
    """Id of the entry in the draft."""
    kind: Mapped[str] = mapped_column(String(16))
    """accepted, corrected, struck, returned, disposed or added."""
    was: Mapped[dict[str, Any] | None]
    """The entry as the draft has it."""
    now: Mapped[dict[str, Any] | None]
    """The fields that it gets."""
    remark: Mapped[str | None]
    by: Mapped[int] = mapped_column(ForeignKey("accounts.id"))
    at: Mapped[datetime]


class JobEvent(Table):
    """A link of the chain of what happened to a job."""

    __tablename__ = "job_events"
    __table_args__ = (UniqueConstraint("job_id", "number"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    job_id: Mapped[str] = mapped_column(ForeignKey("jobs.id"), index=True)
    number: Mapped[int]
    at: Mapped[str] = mapped_column(String(40))
    """As it is hashed."""
    by: Mapped[str | None]
    """Shown name and account, as it is hashed."""
    kind: Mapped[str] = mapped_column(String(32))
    payload: Mapped[str]
    """Canonical JSON, as it is hashed."""
    previous: Mapped[str] = mapped_column(String(64))
    sha256: Mapped[str] = mapped_column(String(64))


class Revision(Table):
    """A signed record; never changed. A later one names it."""

    __tablename__ = "revisions"
    __table_args__ = (UniqueConstraint("job_id", "number"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    job_id: Mapped[str] = mapped_column(ForeignKey("jobs.id"), index=True)
    number: Mapped[int]
    signed: Mapped[bytes] = mapped_column(LargeBinary)
    """The signed record, as it was written."""
    document: Mapped[bytes] = mapped_column(LargeBinary)
    """The signed PDF."""
    sha256: Mapped[str] = mapped_column(String(64))
    signed_by: Mapped[int] = mapped_column(ForeignKey("accounts.id"))
    signed_at: Mapped[datetime]
