"""What was photographed, found: by part, pump, type, stage, month and technician, by words, newest first.

Most pictures are taken by a press and have no words: they are looked for by what they are of, and by what the
same record says of that part (what it was found like, what was done with it, how it deviates).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

from sqlalchemy import ColumnElement, Select, and_, exists, func, not_, or_, select, union_all
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
    walked = _walked(session, wanted, told, before, few)
    # Found by what is said of a part, a picture takes a look at its record: so many are looked at at once.
    rare = wanted.condition or wanted.action or wanted.deviation or any(one.conditions for one in told)
    bounded = bool(rare) and few is None and not (wanted.pump_tag or wanted.technician)
    asked = _asked(session, wanted, told, walked.limit(LATELY) if bounded else walked, bounded=bounded)
    # Added to, it has no index: for a few records PostgreSQL would go back through all pictures there are.
    place = asked.selected_columns[0] if few is None else asked.selected_columns[0] + 0
    asked = asked.order_by(place.desc()).limit(max(page, look_at) + 1)
    rows = session.execute(asked).all()
    newest = tuple(Pictured(row[0], *(one or "" for one in row[1:])) for row in rows)
    older = newest[page - 1].entry_id if len(newest) > page else None
    if bounded and older is None:
        older = session.scalar(walked.offset(LATELY - 1).limit(1))
    return FoundPictures(_hits(session, [one.entry_id for one in newest[:page]]), older, newest)


def _walked(
    session: Session, wanted: Search, told: Sequence[Told], before: int | None, few: Sequence[int] | None
) -> Select[Any]:
    """Return the pictures, newest first, by what an index of them alone knows, or of a few records."""
    picture: Any = ArchivedEntry if few is None else _photos_of(session, few)
    walked: Select[Any] = select(picture.id, picture.part, picture.stage, picture.record_id)
    walked = walked.where(is_picture(picture))
    if before is not None:
        walked = walked.where(picture.id < before)
    if wanted.part:
        walked = walked.where(picture.part == wanted.part)
    if wanted.stage:
        walked = walked.where(picture.stage == wanted.stage)
    apart: frozenset[str] = frozenset()
    for one in told:
        if one.conditions:
            continue
        if not apart and len(one.parts) > 1 and one.wanted and not one.stage and _by_parts(session, few):
            apart = one.parts
            continue
        met = or_(*_any_of(one, picture))
        walked = walked.where(met if one.wanted else not_(met))
    if apart:
        ordered = walked.order_by(picture.id.desc()).offset(0)
        each = [select(*ordered.where(picture.part == part).subquery().c) for part in sorted(apart)]
        walked = select(*union_all(*each).subquery("of_parts").c)
    return walked if few is not None else walked.order_by(walked.selected_columns[0].desc())


def _photos_of(session: Session, few: Sequence[int]) -> Any:
    """Return what was photographed in a few records, on PostgreSQL, by the index of what each is made of.

    Of the index of pictures it would compare the record of each that there is.
    """
    photo = ArchivedEntry
    columns = (photo.id, photo.part, photo.stage, photo.record_id, photo.kind, photo.picture, photo.fate)
    these = is_among(session, photo.record_id, few)
    return select(*columns).where(these, photo.kind == "photo").offset(0).subquery("photos").c


def _by_parts(session: Session, few: Sequence[int] | None) -> bool:
    """Tell whether the pictures of several parts are taken part by part: on PostgreSQL, of all records.

    Of several parts at once it takes and sorts all pictures that there are; each by itself comes out of the
    index in its order.
    """
    return few is None and session.get_bind().dialect.name == "postgresql"


def _asked(
    session: Session, wanted: Search, told: Sequence[Told], walked: Select[Any], *, bounded: bool
) -> Select[Any]:
    """Return which of the pictures are of the records that are wanted, and are found as it is wanted."""
    record, oldest = ArchivedRecord, None
    picture: Any
    if bounded and session.get_bind().dialect.name == "postgresql":
        looked_at = walked.cte("picture")
        # Of what was found, more every year, it compares what records say that are no older.
        picture, oldest = looked_at.c, select(func.min(looked_at.c.record_id)).scalar_subquery()
    else:
        picture = walked.subquery("picture").c
    asked: Select[Any] = select(picture.id).add_columns(
        picture.part, picture.stage, record.pump_type, record.month, record.technician
    )
    asked = asked.join(record, record.id == picture.record_id)
    asked = asked.where(record.stands, *of_record(session, wanted))
    for kind, what in (
        ("condition", wanted.condition), ("part", wanted.action), ("deviation", wanted.deviation),
    ):  # fmt: skip
        if what:
            asked = asked.where(_said_of_it(picture, kind, [what], oldest))
    for one in told:
        if one.conditions:
            met = or_(*_any_of(one, picture, oldest))
            asked = asked.where(met if one.wanted else not_(met))
    return asked


def _any_of(one: Told, picture: Any, oldest: Any = None) -> list[ColumnElement[bool]]:
    found: list[ColumnElement[bool]] = []
    if one.parts:
        # Of a picture that nobody named it can be said that it is not of a part.
        found.append(and_(picture.part.is_not(None), picture.part.in_(sorted(one.parts))))
    if one.conditions:
        found.append(_said_of_it(picture, "condition", sorted(one.conditions), oldest))
    if one.stage:
        found.append(picture.stage == one.stage)
    return found


def _said_of_it(picture: Any, kind: str, whats: Sequence[str], oldest: Any) -> ColumnElement[bool]:
    """Return the condition that the picture's record says one of some things of the part in it."""
    other = aliased(ArchivedEntry)
    # Of the pictures that are looked at at once, so that whether it begins with what was found or looks it up
    # picture by picture, a database reads no more than one index of either.
    said = exists().where(
        is_finding(other), other.record_id == picture.record_id, other.kind == kind, other.what.in_(whats),
        other.part == picture.part,
    )  # fmt: skip
    return said if oldest is None else said.where(other.record_id >= oldest)


def _hits(session: Session, ids: Sequence[int]) -> list[PictureHit]:
    asked = (
        select(ArchivedEntry, ArchivedRecord)
        .join(ArchivedRecord, ArchivedRecord.id == ArchivedEntry.record_id)
        .where(is_among(session, ArchivedEntry.id, ids))
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
