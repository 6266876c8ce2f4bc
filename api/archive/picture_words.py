"""What words tell of a picture: the parts that they may name, what such a part was found like, its stage.

A picture that a press took has no words of its own. It is found by what the trade calls the part in it, by
the synonyms that a search has for everything else, and by what the same record says of that part.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy import func, select
from sqlalchemy.orm import InstrumentedAttribute, Session

from api.archive.remembered import remembered
from api.archive.search_words import Phrase, Term, phrase_of
from api.store.archive_tables import ArchivedEntry, ArchivedRecord, is_picture
from api.store.sheets import newest_sheet
from shared.lexicon import load_lexicon
from shared.sheet_entries import WantedPhoto

_PICTURE = frozenset({"picture", "photo", "photograph", "snapshot"})
#: What can be said of every picture.
_OF_ALL = _PICTURE | {"of", "the", "a", "as"}
#: Each stage by the word that tells it.
_STAGES = {"found": "as_found", "left": "as_left"}


@dataclass(frozen=True)
class Told:
    """What one thing searched for can be of a picture: any of these."""

    parts: frozenset[str]
    """As photos name what they are of."""
    conditions: frozenset[str]
    """Of the part, in the same record."""
    stage: str
    """Empty where it tells none."""
    wanted: bool
    """Whether it is to be so, or not to be."""

    @property
    def anything(self) -> bool:
        """Whether a picture can be so at all."""
        return bool(self.parts or self.conditions or self.stage)


def told_of_pictures(session: Session, terms: Iterable[Term]) -> list[Told] | None:
    """Return what words tell of the pictures that there are; None where no picture can be meant.

    Args:
        session: of the archive.
        terms: of the words.
    """
    found: list[Told] = []
    meant = False
    names = photographed(session)
    for term in terms:
        forms = [_folded(form) for form in term.forms]
        if term.wanted and all(word in _OF_ALL for word in forms[0]):
            meant = meant or not _PICTURE.isdisjoint(forms[0])
            continue
        one = Told(
            frozenset(part for part, said in names.items() if _any_in(forms, said)), _conditions(forms),
            _STAGES.get(forms[0][0], "") if len(forms[0]) == 1 else "", term.wanted,
        )  # fmt: skip
        if one.wanted and not one.anything:
            return None
        if one.anything:
            found.append(one)
        meant = meant or one.wanted
    return found if meant else None


def photographed(session: Session) -> Mapping[str, tuple[Phrase, ...]]:
    """Return what the archive has pictures of, and all that each is called."""
    return remembered(session, ("names of what is photographed",), lambda: _names(session))


def _names(session: Session) -> dict[str, tuple[Phrase, ...]]:
    """Return by what photos are of all that it is called: by the lexicon and by the sheets of the archive."""
    of = _each(session, ArchivedEntry.part, is_picture())
    lexicon = load_lexicon().parts
    called: dict[str, dict[Phrase, None]] = {
        one: {_folded(phrase_of(words)): None for words in (one.replace("_", " "), *lexicon.get(one, ()))}
        for one in of
    }
    for sheet_id in _each(session, ArchivedRecord.sheet_id, ArchivedRecord.stands):
        sheet = newest_sheet(session, sheet_id)
        if sheet is None:
            continue
        spoken = [(one.of, (*one.spoken, *_face(one))) for one in sheet.photos]
        spoken += [(one.part, one.spoken) for one in sheet.parts]
        for name, said in spoken:
            if name in called:
                called[name].update({_folded(phrase_of(words)): None for words in said})
    return {one: tuple(phrases) for one, phrases in called.items()}


def _face(photo: WantedPhoto) -> tuple[str, ...]:
    """Return what a picture is called that is looked at as a seal's face."""
    return ("seal face",) if photo.outer_diameter_mm is not None else ()


def _each(session: Session, column: InstrumentedAttribute[Any], where: Any) -> list[str]:
    """Return the values of a column, each once, by steps through its index: there are few of them."""
    found: list[str] = []
    last: str | None = session.scalar(select(func.min(column)).where(where))
    while last is not None:
        found.append(last)
        last = session.scalar(select(func.min(column)).where(where, column > last))
    return found


def _conditions(forms: Sequence[Phrase]) -> frozenset[str]:
    return frozenset(
        key for key in load_lexicon().conditions if _folded(phrase_of(key.replace("_", " "))) in forms
    )


def _any_in(forms: Sequence[Phrase], said: Sequence[Phrase]) -> bool:
    return any(_holds(name, form) for name in said for form in forms)


def _holds(name: Phrase, form: Phrase) -> bool:
    return any(name[at : at + len(form)] == form for at in range(len(name) - len(form) + 1))


def _folded(phrase: Phrase) -> Phrase:
    """Return words without the ending of the plural; both sides lose it, so that it need be no word."""
    return tuple(
        word[:-1] if len(word) > 3 and word.endswith("s") and not word.endswith("ss") else word
        for word in phrase
    )
