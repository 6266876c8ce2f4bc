"""Sums done aloud: "two tens, a five and a two, so twenty seven"; "thirty five less four gives thirty one".

Only what the sum comes to is measured; what went into it makes no reading. A sum is believed only where
it comes out: where it does not, the values stay and are asked about.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction
from typing import NamedTuple

from extract.mentions import Mentions
from extract.number_words import ONES, TEENS, TENS
from extract.numbers import is_number_word
from extract.quantity_arcs import Quantity, longest_quantity
from extract.tokens import Token
from extract.word_sets import word_set

#: Between what is added, "a" and "and" at most with what it is ("a ten shim and a five").
_JOINS = word_set("sums.joins")
_LESS = word_set("sums.less")
_TIMES = frozenset({"times", "of", "at", "x", "×", "by"})
_MOST_OF_A_KIND = 20
_RESULTS = word_set("sums.results")
_MADE_OF = word_set("sums.made_of")
_ARTICLES = frozenset({"a", "an", "another", "plus", "+"})
_SIGNS = frozenset({"plus", "minus", "+", "-"})
_MOST_BETWEEN = 6
_PLURALS = {
    (word[:-1] + "ies" if word[-1] == "y" else word + ("es" if word[-1] == "x" else "s")): value
    for word, value in (*ONES.items(), *TEENS.items(), *TENS.items())
}


class Sum(NamedTuple):
    """A sum that comes out."""

    parts: tuple[Quantity, ...]
    """What goes into it."""
    result: Quantity
    less: bool
    """Whether something is taken off."""


class _Part(NamedTuple):
    start: int
    end: int
    value: Fraction
    quantity: Quantity
    size: Quantity | None = None
    """Of each, where several alike are counted."""


def sums_said(tokens: Sequence[Token], mentions: Mentions) -> list[Sum]:
    """Return the sums of an utterance that come out, none of them overlapping."""
    words = {token.norm for token in tokens}
    if not words & _RESULTS and not words & _MADE_OF:
        return []
    parts = list(_parts(tokens))
    places = [
        m.start
        for m in mentions.of("position")
        if not all(is_number_word(token) for token in tokens[m.start : m.end])
    ]
    found: list[Sum] = []
    first = 0
    while first < len(parts) - 2:
        said, end = _result_last(tokens, parts, first)
        if said is None:
            said, end = _result_first(tokens, parts, first)
        if said is None or any(parts[first].start < at < parts[end].end for at in places):
            first += 1
            continue
        found.append(said)
        first = end if said.result is parts[end].quantity else end + 1
    return found


def _parts(tokens: Sequence[Token]) -> Iterator[_Part]:
    """Yield the numbers of an utterance, "two tens" and "two at ten" as one."""
    i = 0
    while i < len(tokens):
        quantity = longest_quantity(tokens, i)
        if quantity is None or quantity.value is None:
            i += 1
            continue
        part = _of_a_kind(tokens, quantity) or _Part(i, quantity.end, quantity.value, quantity)
        yield part
        i = part.end


def _of_a_kind(tokens: Sequence[Token], count: Quantity) -> _Part | None:
    """Return several alike as one part ("two tens", "three at five thou"), None where there is only one."""
    if count.unit is not None or count.value is None or not 1 <= count.value <= _MOST_OF_A_KIND:
        return None
    at = count.number_end
    norms = [token.norm for token in tokens[at : at + 2]]
    if norms and norms[0] in _PLURALS:
        return _Part(count.start, at + 1, count.value * _PLURALS[norms[0]], count)
    if norms[1:] == ["s"] and norms[0].isdecimal():
        return _Part(count.start, at + 2, count.value * int(norms[0]), count)
    size = longest_quantity(tokens, at + 1) if norms and norms[0] in _TIMES else None
    if size is None or size.value is None:
        return None
    return _Part(count.start, size.end, count.value * size.value, count, size)


def _result_last(tokens: Sequence[Token], parts: Sequence[_Part], first: int) -> tuple[Sum | None, int]:
    """Return a sum whose first part is given and what it comes to follows ("ten and five makes fifteen")."""
    total, less = parts[first].value, False
    for n in range(first + 1, len(parts)):
        gap = [token.norm for token in tokens[parts[n - 1].end : parts[n].start]]
        came_to = any(word in _RESULTS for word in gap) and len(gap) <= _MOST_BETWEEN
        several = n > first + 1 or parts[first].end > parts[first].quantity.end
        swing = n == first + 2 and parts[first].value < 0 < parts[n - 1].value
        span = parts[n - 1].value - parts[first].value if swing else None
        if came_to and several and (parts[n].value == span or _comes_to(total, parts[n].value)):
            return _made(parts[first:n], parts[n], less), n
        if not _joins(gap) and tokens[parts[n].start].norm not in _SIGNS:
            return None, n
        off = bool(_LESS & set(gap))
        less |= off or parts[n].value < 0
        total += -parts[n].value if off else parts[n].value
    return None, len(parts)


def _result_first(tokens: Sequence[Token], parts: Sequence[_Part], first: int) -> tuple[Sum | None, int]:
    """Return a sum that is said before what goes into it ("seventeen, that's a ten, a five and a two")."""
    gap = [token.norm for token in tokens[parts[first].end : parts[first + 1].start]]
    if not _MADE_OF & set(gap) or len(gap) > _MOST_BETWEEN:
        return None, first
    last = first + 1
    while last + 1 < len(parts) and _joins([t.norm for t in tokens[parts[last].end : parts[last + 1].start]]):
        last += 1
    for n in range(last, first + 1, -1):
        into = parts[first + 1 : n + 1]
        counted = any(
            part.end > part.quantity.end or tokens[max(0, part.quantity.start - 1)].norm in _ARTICLES
            for part in into
        )
        if counted and sum(part.value for part in into) == parts[first].value:
            return _made(into, parts[first], False), n
    return None, first


def _joins(gap: Sequence[str]) -> bool:
    return 0 < len(gap) <= _MOST_BETWEEN and all(word in _JOINS or word in _LESS for word in gap)


def _comes_to(total: Fraction, said: Fraction) -> bool:
    """Whether a sum comes to what is said, the point put in or not ("one sixty oh two less … half a mil")."""
    return total == said or (abs(total) >= 10 and any(total == said * 10**n for n in range(1, 5)))


def _made(parts: Sequence[_Part], result: _Part, less: bool) -> Sum:
    into = [quantity for part in parts for quantity in (part.quantity, part.size) if quantity is not None]
    return Sum(tuple(into), result.quantity, less)
