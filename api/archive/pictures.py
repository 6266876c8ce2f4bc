"""What was photographed, found: by part, pump, type, stage, month and technician, by words, newest first.

Most pictures are taken by a press and have no words: they are looked for by what they are of, and by what the
same record says of that part (what it was found like, what was done with it, how it deviates).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

from sqlalchemy import ColumnElement, Select, and_, exists, not_, or_, select
from sqlalchemy.orm import Session, aliased, defer

from api.archive.full_text import is_among
from api.archive.picture_words import Told, told_of_pictures
from api.archive.search_words import terms_of
from api.archive.searching import Search, few_records, is_answerable, of_record
from api.lessons.voices_agreed import sound_agreed
from api.store.archive_tables import ArchivedEntry, ArchivedRecord, is_finding, is_picture
from api.store.past_voices import stated_of

#: So many stand above what was said; so many on a page of their own.
STRIP, PICTURES = 8, 48
#: So many of the newest are looked at for facets; to find more of something rare takes longer.
LOOKED_AT = 100
#: Of so many of the newest pictures it is asked at once what their records say of the part; a page of older
#: ones goes on from there.
LATELY = 10_000


@dataclass(frozen=True)
class PictureHit:
    """One picture, and in whose record."""

    entry: ArchivedEntry
    record: ArchivedRecord
    sound: bool
    """What was said around it may be heard outside review; see :class:`api.archive.searching.Hit`."""


@dataclass(frozen=True)
class Pictured:
    """What a picture is of, for facets."""

    entry_id: int
    """In the archive."""
    part: str
    stage: str
    pump_type: str
    month: str
    technician: str


@dataclass(frozen=True)
class FoundPictures:
    """A page of pictures, the newest filed first."""

    hits: list[PictureHit] = field(default_factory=list)
    older: int | None = None
    """Where the next page begins, which may hold more or nothing; None where this is the last."""
    newest: tuple[Pictured, ...] = ()
    """Of this page and after it, as many as were looked at."""


def pictures_found(
    session: Session, wanted: Search, *, before: int | None = None, page: int = STRIP, look_at: int = 0
) -> FoundPictures:
    """Return the pictures that meet a search.

    Args:
        session: of the archive.
        wanted: words and facets; of words each is to be met by the part, by what it was found like or by the
            stage.
        before: where the page begins, as the page before told; None for the first.
        page: how many pictures at most.
        look_at: of how many more it is told what they are of.
    """
    terms = terms_of(wanted.words)
    if wanted.item or not is_answerable(wanted, terms):
        return FoundPictures()  # nobody photographs a reading
    told = told_of_pictures(session, terms) if terms else []
    if told is None:
        return FoundPictures()
    few = few_records(session, wanted)
    walked = _walked(wanted, told, before, few)
    # Found by what is said of a part, a picture takes a look at its record: so many are looked at at once.
    rare = wanted.condition or wanted.action or wanted.deviation or any(one.conditions for one in told)
    bounded = bool(rare) and few is None and not (wanted.pump_tag or wanted.technician)
    asked = _asked(session, wanted, told, walked.limit(LATELY) if bounded else walked)
    # Added to, it has no index: for a few records PostgreSQL would go back through all pictures there are.
    place = asked.selected_columns[0] if few is None else asked.selected_columns[0] + 0
    asked = asked.order_by(place.desc())
    rows = session.execute(asked.limit(max(page, look_at) + 1)).all()
    newest = tuple(Pictured(row[0], *(one or "" for one in row[1:])) for row in rows)
    older = newest[page - 1].entry_id if len(newest) > page else None
    if bounded and older is None:
        older = session.scalar(walked.with_only_columns(ArchivedEntry.id).offset(LATELY - 1).limit(1))
    return FoundPictures(_hits(session, [one.entry_id for one in newest[:page]]), older, newest)


def _walked(
    wanted: Search, told: Sequence[Told], before: int | None, few: Sequence[int] | None
) -> Select[Any]:
    """Return the pictures, newest first, by what an index of them alone knows, or of a few records."""
    picture = ArchivedEntry
    walked: Select[Any] = select(picture.id).add_columns(picture.part, picture.stage, picture.record_id)
    walked = walked.where(is_picture())
    if before is not None:
        walked = walked.where(picture.id < before)
    if wanted.part:
        walked = walked.where(picture.part == wanted.part)
    if wanted.stage:
        walked = walked.where(picture.stage == wanted.stage)
    for one in told:
        if not one.conditions:
            met = or_(*_any_of(one, picture))
            walked = walked.where(met if one.wanted else not_(met))
    if few is not None:
        return walked.where(is_among(picture.record_id, few))
    return walked.order_by(picture.id.desc())


def _asked(session: Session, wanted: Search, told: Sequence[Told], walked: Select[Any]) -> Select[Any]:
    """Return which of the pictures are of the records that are wanted, and are found as it is wanted."""
    picture, record = walked.subquery("picture").c, ArchivedRecord
    asked: Select[Any] = select(picture.id).add_columns(
        picture.part, picture.stage, record.pump_type, record.month, record.technician
    )
    asked = asked.join(record, record.id == picture.record_id)
    asked = asked.where(record.stands, *of_record(session, wanted))
    for kind, what in (
        ("condition", wanted.condition), ("part", wanted.action), ("deviation", wanted.deviation),
    ):  # fmt: skip
        if what:
            asked = asked.where(_said_of_it(picture, kind, [what]))
    for one in told:
        if one.conditions:
            met = or_(*_any_of(one, picture))
            asked = asked.where(met if one.wanted else not_(met))
    return asked


def _any_of(one: Told, picture: Any) -> list[ColumnElement[bool]]:
    found: list[ColumnElement[bool]] = []
    if one.parts:
        # Of a picture that nobody named it can be said that it is not of a part.
        found.append(and_(picture.part.is_not(None), picture.part.in_(sorted(one.parts))))
    if one.conditions:
        found.append(_said_of_it(picture, "condition", sorted(one.conditions)))
    if one.stage:
        found.append(picture.stage == one.stage)
    return found


def _said_of_it(picture: Any, kind: str, whats: Sequence[str]) -> ColumnElement[bool]:
    """Return the condition that the picture's record says one of some things of the part in it."""
    other = aliased(ArchivedEntry)
    # Of the pictures that are looked at at once, so that whether it begins with what was found or looks it up
    # picture by picture, a database reads no more than one index of either.
    return exists().where(
        is_finding(other), other.record_id == picture.record_id, other.kind == kind, other.what.in_(whats),
        other.part == picture.part,
    )  # fmt: skip


def _hits(session: Session, ids: Sequence[int]) -> list[PictureHit]:
    asked = (
        select(ArchivedEntry, ArchivedRecord)
        .join(ArchivedRecord, ArchivedRecord.id == ArchivedEntry.record_id)
        .where(ArchivedEntry.id.in_(ids))
        .order_by(ArchivedEntry.id.desc())
        # Each is a hundred times as long as all that is asked for.
        .options(defer(ArchivedRecord.record, raiseload=True), defer(ArchivedRecord.counted, raiseload=True))
    )
    rows = session.execute(asked).all() if ids else []
    heard = sound_agreed(session, {record.job_id for _, record in rows if record.job_id})
    stated = stated_of(session, {record.source for _, record in rows if not record.job_id})
    return [
        PictureHit(
            entry, record,
            (record.job_id, entry.recording) in heard if record.job_id else record.source in stated,
        )
        for entry, record in rows
    ]  # fmt: skip
