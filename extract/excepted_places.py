"""Places left out of all: "fifteen all round bar number four", "all five are eighteen except two"."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from extract.numbers import is_number_word
from extract.quantity_arcs import longest_quantity
from extract.tokens import Token
from extract.word_sets import phrase_list, word_set

if TYPE_CHECKING:
    from extract.position_spans import PositionSpan

_EXCEPTING = tuple(tuple(phrase.split()) for phrase in phrase_list("excepted_places.excepting"))
#: Stand between "all" and the exception, beside the value ("all of them are fifteen thou bar four").
_BETWEEN = word_set("excepted_places.between")
#: Stand between the exception and the place ("except for the one on vane three").
_LEADS = word_set("excepted_places.leads")
#: Stand behind a place that a mere "but" leaves out ("but four and that's fourteen", "but three's sixteen").
_TOLD: tuple[list[str], ...] = (
    [],
    ["'s"],
    ["is"],
    ["was"],
    ["and"],
    [","],
    ["."],
    ["at"],
    ["reads"],
    ["which"],
)
#: A value and what stands about it is not longer than this.
_REACH = 12
_REST = tuple(tuple(phrase.split()) for phrase in phrase_list("excepted_places.rest"))
_OF_REST = frozenset({"rest", "others", "remaining", "remainder"})
_BEFORE_VALUE = frozenset(
    {"are", "is", "'s", "'re", "was", "were", "all", "at", "the", "read", "reads", ",", "of", "them"}
)
_OVER_ALL = frozenset({"across", "over", "between", "among"})
_PLACES = ("named", "number", "group")
#: The style of a place that is left out of all.
EXCEPTED = "excepted"
#: A bare number behind "except" is a place.
_SURE = 0.05


def with_exceptions(tokens: Sequence[Token], spans: Sequence[PositionSpan]) -> list[PositionSpan]:
    """Return the spans, those of all places without the places that the words leave out behind them.

    A place that is left out is styled so: it need get no value, and never the one said before it.
    """
    found = list(spans)
    unknown: list[PositionSpan] = []
    for i, span in enumerate(spans):
        if span.style != "all":
            continue
        at = _behind_exception(tokens, span.end)
        if at is None:
            continue
        places = [s for s in found if s.start == at and s.style in (*_PLACES, EXCEPTED)]
        named = [s for s in places if s.end == max(p.end for p in places)]
        if not named:
            # Which place is left out was not understood ("except the last one"): so is which are meant.
            unknown.append(span)
            continue
        found[i] = replace(span, without=min(named, key=lambda s: s.cost).keys)
        found = [
            replace(s, style=EXCEPTED, cost=min(s.cost, _SURE)) if s in named else s
            for s in found
            if s in named or s not in places
        ]
    return [span for span in found if span not in unknown]


def rest_of(tokens: Sequence[Token]) -> list[tuple[int, int, str]]:
    """Return where "the rest", "all the others" is said: first token, token after the last, the words."""
    norms = [token.norm for token in tokens]
    found: list[tuple[int, int, str]] = []
    for i in range(len(norms)):
        phrase = next((p for p in _REST if tuple(norms[i : i + len(p)]) == p), None)
        if phrase is not None and not (found and i < found[-1][1]):
            found.append((i, i + len(phrase), " ".join(phrase)))
    return found


def rest_untold(tokens: Sequence[Token]) -> bool:
    """Whether the rest is spoken of and its value does not follow ("the rest near enough")."""
    told: set[int] = set()
    for start, end, _ in rest_of(tokens):
        at = end
        while at < len(tokens) and tokens[at].norm in _BEFORE_VALUE:
            at += 1
        if at < len(tokens) and (is_number_word(tokens[at]) or tokens[at].norm == "same"):
            told.update(range(start, end))
    return any(token.norm in _OF_REST and i not in told for i, token in enumerate(tokens))


def counts_all(tokens: Sequence[Token], i: int) -> bool:
    """Whether a number only counts the places ("averages eighteen across the five")."""
    return i > 1 and tokens[i - 1].norm == "the" and tokens[i - 2].norm in _OVER_ALL


def _left_out(tokens: Sequence[Token], at: int) -> bool:
    """Whether a mere "but" leaves out the place at a token ("but four and that's fourteen")."""
    behind = [token.norm for token in tokens[at + 1 : at + 2]]
    listed = behind == ["and"] and at + 2 < len(tokens) and is_number_word(tokens[at + 2])
    return behind in _TOLD and not listed


def _is_unit(tokens: Sequence[Token], at: int) -> bool:
    """Whether a "bar" is the unit of the number before it ("all of them at six bar"): no place follows."""
    if not at or not is_number_word(tokens[at - 1]):
        return False
    return at + 1 >= len(tokens) or not (is_number_word(tokens[at + 1]) or tokens[at + 1].norm in _LEADS)


def _behind_exception(tokens: Sequence[Token], at: int) -> int | None:
    """Return the token at which the place left out starts; None where nothing is left out."""
    norms = [token.norm for token in tokens]
    for i in range(at, min(at + _REACH, len(norms))):
        phrase = next((p for p in _EXCEPTING if tuple(norms[i : i + len(p)]) == p), None)
        if phrase == ("bar",) and _is_unit(tokens, i):
            continue
        if phrase is not None:
            i += len(phrase)
            while i < len(norms) and norms[i] in _LEADS:
                i += 1
            if phrase == ("but",) and not _left_out(tokens, i):
                return None
            said = longest_quantity(tokens, i)
            # "Bar two thou" is no place.
            return len(norms) if said is not None and said.unit is not None else i
        if norms[i] not in _BETWEEN and not is_number_word(tokens[i]):
            return None
    return None
