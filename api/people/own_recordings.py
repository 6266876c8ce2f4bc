"""What a person recorded: shown, exported as one ZIP file, asked to be erased."""

from __future__ import annotations

import json
import zipfile
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any, Literal

from sqlalchemy import select
from sqlalchemy.orm import Session

from api.captions import captions
from api.heard_journal import kept_talk
from api.listening import HEARD_JOURNAL, SOUND_JOURNAL
from api.people.wave_stream import wave_pieces
from api.store.job_events import note, who
from api.store.tables import Account, BenchJob, Consent, NoticeText, Recording
from shared.errors import JournalError

SoundState = Literal["kept", "silenced", "erased", "to be erased", "none"]


@dataclass(frozen=True)
class Held:
    """One recording that a person was signed in for."""

    job_id: str
    work_order: str
    job_state: str
    number: int
    folder: str
    begun_at: datetime
    ended_at: datetime | None
    sound: SoundState
    sound_sha256: str | None


def recordings_by(session: Session, folder: Path, account_id: int) -> list[Held]:
    """Return what a person recorded, oldest first.

    Args:
        session: any.
        folder: data folder.
        account_id: whose.
    """
    rows = session.execute(
        select(Recording, BenchJob)
        .join(BenchJob, BenchJob.id == Recording.job_id)
        .where(Recording.account_id == account_id)
        .order_by(Recording.begun_at, Recording.id)
    )
    return [
        Held(
            job_id=job.id, work_order=job.work_order, job_state=job.state, number=row.number,
            folder=row.folder, begun_at=row.begun_at, ended_at=row.ended_at, sound=_state(row, folder),
            sound_sha256=row.sound_sha256,
        )
        for row, job in rows
    ]  # fmt: skip


def ask_erasure(session: Session, account: Account, *, by: Account | None, now: datetime) -> int:
    """Have the sound of all that a person recorded go, as soon as its job is signed; return of how many.

    Args:
        session: one that writes.
        account: whose recordings.
        by: who keeps the accounts; None at the console.
        now: the moment.
    """
    rows = session.scalars(
        select(Recording).where(
            Recording.account_id == account.id,
            Recording.sound_gone_at.is_(None),
            Recording.erase_asked_at.is_(None),
        )
    ).all()
    for row in rows:
        row.erase_asked_at = now
        payload = {"recording": row.number, "of": who(account)}
        note(session, row.job_id, "erasure_asked", payload, by=by, now=now)
    return len(rows)


def note_export(
    session: Session, account: Account, held: Sequence[Held], *, by: Account | None, now: datetime
) -> None:
    """Write into the chain of each job that a person's recordings were handed out, and to whom."""
    for one in held:
        payload = {"what": "recording", "recording": one.number, "of": who(account)}
        note(session, one.job_id, "exported", payload, by=by, now=now)


def about(session: Session, account: Account, held: Sequence[Held]) -> dict[str, Any]:
    """Return what is kept of a person besides signed records, as JSON."""
    answers = session.execute(
        select(Consent, NoticeText)
        .join(NoticeText, NoticeText.sha256 == Consent.notice_sha256)
        .where(Consent.account_id == account.id)
        .order_by(Consent.id)
    )
    return {
        "account": {"name": account.name, "shown_name": account.shown_name, "roles": account.roles},
        "answers": [
            {"at": answer.at.isoformat(), "agreed": answer.agreed, "notice": notice.text}
            for answer, notice in answers
        ],
        "recordings": [
            {
                "job": one.job_id, "work_order": one.work_order, "recording": one.number,
                "begun_at": one.begun_at.isoformat(), "sound": one.sound, "sound_sha256": one.sound_sha256,
            }
            for one in held
        ],
        "stays": "entries of signed records, with their words and this name: others rely on them",
    }  # fmt: skip


def export_pieces(folder: Path, told: dict[str, Any], held: Sequence[Held]) -> Iterator[bytes]:
    """Yield a ZIP file piece by piece: about.json, and of each recording its sound and its kept words.

    Args:
        folder: data folder.
        told: of :func:`about`.
        held: the recordings.
    """
    out = _Pieces()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_STORED, allowZip64=True) as archive:
        archive.writestr("about.json", json.dumps(told, indent=2, ensure_ascii=False) + "\n")
        for one in held:
            place, name = folder / one.folder, f"{one.job_id}-{one.number:03d}"
            talk = kept_talk(place / HEARD_JOURNAL)
            if talk:
                archive.writestr(f"{name}.vtt", captions(talk))
            if (place / SOUND_JOURNAL).exists():
                try:
                    with archive.open(f"{name}.wav", "w", force_zip64=True) as file:
                        for piece in wave_pieces(place / SOUND_JOURNAL):
                            file.write(piece)
                            yield out.taken()
                except JournalError:
                    # Damaged: the rest can be had all the same, and about.json names the recording.
                    continue
            yield out.taken()
    yield out.taken()


def _state(row: Recording, folder: Path) -> SoundState:
    if row.sound_gone_at is not None:
        return "erased"
    if not (folder / row.folder / SOUND_JOURNAL).exists():
        return "none"
    if row.erase_asked_at is not None:
        return "to be erased"
    return "silenced" if row.chatter_gone_at is not None else "kept"


class _Pieces:
    """A file that is only written to; what was written is taken out piece by piece."""

    def __init__(self) -> None:
        self._buffer = bytearray()

    def write(self, data: bytes) -> int:
        """Take in."""
        self._buffer += data
        return len(data)

    def flush(self) -> None:
        """Do nothing: whoever reads takes out himself."""

    def close(self) -> None:
        """Do nothing likewise."""

    def taken(self) -> bytes:
        """Return what was written since."""
        data = bytes(self._buffer)
        self._buffer.clear()
        return data
