"""Words that are searched for: what stands for what in the trade, and how a query is read.

A query is words in any order, all of them to be found in one thing that was said; words in double quotes
stand together as they are, one after a minus is not to be there. A phrase that the trade says otherwise, too,
stands for all of its forms.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from shared.data_files import read_data
from shared.lexicon import load_lexicon

Phrase = tuple[str, ...]
"""Words in their order, folded to lower case."""
#: Letters and digits of any language, as both kinds of database part words; an apostrophe parts them, too.
_WORD = re.compile(r"[^\W_]+")
_PIECE = re.compile(r'(-?)"([^"]*)"?|(-?)(\S+)')
#: Longer sayings of the lexicon ("gone hard as a rock") are looked for by their shorter ones.
_LONGEST = 3
#: So many words of a query are read; the rest of a pasted page would only make it slow.
MOST_WORDS = 12


@dataclass(frozen=True)
class Term:
    """One thing that is to be found, or not, in any of its forms."""

    forms: tuple[Phrase, ...]
    """As it was asked for first."""
    wanted: bool = True


def terms_of(query: str) -> tuple[Term, ...]:
    """Return what a query asks for; empty where it holds no word."""
    terms: list[Term] = []
    loose: list[str] = []
    for match in _PIECE.finditer(query):
        minus, quoted, minus_word, word = match.groups()
        words = _words(quoted if quoted is not None else word)
        if quoted is None and not minus_word:
            loose += words
        elif words:
            terms += _with_synonyms(loose)
            loose = []
            terms.append(Term((tuple(words),), not (minus or minus_word)))
    terms += _with_synonyms(loose)
    return tuple(terms[:MOST_WORDS])


def synonyms_shown(terms: Iterable[Term]) -> list[str]:
    """Return in words what is searched for besides what was asked for."""
    return [
        f"{' '.join(term.forms[0])}: also {', '.join(' '.join(form) for form in term.forms[1:6])}"
        + (" …" if len(term.forms) > 6 else "")
        for term in terms
        if len(term.forms) > 1
    ]


def _with_synonyms(words: list[str]) -> list[Term]:
    """Return the terms of words without quotes: the longest phrases that the trade knows, or a word."""
    terms: list[Term] = []
    at, known = 0, _synonyms()
    while at < len(words):
        for length in range(min(_LONGEST, len(words) - at), 0, -1):
            phrase = tuple(words[at : at + length])
            if length == 1 or phrase in known:
                forms = (phrase, *(one for one in known.get(phrase, ()) if one != phrase))
                terms.append(Term(forms))
                at += length
                break
    return terms


@cache
def _synonyms() -> dict[Phrase, tuple[Phrase, ...]]:
    """Return by phrase all phrases that mean the same."""
    lexicon = load_lexicon()
    groups = [
        (key.replace("_", " "), *phrases)
        for kind in (lexicon.conditions, lexicon.consumables, lexicon.parts)
        for key, phrases in kind.items()
    ]
    groups += [tuple(group) for group in read_data(Path(__file__).with_name("trade_synonyms.yaml"))]
    found: dict[Phrase, dict[Phrase, None]] = {}
    for group in groups:
        phrases = [tuple(_words(one)) for one in group]
        short = [one for one in phrases if 0 < len(one) <= _LONGEST]
        for one in short:
            found.setdefault(one, {}).update(dict.fromkeys(short))
    return {phrase: tuple(same) for phrase, same in found.items()}


def phrase_of(text: str) -> Phrase:
    """Return the words of a text as a query has them."""
    return tuple(_words(text))


def _words(text: str) -> list[str]:
    return _WORD.findall(text.lower())
