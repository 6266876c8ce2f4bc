"""How long sound is kept: what is over its period goes, its hash stays, and the job's chain tells it.

Each step can be broken off at any moment and done again: the row and the event are committed first, the file
goes after, and what a crash left between the two is finished by the next pass.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from api.archive.signed_jobs import drop_unquoted
from api.listening import HEARD_JOURNAL, SOUND_JOURNAL
from api.people.silencing import QUIET_JOURNAL, Span, make_quiet, put_in_place
from api.people.sound_sum import sound_sum
from api.store.database import Database
from api.store.drafts import drafts_of, record_of
from api.store.job_events import note
from api.store.tables import BenchJob, Recording, Revision
from capture.sound_blocks import RATE_HZ
from shared.settings import Settings


@dataclass(frozen=True)
class Passed:
    """What one pass did."""

    erased: int = 0
    """Recordings whose sound went."""
    silenced: int = 0
    """Recordings in which chatter was silenced."""


@dataclass(frozen=True)
class _Signed:
    """A recording of a signed job."""

    id: int
    folder: Path
    signed_at: datetime
    gone: bool
    silenced: bool
    asked: bool


class Retention:
    """The rules of a shop, applied.

    Args:
        database: of the shop.
        folder: data folder.
        settings: of the shop.
    """

    def __init__(self, database: Database, folder: Path, settings: Settings) -> None:
        self._database, self._folder, self._settings = database, folder, settings

    def apply(self, now: datetime, *, account_id: int | None = None) -> Passed:
        """Do whatever is due; a second time there is nothing to do.

        Only recordings of jobs that are signed are touched: until then a reviewer has to hear them.

        Args:
            now: the moment.
            account_id: only what this person recorded.

        Raises:
            JournalFull: the disk took no more.
            StoreBusy: another process holds the database.
        """
        erased = silenced = 0
        for one in self._signed(account_id):
            if one.gone:
                _remove_sound(one.folder)
            elif one.asked or self._is_over(one, now):
                erased += self._erase(one, now)
            elif one.silenced:
                put_in_place(one.folder)
            elif not self._settings.chatter_sound_kept and (one.folder / SOUND_JOURNAL).exists():
                silenced += self._silence(one, now)
        return Passed(erased, silenced)

    def _is_over(self, one: _Signed, now: datetime) -> bool:
        days = self._settings.sound_kept_days
        return days is not None and now >= one.signed_at + timedelta(days=days)

    def _erase(self, one: _Signed, now: datetime) -> bool:
        found = sound_sum(one.folder)
        with self._database.writing() as session:
            row = _still_signed(session, one)
            if row is None:
                return False
            row.sound_sha256, row.sound_gone_at = found.sound_sha256, now
            payload = {
                "recording": row.number, **found.payload(), "why": "asked" if one.asked else "retention"
            }  # fmt: skip
            note(session, row.job_id, "sound_erased", payload, by=None, now=now)
            if one.asked:
                drop_unquoted(session, row.job_id, one.folder.name)
        _remove_sound(one.folder)
        if one.asked:
            # Words that no entry of the record holds are his alone.
            (one.folder / HEARD_JOURNAL).unlink(missing_ok=True)
        return True

    def _silence(self, one: _Signed, now: datetime) -> bool:
        before = sound_sum(one.folder)
        if before.sound_sha256 is None:
            return False
        if not make_quiet(one.folder, self._entries_of(one)):
            return False
        after = sound_sum(one.folder, QUIET_JOURNAL)
        with self._database.writing() as session:
            row = _still_signed(session, one)
            if row is None:
                return False
            row.chatter_gone_at = now
            payload = {
                "recording": row.number, "was_sha256": before.sound_sha256, "sound_sha256": after.sound_sha256
            }  # fmt: skip
            note(session, row.job_id, "chatter_erased", payload, by=None, now=now)
        put_in_place(one.folder)
        return True

    def _entries_of(self, one: _Signed) -> list[Span]:
        """Return where in a recording the entries of the job's drafts were said."""
        with self._database.reading() as session:
            row = session.get_one(Recording, one.id)
            drafts = drafts_of(session, row.job_id)
        said = [entry.evidence for draft in drafts for entry in record_of(draft).entries()]
        return [
            (round(evidence.start_s * RATE_HZ), round(evidence.end_s * RATE_HZ))
            for evidence in said
            if evidence.recording == one.folder.name and evidence.words
        ]

    def _signed(self, account_id: int | None) -> Sequence[_Signed]:
        last = select(func.max(Revision.signed_at)).where(Revision.job_id == BenchJob.id).scalar_subquery()
        wanted = (
            select(Recording, last)
            .join(BenchJob, BenchJob.id == Recording.job_id)
            .where(BenchJob.state == "signed", Recording.ended_at.is_not(None))
            .order_by(Recording.id)
        )
        if account_id is not None:
            wanted = wanted.where(Recording.account_id == account_id)
        with self._database.reading() as session:
            return [
                _Signed(
                    id=row.id, folder=self._folder / row.folder, signed_at=signed_at,
                    gone=row.sound_gone_at is not None, silenced=row.chatter_gone_at is not None,
                    asked=row.erase_asked_at is not None,
                )
                for row, signed_at in session.execute(wanted)
                if signed_at is not None
            ]  # fmt: skip


def _still_signed(session: Session, one: _Signed) -> Recording | None:
    """Return the row, unless somebody began a new revision meanwhile, or did the same."""
    row = session.get_one(Recording, one.id)
    job = session.get_one(BenchJob, row.job_id)
    return row if job.state == "signed" and row.sound_gone_at is None else None


def _remove_sound(folder: Path) -> None:
    """Remove the sound and whatever damage or a crash left of it."""
    for path in folder.glob(f"{SOUND_JOURNAL}*"):
        path.unlink(missing_ok=True)
