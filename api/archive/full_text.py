"""Full text over what was said, on either kind of database."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any, cast

from sqlalchemy import (
    ARRAY,
    ColumnElement,
    Integer,
    Select,
    any_,
    column,
    func,
    literal,
    literal_column,
    select,
    table,
    text,
)
from sqlalchemy import cast as as_type
from sqlalchemy.dialects.postgresql import TSQUERY
from sqlalchemy.orm import Session

from api.archive.search_words import Phrase, Term
from api.store.archive_tables import ArchivedRecord, ArchivedUtterance

_WORDS = table("utterance_words", column("rowid", Integer))
_ID: ColumnElement[int] = ArchivedUtterance.__table__.c.id

#: Of a term that are looked for at most.
_MOST_FORMS = 24


def narrowed(
    session: Session, asked: Select[Any], terms: Sequence[Term]
) -> tuple[Select[Any], ColumnElement[int]]:
    """Return a statement over utterances narrowed to those that hold what is searched for.

    Words are compared by their stems (Porter's, English); words that only are not wanted find nothing.

    Args:
        session: of the archive.
        asked: a statement that selects from ``archived_utterances``.
        terms: at least one wanted; all are to be met by one utterance.

    Returns:
        The statement, and the column that is its utterances' number, by which it is put into order.
    """
    if session.get_bind().dialect.name == "postgresql":
        return asked.where(*holding(session, terms)), _ID
    # In the order of its own row numbers the index gives its finds one by one, until the page is full.
    query = text("utterance_words match :words_searched").bindparams(words_searched=_fts5(terms))
    joined = asked.join(_WORDS, _WORDS.c.rowid == ArchivedUtterance.id).where(query)
    return joined, _WORDS.c.rowid


def is_among(session: Session, column: Any, values: Iterable[Any]) -> ColumnElement[bool]:
    """Return the condition that a column is one of many values; on PostgreSQL they are one parameter.

    Hundreds of parameters cost this process and the driver more than the database the search.

    Args:
        session: of the database that is asked.
        column: of a table or a subquery.
        values: any, of the column's type.
    """
    if session.get_bind().dialect.name != "postgresql":
        return cast(ColumnElement[bool], column.in_(list(values)))
    return cast(ColumnElement[bool], column == any_(literal(list(values), ARRAY(column.type))))


def holding(
    session: Session, terms: Sequence[Term], vector: ColumnElement[Any] | None = None
) -> list[ColumnElement[bool]]:
    """Return the conditions, on PostgreSQL, that one utterance meets that holds what is searched for.

    One of each thing wanted: the index goes on from one that all may meet to the next, where of a single
    condition it would try every utterance that holds any word of it.

    Args:
        session: of the archive.
        terms: at least one wanted.
        vector: the words of what is read; of ``archived_utterances`` unless it is another's.
    """
    vector = WORDS_VECTOR if vector is None else vector
    return [vector.op("@@")(as_type(query, TSQUERY)) for query in _tsqueries(session, terms)]


WORDS_VECTOR: ColumnElement[Any] = literal_column("archived_utterances.words_vector")


def newest_hits(
    session: Session,
    terms: Sequence[Term],
    before: int | None,
    most: int,
    of_record: Sequence[ColumnElement[bool]] = (),
) -> list[int] | None:
    """Return the numbers of the newest utterances that hold words, where enough of them were said lately.

    PostgreSQL's index gives all that ever held them, in no order, and each is then looked at: what is said in
    every rebuild is found sooner by going back from the last. What is not, is left to the index.

    Args:
        session: of the archive.
        terms: at least one wanted.
        before: only older ones than this utterance; None for all.
        most: how many are wanted.
        of_record: what is wanted of their records as well.

    Returns:
        As many as are wanted, newest first, or None.
    """
    if session.get_bind().dialect.name != "postgresql":
        return None  # SQLite's index gives them in order
    found = list[int]()
    before = _behind_the_last(session) if before is None else before
    left = sum(LATELY)
    for some in LATELY:
        found += _among(session, terms, before, some, most - len(found), of_record)
        left, before = left - some, before - some
        if len(found) == most:
            return found
        if before <= 0 or len(found) * sum(LATELY) < most * (sum(LATELY) - left):
            return None  # too rare: the index has it sooner
    return None


#: So many utterances are looked at one by one, then more where the first promise a full page.
LATELY = (12_000, 48_000, 60_000, 60_000)


def _behind_the_last(session: Session) -> int:
    return 1 + (session.scalar(select(func.max(ArchivedUtterance.id))) or 0)


def _among(
    session: Session,
    terms: Sequence[Term],
    before: int,
    some: int,
    most: int,
    of_record: Sequence[ColumnElement[bool]] = (),
) -> list[int]:
    """Return the newest utterances that hold words among some before a number."""
    looked_at: Select[Any] = select(ArchivedUtterance.id).add_columns(
        ArchivedUtterance.record_id, WORDS_VECTOR.label("words_vector")
    )
    looked_at = looked_at.where(ArchivedUtterance.id >= before - some, ArchivedUtterance.id < before)
    # The offset keeps the planner, who cannot know which words are said together, from beginning with the
    # index.
    said = looked_at.order_by(ArchivedUtterance.id.desc()).offset(0).subquery("said")
    asked = select(said.c.id).join(ArchivedRecord, ArchivedRecord.id == said.c.record_id)
    asked = asked.where(ArchivedRecord.stands, *of_record, *holding(session, terms, said.c.words_vector))
    return list(session.scalars(asked.order_by(said.c.id.desc()).limit(most)))


def rarely_together(session: Session, terms: Sequence[Term], *, probe: bool) -> list[int] | None:
    """Return the numbers of all utterances that hold several things, newest first, where they are not many.

    PostgreSQL takes each for independent of the other: of "cracked" and "casing", both said every day and
    hardly ever together, it expects many and would go back through all that was ever said to find them.

    Args:
        session: of the archive.
        terms: of the words.
        probe: look at the last few first, unless it is known that hardly one of them holds the words.

    Returns:
        None where one thing alone is wanted, or more hold them than are looked up in the time of a page.
    """
    if session.get_bind().dialect.name != "postgresql" or sum(term.wanted for term in terms) < 2:
        return None
    if probe and len(_among(session, terms, _behind_the_last(session), LATELY[0], OFTEN)) == OFTEN:
        return None
    together = select(_ID).where(*holding(session, terms)).limit(RARELY + 1)
    session.execute(text("set local enable_seqscan = off"))  # for the same reason
    found = sorted(session.scalars(together), reverse=True)
    session.execute(text("set local enable_seqscan = on"))
    return found if len(found) <= RARELY else None


#: So many are looked up in the time of a page; so many among the last few would be more than that.
RARELY, OFTEN = 8_000, 20


def _fts5(terms: Sequence[Term]) -> str:
    """Return the query as SQLite's FTS5 reads it; every phrase is quoted, so that no word is an operator."""
    wanted = " AND ".join(_any_of(term, '"{}"', " ", " OR ") for term in terms if term.wanted)
    unwanted = " OR ".join(_any_of(term, '"{}"', " ", " OR ") for term in terms if not term.wanted)
    return f"({wanted}) NOT ({unwanted})" if unwanted else wanted


def _tsqueries(session: Session, terms: Sequence[Term]) -> list[str]:
    """Return what PostgreSQL is asked for, in stems, one for each thing wanted; an empty one finds none."""
    usual = [(term.wanted, _apart(term.forms)) for term in terms]
    stems = _stems(session, {form for _, forms in usual for form in forms})
    either = [(wanted, _distinct(stems[form] for form in forms if stems[form])) for wanted, forms in usual]
    found = [f"({' | '.join(forms)})" for wanted, forms in either if wanted and forms]
    not_there = [f"!({' | '.join(forms)})" for wanted, forms in either if not wanted and forms]
    # What is not to be there goes with the first: alone, it would be looked for in all that was ever said.
    return [" & ".join([found[0], *not_there]), *found[1:]] if found else [""]


def _stems(session: Session, forms: Iterable[Phrase]) -> dict[Phrase, str]:
    """Return each phrase as PostgreSQL reads it: its stems, one behind the other."""
    known: dict[Phrase, str] = session.info.setdefault("stems", {})
    # Words hold letters and digits alone (search_words), nothing that the database takes for more.
    named = {" <-> ".join(form): form for form in forms if form not in known}
    if named:
        rows = session.execute(_STEMS, {"forms": list(named)})
        known.update({named[form]: stems for form, stems in rows})
    return known


_STEMS = text("select form, to_tsquery('trade_words', form)::text from unnest(cast(:forms as text[])) form")


def _distinct(forms: Iterable[str]) -> list[str]:
    """Return the forms, each once, without those that hold another one, in parentheses.

    "Heat checks" and "heat checking" have the same stems, and each form more makes every utterance that is
    looked at cost more.
    """
    phrases = [tuple(form.split(" <-> ")) for form in dict.fromkeys(forms)]
    return ["(" + " <-> ".join(form) + ")" for form in _apart(phrases)]


def _any_of(term: Term, quoted: str, between: str, either: str) -> str:
    return "(" + either.join(quoted.format(between.join(form)) for form in _apart(term.forms)) + ")"


def _apart(forms: Sequence[Phrase]) -> list[Phrase]:
    """Return the forms without those that hold another one: whatever has "worn out" has "worn".

    The first are the usual ones; each more makes every utterance that is looked at cost more.
    """
    single = {form[0] for form in forms if len(form) == 1}
    apart = [form for form in forms if len(form) == 1 or not single.intersection(form)]
    return apart[:_MOST_FORMS]
