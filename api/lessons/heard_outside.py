"""Sound outside the review of a job, for whoever learns of it: only where everybody in it agreed to that.

The notice on recording says that whoever reads or reviews a record hears its sound. Search and lessons play
it for another end, so that the answer on being heard in lessons decides, for every second anew; of
recordings from before somebody must have stated that all agreed.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from sqlalchemy import select
from sqlalchemy.orm import Session

from api.archive.past_sound import past_sound_folder
from api.lessons.behind import Clip
from api.lessons.speakers import all_agreed, recording_number, speakers
from api.lessons.voices_agreed import sound_agreed
from api.store.archive_tables import ArchivedRecord
from api.store.past_voices import stated_of
from api.store.tables import Recording
from shared.errors import ConsentMissing, NotKept


def heard_where_agreed(session: Session, data_folder: Path, clips: Sequence[Clip]) -> list[Clip]:
    """Return clips that know whether a page offers their sound.

    Args:
        session: one that reads.
        data_folder: where the sound of recordings from before may lie.
        clips: behind a figure.
    """
    heard = sound_agreed(session, {one.job_id for one in clips if one.job_id})
    stated = stated_of(session, {one.source for one in clips if not one.job_id})
    return [
        replace(
            one,
            agreed=(one.job_id, one.recording) in heard
            if one.job_id
            else one.source in stated and past_sound_folder(data_folder, one.source) is not None,
        )
        for one in clips
    ]


def folder_to_hear(
    session: Session, data_folder: Path, record_id: int, recording: str, start_s: float, end_s: float
) -> Path:
    """Return the folder whose sound may be heard by whoever learns.

    Args:
        session: one that reads.
        data_folder: of the shop.
        record_id: in the archive.
        recording: its number in the job, as text; of a recording from before anything.
        start_s: seconds from its beginning.
        end_s: likewise.

    Raises:
        NotKept: there is no such sound here.
        ConsentMissing: not everybody in it agreed.
    """
    record = session.get(ArchivedRecord, record_id)
    if record is None:
        raise NotKept("there is no such record in the archive")
    if record.job_id is None:
        folder = past_sound_folder(data_folder, record.source)
        if folder is None:
            raise NotKept("the sound of this record is not kept here")
        _check(bool(stated_of(session, [record.source])))
        return folder
    number = recording_number(recording)
    row = session.scalar(
        select(Recording).where(Recording.job_id == record.job_id, Recording.number == number)
    )
    if row is None or row.sound_gone_at is not None:
        raise NotKept("the sound of this record is not kept here")
    _check(all_agreed(session, speakers(session, record.job_id, recording, start_s, end_s)))
    return data_folder / row.folder


def _check(agreed: bool) -> None:
    # Never who: that would tell who did not agree.
    if not agreed:
        raise ConsentMissing(
            "not everybody who is heard here agreed that lessons use his voice",
            remedy="read the words; a reviewer hears the sound in the job's review",
        )
