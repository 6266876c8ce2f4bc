"""Lessons put together of clips: made, filled, put in order, put away."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import select
from sqlalchemy.orm import Session

from api.office.clips import LONGEST_S
from api.store.jobs import job_of
from api.store.lesson_tables import Lesson, LessonClip
from api.store.tables import Account
from shared.errors import DecisionRefused, NotKept

#: A lesson that is longer nobody hears to its end; and all of it is joined at once.
MOST_CLIPS = 60


@dataclass(frozen=True)
class ChosenClip:
    """A clip that is to go into a lesson."""

    job_id: str
    recording: str
    """Number in the job, three digits."""
    start_s: float
    end_s: float
    good: bool
    note: str = ""


def open_lessons(session: Session) -> Sequence[Lesson]:
    """Return the lessons that are not put away, newest first."""
    query = select(Lesson).where(Lesson.closed_at.is_(None)).order_by(Lesson.id.desc())
    return session.scalars(query).all()


def lesson_of(session: Session, lesson_id: int) -> Lesson:
    """Return a lesson.

    Raises:
        NotKept: there is none, or it was put away.
    """
    found = session.get(Lesson, lesson_id)
    if found is None or found.closed_at is not None:
        raise NotKept(f"there is no lesson {lesson_id}")
    return found


def make_lesson(session: Session, title: str, *, by: Account, now: datetime) -> Lesson:
    """Begin a lesson.

    Raises:
        DecisionRefused: it has no title.
    """
    if not title.strip():
        raise DecisionRefused("a lesson without a title", expected="what it is about")
    made = Lesson(title=title.strip()[:200], notes="", made_by=by.id, made_at=now)
    session.add(made)
    session.flush()
    return made


def add_clip(
    session: Session, lesson: Lesson, chosen: ChosenClip, *, by: Account, now: datetime
) -> LessonClip:
    """Add a clip at the end of a lesson; one that it holds already is the one that is there.

    Raises:
        DecisionRefused: no such clip, too long, or the lesson is full.
        NotKept: there is no such job or recording.
    """
    for one in lesson.clips:
        if (one.job_id, one.recording, one.start_s) == (chosen.job_id, chosen.recording, chosen.start_s):
            return one
    if not 0 <= chosen.start_s < chosen.end_s or chosen.end_s - chosen.start_s > LONGEST_S:
        raise DecisionRefused(
            f"a clip from {chosen.start_s:g} to {chosen.end_s:g} s", expected=f"at most {LONGEST_S:g} s"
        )
    if len(lesson.clips) >= MOST_CLIPS:
        raise DecisionRefused(f"the lesson holds {MOST_CLIPS} clips already", remedy="begin another one")
    job = job_of(session, chosen.job_id)
    if chosen.recording not in {f"{one.number:03d}" for one in job.recordings}:
        raise NotKept(f"this job has no recording {chosen.recording!r}")
    made = LessonClip(
        place=max((one.place for one in lesson.clips), default=0) + 1, job_id=job.id,
        recording=chosen.recording, start_s=chosen.start_s, end_s=chosen.end_s, good=chosen.good,
        note=chosen.note.strip(), added_by=by.id, added_at=now,
    )  # fmt: skip
    lesson.clips.append(made)
    session.flush()
    return made


def change_clip(session: Session, lesson: Lesson, clip_id: int, *, act: str, note: str, good: bool) -> None:
    """Keep a clip's note, move it, or take it out.

    Args:
        session: one that writes.
        lesson: that holds it.
        clip_id: of the clip.
        act: keep, earlier, later or remove.
        note: kept, whatever the act.
        good: likewise.

    Raises:
        NotKept: the lesson holds no such clip.
        DecisionRefused: no such act.
    """
    order = list(lesson.clips)
    at = next((n for n, one in enumerate(order) if one.id == clip_id), None)
    if at is None:
        raise NotKept(f"this lesson holds no clip {clip_id}")
    order[at].note, order[at].good = note.strip(), good
    if act == "remove":
        lesson.clips.remove(order.pop(at))
    elif act in ("earlier", "later"):
        to = min(len(order) - 1, max(0, at + (1 if act == "later" else -1)))
        order.insert(to, order.pop(at))
    elif act != "keep":
        raise DecisionRefused(f"there is no act {act!r}", expected="keep, earlier, later or remove")
    for place, one in enumerate(order, start=1):
        one.place = place
    session.flush()
