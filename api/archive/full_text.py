"""Full text over what was said, on either kind of database."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from sqlalchemy import ColumnElement, Integer, Select, column, table, text
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
