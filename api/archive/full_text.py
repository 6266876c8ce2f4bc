"""Full text over what was said, on either kind of database."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from sqlalchemy import ColumnElement, Integer, Select, column, func, select, table, text
from sqlalchemy.orm import Session

from api.archive.search_words import Phrase, Term
from api.store.archive_tables import ArchivedUtterance

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
        query = text("archived_utterances.words_vector @@ to_tsquery('trade_words', :words_searched)")
        return asked.where(query.bindparams(words_searched=_tsquery(terms))), _ID
    # In the order of its own row numbers the index gives its finds one by one, until the page is full.
    query = text("utterance_words match :words_searched").bindparams(words_searched=_fts5(terms))
    joined = asked.join(_WORDS, _WORDS.c.rowid == ArchivedUtterance.id).where(query)
    return joined, _WORDS.c.rowid


def newest_hits(session: Session, terms: Sequence[Term], before: int | None, most: int) -> list[int] | None:
    """Return the numbers of the newest utterances that hold words, where enough of them were said lately.

    PostgreSQL's index gives all that ever held them, in no order, and each is then looked at: what is said in
    every rebuild is found sooner by going back from the last. What is not, is left to the index.

    Args:
        session: of the archive.
        terms: at least one wanted.
        before: only older ones than this utterance; None for all.
        most: how many are wanted.

    Returns:
        As many as are wanted, newest first, or None.
    """
    if session.get_bind().dialect.name != "postgresql":
        return None  # SQLite's index gives them in order
    if before is None:
        before = 1 + (session.scalar(select(func.max(ArchivedUtterance.id))) or 0)
    asked = {"after": before - LATELY, "before": before, "words": _tsquery(terms), "most": most}
    found = list(session.scalars(_LATELY, asked))
    return found if len(found) == most else None


#: So many utterances are looked at one by one: 20 to 90 ms.
LATELY = 60_000
#: The offset keeps the planner, who cannot know which words are said together, from beginning with the index.
_LATELY = text(
    "select said.id from (select id, record_id, words_vector from archived_utterances"
    " where id > :after and id < :before order by id desc offset 0) said"
    " join archived_records on archived_records.id = said.record_id"
    " where archived_records.stands and said.words_vector @@ to_tsquery('trade_words', :words)"
    " order by said.id desc limit :most"
)


def _fts5(terms: Sequence[Term]) -> str:
    """Return the query as SQLite's FTS5 reads it; every phrase is quoted, so that no word is an operator."""
    wanted = " AND ".join(_any_of(term, '"{}"', " ", " OR ") for term in terms if term.wanted)
    unwanted = " OR ".join(_any_of(term, '"{}"', " ", " OR ") for term in terms if not term.wanted)
    return f"({wanted}) NOT ({unwanted})" if unwanted else wanted


def _tsquery(terms: Sequence[Term]) -> str:
    """Return the query as PostgreSQL's to_tsquery reads it."""
    wanted = " & ".join(_any_of(term, "({})", " <-> ", " | ") for term in terms if term.wanted)
    unwanted = [_any_of(term, "({})", " <-> ", " | ") for term in terms if not term.wanted]
    return " & ".join([wanted, *(f"!{one}" for one in unwanted)])


def _any_of(term: Term, quoted: str, between: str, either: str) -> str:
    # Words hold letters and digits alone (search_words), nothing that either language takes for more.
    return "(" + either.join(quoted.format(between.join(form)) for form in _apart(term.forms)) + ")"


def _apart(forms: Sequence[Phrase]) -> list[Phrase]:
    """Return the forms without those that hold another one: whatever has "worn out" has "worn".

    The first are the usual ones; each more makes every utterance that is looked at cost more.
    """
    single = {form[0] for form in forms if len(form) == 1}
    apart = [form for form in forms if len(form) == 1 or not single.intersection(form)]
    return apart[:_MOST_FORMS]
