"""The archive searched: words and facets in, what was said and what was made of it out."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, field, fields, replace
from typing import Any

from sqlalchemy import ColumnElement, Select, and_, exists, select, text
from sqlalchemy.orm import Session, aliased, defer

from api.archive.full_text import (
    WORDS_VECTOR,
    holding,
    is_among,
    narrowed,
    newest_hits,
    rarely_together,
)
from api.archive.search_words import Term, terms_of
from api.lessons.voices_agreed import sound_agreed
from api.store.archive_tables import ArchivedEntry, ArchivedRecord, ArchivedUtterance
from api.store.past_voices import stated_of

#: Hits of a page.
PAGE = 50
#: All that was said in so many records is put into order in the time of a page.
FEW = 1_000
#: So many of them, the newest, are tried first, then more: what is said in each fills a page with them.
FIRST = (60, 240)


@dataclass(frozen=True)
class Search:
    """What is searched for; whatever is empty leaves all."""

    words: str = ""
    pump_type: str = ""
    pump_tag: str = ""
    part: str = ""
    item: str = ""
    condition: str = ""
    action: str = ""
    deviation: str = ""
    stage: str = ""
    technician: str = ""
    since: str = ""
    """First month, ``YYYY-MM``."""
    until: str = ""
    """Last month."""

    def is_empty(self) -> bool:
        """Tell whether nothing is asked for."""
        return not any(str(getattr(self, one.name)).strip() for one in fields(self))


@dataclass(frozen=True)
class Hit:
    """One thing said, in whose record, and what was made of it."""

    utterance: ArchivedUtterance
    record: ArchivedRecord
    entries: Sequence[ArchivedEntry]
    sound: bool
    """It may be heard outside review: its sound is kept and whoever made it agreed; of a recording from
    before somebody stated that all agreed."""


@dataclass(frozen=True)
class Found:
    """A page of hits, the newest filed first."""

    hits: list[Hit] = field(default_factory=list)
    terms: tuple[Term, ...] = ()
    older: int | None = None
    """Where the next page begins; None where this is the last."""
    newest: tuple[int, ...] = ()
    """Numbers of the utterances of the newest hits, of this page and after it, as many as were looked at."""


def search(
    session: Session, wanted: Search, *, before: int | None = None, page: int = PAGE, look_at: int = 0
) -> Found:
    """Return what was said that meets a search.

    Args:
        session: of the archive.
        wanted: words and facets.
        before: where the page begins, as the page before told; None for the first.
        page: how many hits at most.
        look_at: of how many more the number is told, for facets.
    """
    terms = terms_of(wanted.words)
    if not is_answerable(wanted, terms):
        return Found([], terms)
    rows = _rows(session, wanted, terms, before, max(page, look_at) + 1)
    # Two entries of one kind may come of one thing said.
    ids = list(dict.fromkeys(number for number, _ in rows[:page]))
    newest = tuple(dict.fromkeys(number for number, _ in rows))
    return Found(_hits(session, ids), terms, rows[page - 1][1] if len(rows) > page else None, newest)


def _rows(
    session: Session, wanted: Search, terms: Sequence[Term], before: int | None, most: int
) -> Sequence[tuple[int, int]]:
    """Return number and place of the newest hits, as many as are wanted."""
    few = few_records(session, wanted)
    if few is not None and (terms or not _of_made(wanted)):
        return _of_few(session, wanted, terms, few, before, most)
    # Without what is asked of entries, which an index of theirs knows.
    walked = bool(terms) and few is None and not _of_entries(wanted, ArchivedEntry)
    if walked:
        lately = newest_hits(session, terms, before, most, of_record(session, wanted))
        if lately is not None:
            return [(number, number) for number in lately]
    asked, place = _hits_of(session, wanted, terms, few)
    if before is not None:
        asked = asked.where(place < before)
    alone = replace(wanted, words="").is_empty()
    rare = rarely_together(session, terms, probe=not alone) if few is None else None
    if rare is not None:
        return _of_these(session, asked, [one for one in rare if before is None or one < before], most)
    rows = session.execute(asked.add_columns(place).order_by(place.desc()).limit(most))
    return [(number, at) for number, at in rows]


def _of_these(
    session: Session, asked: Select[Any], numbers: Sequence[int], most: int
) -> list[tuple[int, int]]:
    """Return the first of some utterances that meet a search, as many as are wanted."""
    found: list[tuple[int, int]] = []
    some = most + most // 4
    for start in range(0, len(numbers), some):
        these = asked.where(is_among(session, ArchivedUtterance.id, numbers[start : start + some]))
        hits = sorted(session.scalars(these), reverse=True)
        found += [(number, number) for number in hits[: most - len(found)]]
        if len(found) == most:
            break
    return found


def _of_few(
    session: Session,
    wanted: Search,
    terms: Sequence[Term],
    few: Sequence[int],
    before: int | None,
    most: int,
) -> list[tuple[int, int]]:
    """Return number and place of the newest hits in a few records, as many as are wanted."""
    ends = _by_their_ends(session, few)
    if before is not None:
        # All of a record is filed at once: of those that end behind the place only one can begin before it.
        ends = ends[max(0, sum(end >= before for _, end in ends) - 1) :]
    found: list[tuple[int, int]] = []
    start = 0
    for some in (*FIRST, len(ends)):
        asked, place = _said_in(session, wanted, terms, [one for one, _ in ends[start : start + some]])
        if before is not None:
            asked = asked.where(place < before)
        rows = session.execute(asked.add_columns(place).order_by(place.desc()).limit(most))
        found = sorted([*found, *((number, at) for number, at in rows)], key=lambda one: -one[1])[:most]
        start += some
        if start >= len(ends) or (len(found) == most and found[-1][1] > ends[start][1]):
            break
    return found


def _by_their_ends(session: Session, few: Sequence[int]) -> list[tuple[int, int]]:
    """Return records with the number of the last utterance of each, the newest such first."""
    said = ArchivedUtterance
    # Filed in the order in which it was said, the last has the highest number.
    last = select(said.id).where(said.record_id == ArchivedRecord.id).order_by(said.number.desc()).limit(1)
    asked = select(ArchivedRecord.id, last.scalar_subquery()).where(is_among(session, ArchivedRecord.id, few))
    ends = [(record, end) for record, end in session.execute(asked) if end is not None]
    return sorted(ends, key=lambda one: -one[1])


def few_records(session: Session, wanted: Search) -> list[int] | None:
    """Return the records whose sayings or pictures are searched for, where they had better lead.

    Args:
        session: of the archive.
        wanted: the search.

    Returns:
        All that meet what is wanted of a record; None where nothing is, where they are many, and on SQLite,
        whose planner begins with them by itself.
    """
    of_these = of_record(session, wanted)
    if not of_these or session.get_bind().dialect.name != "postgresql":
        return None
    asked = select(ArchivedRecord.id).where(ArchivedRecord.stands, *of_these).limit(FEW + 1)
    found = list(session.scalars(asked))
    return found if len(found) <= FEW else None


def is_answerable(wanted: Search, terms: Sequence[Term]) -> bool:
    """Tell whether a search asks for something; only signs, or only what is not to be there, do not.

    Args:
        wanted: the search.
        terms: of its words.
    """
    return any(term.wanted for term in terms) if wanted.words.strip() else not wanted.is_empty()


def _hits_of(
    session: Session, wanted: Search, terms: Sequence[Term], few: Sequence[int] | None
) -> tuple[Select[Any], ColumnElement[int]]:
    """Return the statement that gives the numbers of the utterances that meet a search, and its order.

    With words the index of words leads; without, the index of what entries are of; else the newest records.
    """
    asked = (
        select(ArchivedUtterance.id)
        .join(ArchivedRecord, ArchivedRecord.id == ArchivedUtterance.record_id)
        .where(ArchivedRecord.stands, *of_record(session, wanted))
    )
    besides = _besides(wanted, ArchivedUtterance)
    if terms:
        asked, place = narrowed(session, asked, terms)
        return asked.where(*besides), place
    if _of_made(wanted):
        asked = asked.join(ArchivedEntry, and_(*_of_it(ArchivedEntry, ArchivedUtterance)))
        asked = asked.where(_of_entries(wanted, ArchivedEntry)[0], *besides[1:])
        if few is not None:
            # Added to, it has no index: PostgreSQL would go back through all of a part.
            return asked.where(is_among(session, ArchivedEntry.record_id, few)), _ENTRY_ID + 0
        return asked, _ENTRY_ID
    return asked.where(*besides), _UTTERANCE_ID


def _of_made(wanted: Search) -> bool:
    """Tell whether something is asked of what was made of an utterance that an index knows."""
    return any((wanted.part, wanted.item, wanted.condition, wanted.action, wanted.deviation))


def _said_in(
    session: Session, wanted: Search, terms: Sequence[Term], few: Sequence[int]
) -> tuple[Select[Any], ColumnElement[int]]:
    """Return the same of a few records, put into order before it is looked at what was made of each."""
    said: Select[Any] = select(ArchivedUtterance.id).add_columns(
        ArchivedUtterance.record_id, ArchivedUtterance.number, (ArchivedUtterance.id + 0).label("place")
    )
    said = said.where(is_among(session, ArchivedUtterance.record_id, few)).order_by(text("place desc"))
    if terms:
        # Read without the index of words, which PostgreSQL would go all through for a common one.
        read = said.add_columns(WORDS_VECTOR.label("words_vector")).offset(0).subquery("read").c
        said = select(read.id).add_columns(read.record_id, read.number, read.place)
        said = said.order_by(read.place.desc()).where(*holding(session, terms, read.words_vector))
    ordered = said.offset(0).subquery("said").c
    return select(ordered.id).where(*_besides(wanted, ordered)), ordered.place


def _besides(wanted: Search, said: Any) -> list[ColumnElement[bool]]:
    other = aliased(ArchivedEntry)
    return [exists().where(*_of_it(other, said), one) for one in _of_entries(wanted, other)]


def of_record(session: Session, wanted: Search) -> list[ColumnElement[bool]]:
    """Return the conditions that a record meets whose sayings or pictures are searched for.

    Args:
        session: of the archive.
        wanted: the search.
    """
    found: list[ColumnElement[bool]] = []
    if wanted.pump_tag:
        found.append(ArchivedRecord.pump_tag == wanted.pump_tag)
    if wanted.technician:
        found.append(ArchivedRecord.technician == wanted.technician)
    if wanted.pump_type:
        # Of a type there is so much that the newest are found soonest by going back from the last; SQLite
        # would take all of it from its index and sort it. Where something else is rare, that leads.
        rare = wanted.pump_tag or wanted.since or wanted.until
        led = rare or session.get_bind().dialect.name == "postgresql"
        pump_type = ArchivedRecord.pump_type if led else ArchivedRecord.pump_type + ""
        found.append(pump_type == wanted.pump_type)
    if wanted.since:
        found.append(ArchivedRecord.month >= wanted.since)
    if wanted.until:
        found.append(and_(ArchivedRecord.month <= wanted.until, ArchivedRecord.month != ""))
    return found


def _of_entries(wanted: Search, entry: type[ArchivedEntry]) -> list[ColumnElement[bool]]:
    """Return the conditions that entries made of an utterance meet, each by any of them."""
    of_one: list[ColumnElement[bool]] = []
    if wanted.part:
        of_one += [entry.part == wanted.part, entry.kind != "missing"]
    if wanted.item:
        of_one += [entry.item == wanted.item, entry.kind != "missing"]
    if wanted.condition:
        of_one += [entry.what == wanted.condition, entry.kind == "condition"]
    elif wanted.action:
        of_one += [entry.what == wanted.action, entry.kind == "part"]
    if wanted.stage:
        of_one.append(entry.stage == wanted.stage)
    found = [and_(*of_one)] if of_one else []
    if wanted.condition and wanted.action:
        found.append(and_(entry.what == wanted.action, entry.kind == "part"))
    if wanted.deviation:
        found.append(and_(entry.what == wanted.deviation, entry.kind == "deviation"))
    return found


def _of_it(entry: type[ArchivedEntry], said: Any) -> tuple[ColumnElement[bool], ...]:
    return (entry.record_id == said.record_id, entry.utterance == said.number)


_ENTRY_ID: ColumnElement[int] = ArchivedEntry.__table__.c.id
_UTTERANCE_ID: ColumnElement[int] = ArchivedUtterance.__table__.c.id


def _hits(session: Session, ids: Sequence[int]) -> list[Hit]:
    """Return the hits of utterances, in their order, each with what stands of it."""
    if not ids:
        return []
    asked = (
        select(ArchivedUtterance, ArchivedRecord)
        .join(ArchivedRecord, ArchivedRecord.id == ArchivedUtterance.record_id)
        .where(is_among(session, ArchivedUtterance.id, ids))
        # Each is a hundred times as long as all that is asked for.
        .options(defer(ArchivedRecord.record, raiseload=True), defer(ArchivedRecord.counted, raiseload=True))
    )
    by_id = {said.id: (said, record) for said, record in session.execute(asked)}
    made = defaultdict(list)
    # By way of the utterances: for pairs of a record and a number SQLite would go through all entries.
    entries = (
        select(ArchivedEntry)
        .join(ArchivedUtterance, and_(*_of_it(ArchivedEntry, ArchivedUtterance)))
        .where(is_among(session, ArchivedUtterance.id, ids), ArchivedEntry.kind.not_in(("missing", "event")))
    )
    for entry in session.scalars(entries.order_by(ArchivedEntry.id)):
        made[entry.record_id, entry.utterance].append(entry)
    heard = sound_agreed(session, {record.job_id for _, record in by_id.values() if record.job_id})
    stated = stated_of(session, {record.source for _, record in by_id.values() if not record.job_id})
    return [
        Hit(
            said, record, made[said.record_id, said.number],
            (record.job_id, said.recording) in heard if record.job_id else record.source in stated,
        )
        for said, record in (by_id[one] for one in ids)
    ]  # fmt: skip
