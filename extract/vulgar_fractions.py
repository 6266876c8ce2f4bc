"""Parts of a whole in words: halves, quarters, sixteenths, thirty seconds, thousandths."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from typing import NamedTuple

from extract.cardinals import Whole
from extract.number_words import ARTICLES, COMPOUND_DENOMINATORS, DECIMAL_SCALES, DENOMINATORS
from extract.tokens import Token

_BARE = frozenset({"half", "quarter", "eighth", "sixteenth", "thousandth"})
#: "a strong sixteenth" is a little more than one.
_SIZED = frozenset({"strong", "good", "fat", "scant", "bare", "full", "heavy", "light", "shy"})
_PRINTED_DENOMINATORS = {
    "32nd": (32, False), "32nds": (32, True), "64th": (64, False), "64ths": (64, True),
    "16th": (16, False), "16ths": (16, True), "8th": (8, False), "8ths": (8, True),
    "4th": (4, False), "4ths": (4, True), "10th": (10, False), "10ths": (10, True),
    "100th": (100, False), "100ths": (100, True), "1000th": (1000, False), "1000ths": (1000, True),
    "1,000th": (1000, False), "1,000ths": (1000, True),
    "10,000ths": (10_000, True), "10000ths": (10_000, True),
}  # fmt: skip
_SPLIT_DENOMINATORS = {
    ("30", "second"): 32, ("30", "seconds"): 32, ("60", "fourth"): 64, ("60", "fourths"): 64,
    ("32", "nds"): 32, ("64", "ths"): 64, ("16", "ths"): 16,
}  # fmt: skip


_PAIR_COSTS = {(32, True): 0.3, (100_000, True): 1.2, (100_000, False): 1.2}


class Part(NamedTuple):
    """A fraction read from words."""

    value: Fraction
    end: int
    cost: float
    scale: str


class Denominator(NamedTuple):
    """Into how many parts, and how sure that is."""

    parts: int
    end: int
    plural: bool
    cost: float


def denominators_at(tokens: Sequence[Token], i: int) -> list[Denominator]:
    """Read the name of a part at ``i`` ("sixteenths", "thirty seconds", "ten thousandths")."""
    if i >= len(tokens):
        return []
    word = tokens[i].norm
    following = tokens[i + 1].norm if i + 1 < len(tokens) else ""
    found: list[Denominator] = []
    pair = COMPOUND_DENOMINATORS.get((word, following))
    if pair is not None:
        # "Thirty seconds" is a time as well, and "five hundred thousandths" is nearly always half an inch.
        found.append(Denominator(pair[0], i + 2, pair[1], _PAIR_COSTS.get(pair, 0.0)))
    single = DENOMINATORS.get(word) or _PRINTED_DENOMINATORS.get(word)
    if single is not None:
        found.append(Denominator(single[0], i + 1, single[1], 1.0 if word in ("eights", "sixteens") else 0.0))
    split = _SPLIT_DENOMINATORS.get((word, following))
    if split is not None:
        found.append(Denominator(split, i + 2, True, 0.6))
    return found


def fractions_at(tokens: Sequence[Token], i: int, numerators: Sequence[Whole]) -> list[Part]:
    """Read fractions at ``i``: every numerator that starts there with every part that follows it.

    ``numerators`` are the whole numbers that start at ``i``. "a", "an" and nothing at all stand for
    one ("an eighth", "quarter inch").
    """
    word = tokens[i].norm
    found: list[Part] = []
    if word in ARTICLES:
        at = i + 2 if i + 1 < len(tokens) and tokens[i + 1].norm in _SIZED else i + 1
        found += [
            Part(Fraction(1, d.parts), d.end, d.cost, _scale(d.parts))
            for d in denominators_at(tokens, at)
            if not d.plural
        ]
    if word in _BARE:
        cost = {"half": 0.0, "quarter": 0.2}.get(word, 1.2)
        found += [
            Part(Fraction(1, d.parts), d.end, cost, _scale(d.parts)) for d in denominators_at(tokens, i)
        ]
    for numerator in numerators:
        if numerator.value:
            found += [
                Part(Fraction(numerator.value, d.parts), d.end, _cost(numerator, d), _scale(d.parts))
                for d in denominators_at(tokens, numerator.end)
                if (numerator.value == 1 or d.plural or d.parts != 2)
                if numerator.value < d.parts or d.parts in DECIMAL_SCALES or _improper(numerator, d)
            ]
    return [*found, *(half for part in found for half in _with_half(tokens, part))]


def _with_half(tokens: Sequence[Token], part: Part) -> list[Part]:
    """Read "a hundredth and a half": half of such a part more."""
    smallest = next((n for n, scale in DECIMAL_SCALES.items() if scale == part.scale), None)
    words = [token.norm for token in tokens[part.end : part.end + 3]]
    if smallest is None or words not in (["and", "a", "half"], ["and", "a", "quarter"]):
        return []
    more = Fraction(1, smallest * (2 if words[-1] == "half" else 4))
    return [Part(part.value + more, part.end + 3, part.cost, part.scale)]


def _improper(numerator: Whole, denominator: Denominator) -> bool:
    """Tell "seventeen eighths" from "seven sixty | fourths"."""
    return (
        denominator.parts <= 16 and numerator.style == "cardinal" and numerator.value < 3 * denominator.parts
    )


def _cost(numerator: Whole, denominator: Denominator) -> float:
    cost = denominator.cost + numerator.cost
    if (numerator.value == 1) == denominator.plural and denominator.parts != 2:
        cost += 0.3
    if numerator.style not in ("cardinal", "article"):
        cost += 0.3
    if numerator.value > denominator.parts and denominator.parts not in DECIMAL_SCALES:
        cost += 0.8
    return cost


def _scale(parts: int) -> str:
    return DECIMAL_SCALES.get(parts, "plain")
