"""Lessons as SQLAlchemy maps them: clips by their place in a job's sound; the archive may be made anew."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import Float, ForeignKey, String
from sqlalchemy.orm import Mapped, mapped_column, relationship

from api.store.tables import Table


class Lesson(Table):
    """A lesson that a trainer put together."""

    __tablename__ = "lessons"

    id: Mapped[int] = mapped_column(primary_key=True)
    title: Mapped[str] = mapped_column(String(200))
    notes: Mapped[str]
    made_by: Mapped[int] = mapped_column(ForeignKey("accounts.id"))
    made_at: Mapped[datetime]
    closed_at: Mapped[datetime | None]
    """Put away; nobody is shown it any more."""
    clips: Mapped[list[LessonClip]] = relationship(order_by="LessonClip.place", cascade="all, delete-orphan")


class LessonClip(Table):
    """A clip of a lesson; its words are looked up when it is shown, and never kept twice."""

    __tablename__ = "lesson_clips"

    id: Mapped[int] = mapped_column(primary_key=True)
    lesson_id: Mapped[int] = mapped_column(ForeignKey("lessons.id"), index=True)
    place: Mapped[int]
    """In the lesson, from 1."""
    job_id: Mapped[str] = mapped_column(ForeignKey("jobs.id"), index=True)
    recording: Mapped[str] = mapped_column(String(16))
    """Number in the job, three digits."""
    start_s: Mapped[float] = mapped_column(Float)
    """Seconds from the start of the recording."""
    end_s: Mapped[float] = mapped_column(Float)
    good: Mapped[bool]
    """How it is done well; else what went wrong."""
    note: Mapped[str]
    added_by: Mapped[int] = mapped_column(ForeignKey("accounts.id"))
    added_at: Mapped[datetime]
