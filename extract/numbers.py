"""Every number that a run of tokens can mean, each with a cost; nothing is decided here.

"two ten" is 210 and 2 and then 10; "seven thirty seconds" is 7/32 and 7 and 730 and 30. Which of
them is meant shows only with the unit, the item and its limits, so all are handed on.

Costs add up like unlikelihoods: 0 is how everybody says that number, 1 needs some reason in what
stands round it, 2 and more is the repair of a misprint or mishearing.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from typing import NamedTuple

from extract import printed_numbers
from extract.cardinals import MAX_RUN_DIGITS, Chunk, Whole, behind_hundreds, cardinals_at, chunk_at, runs_at
from extract.number_words import (
    ARTICLES,
    DECIMAL_SCALES,
    DENOMINATORS,
    NUMBER_WORDS,
    ONES,
    ORDINALS,
    POINTS,
    REPEATS,
    SIGN_WORDS,
    TEENS,
    TENS,
    VAGUE,
    VULGAR_VALUES,
    ZEROS,
)
from extract.printed_numbers import Printed
from extract.tokens import Token
from extract.vulgar_fractions import denominators_at, fractions_at

_STARTERS = frozenset(
    {*ZEROS, *ONES, *TEENS, *TENS, *ARTICLES, *POINTS, *SIGN_WORDS, *REPEATS, *ORDINALS, *DENOMINATORS,
     "hundred", "dozen", "-", "+"}
)  # fmt: skip
_MAX_DECIMAL_CHUNKS = 40
_HALF = Fraction(1, 2)


class NumberReading(NamedTuple):
    """One number that the tokens from some index on can mean."""

    value: Fraction
    end: int
    """Index of the token after it."""
    cost: float
    style: str
    """cardinal, juxtaposed, digit_run, mixed_run, decimal, fraction, mixed, ordinal, article,
    thousandths, or misprint (a repair)."""
    scale: str = "plain"
    """tenths, hundredths, thousandths, ten_thousandths where the words named such parts (of an inch
    or millimetre that often goes unsaid); clock for figures printed as a time of day; else plain."""
    digits: str = ""
    """The digits one after another where the number was said or printed so, leading zeros kept."""
    places: int = 0
    """How many of ``digits`` stand after the point ("one point three seven five oh": 4)."""


def numbers_at(tokens: Sequence[Token], i: int) -> tuple[NumberReading, ...]:
    """Return every number that can start at token ``i``, the longest first, then the cheapest.

    Total: any tokens, any index inside them; an empty tuple where no number starts. The work is
    bounded for each index whatever the length of the utterance.
    """
    token = tokens[i]
    word = token.norm
    first = word[0]
    if word not in _STARTERS and not first.isdecimal() and first != "." and first not in VULGAR_VALUES:
        return ()
    signed = word in SIGN_WORDS or word in ("-", "+")
    return _cheapest(_signed(tokens, i, word) if signed else _unsigned(tokens, i))


def with_point_placed(reading: NumberReading) -> tuple[NumberReading, ...]:
    """Return the reading and all that it can be if the decimal point went unsaid.

    "one three seven four five" may be 1.3745; with a leading zero ("oh three one") the point
    stands before the zero (.031) or after it (0.31). The caller keeps what is plausible.
    """
    digits = reading.digits
    if reading.places or len(digits) < 2 or reading.style == "decimal":
        return (reading,)
    sign = -1 if reading.value < 0 else 1
    leading = digits[0] == "0"
    placed = [reading]
    for places in range(1, len(digits) + 1):
        cost = reading.cost + (0.4 if leading and places == len(digits) else 0.9)
        value = sign * Fraction(int(digits), 10**places)
        placed.append(reading._replace(value=value, cost=cost, places=places))
    if not leading and len(digits) <= 3:
        # "thirty one" for .031: the zero went unsaid as well.
        places = 3 if len(digits) == 2 else 4
        placed.append(
            reading._replace(
                value=sign * Fraction(int(digits), 10**places), cost=reading.cost + 1.6, places=places
            )
        )
    return tuple(placed)


def vague_number_end(tokens: Sequence[Token], i: int) -> int | None:
    """Return the end of "a couple of", "a few", "several" at ``i``; None where there is none."""
    at = i + 1 if tokens[i].norm in ARTICLES else i
    if at >= len(tokens) or tokens[at].norm not in VAGUE:
        return None
    at += 1
    return at + 1 if at < len(tokens) and tokens[at].norm == "of" else at


def is_number_word(token: Token) -> bool:
    """Tell whether a token is part of numbers only: a word such as "thirty", or figures."""
    return token.norm in NUMBER_WORDS or token.text[0].isdecimal() or token.text[0] in VULGAR_VALUES


def _cheapest(found: list[NumberReading]) -> tuple[NumberReading, ...]:
    """Keep the cheapest of those that mean the same; longest first, then by cost."""
    best: dict[tuple[int, int, int, str, int], NumberReading] = {}
    for reading in found:
        # Whole numbers hash much faster than fractions.
        value = reading.value
        key = (reading.end, value.numerator, value.denominator, reading.scale, reading.places)
        known = best.get(key)
        if known is None or reading.cost < known.cost or (reading.cost == known.cost and reading.digits):
            best[key] = reading
    return tuple(sorted(best.values(), key=lambda r: (-r.end, r.cost)))


def _signed(tokens: Sequence[Token], i: int, word: str) -> list[NumberReading]:
    if i + 1 >= len(tokens) or tokens[i + 1].norm in SIGN_WORDS or tokens[i + 1].norm in ("-", "+"):
        return []
    if word in ("-", "+"):
        # A printed sign sits right before its figures and not right behind others ("30-34").
        if tokens[i + 1].start != tokens[i].end or (i and tokens[i - 1].end == tokens[i].start):
            return []
        sign = -1 if word == "-" else 1
    else:
        sign = SIGN_WORDS[word]
    return [r._replace(value=sign * r.value) for r in _unsigned(tokens, i + 1) if r.style not in ("ordinal",)]


def _unsigned(tokens: Sequence[Token], i: int) -> list[NumberReading]:
    word = tokens[i].norm
    figures = word[0].isdecimal() or word[0] in VULGAR_VALUES or word[0] == "."
    wholes = [] if word in POINTS else [*cardinals_at(tokens, i), *runs_at(tokens, i)]
    wholes += behind_hundreds(tokens, wholes)
    found = [
        NumberReading(Fraction(w.value), w.end, w.cost, w.style, "plain", w.digits or _own_digits(w))
        for w in wholes
    ]
    if figures:
        found += _figures(tokens, i)
    found += _decimals(tokens, i, wholes)
    numerators = wholes + [Whole(int(r.value), r.end, r.cost, r.style) for r in found if _counts(r, figures)]
    parts = [
        NumberReading(
            part.value, part.end, part.cost,
            "fraction" if part.scale == "plain" or part.scale == "tenths" else part.scale, part.scale,
        )
        for part in fractions_at(tokens, i, numerators)
    ]  # fmt: skip
    mixed = _mixed(tokens, found)
    found += parts + mixed
    found += _decimal_parts(tokens, found)
    found += _misheard_thousandths(tokens, found)
    if word in ARTICLES:
        found.append(NumberReading(Fraction(1), i + 1, 1.0, "article"))
    if word in ORDINALS:
        found.append(NumberReading(Fraction(ORDINALS[word]), i + 1, 0.0, "ordinal"))
    found += _compound_ordinals(tokens, i)
    found += _dozens(tokens, i, found)
    return found


def _own_digits(whole: Whole) -> str:
    """Digits of a spoken pair ("thirty one"), so that a point can be placed in it."""
    return str(whole.value) if whole.style == "cardinal" and 10 <= whole.value <= 99 else ""


def _counts(reading: NumberReading, figures: bool) -> bool:
    return (
        figures and reading.style == "cardinal" and reading.value.denominator == 1 and reading.value < 10**7
    )


def _figures(tokens: Sequence[Token], i: int) -> list[NumberReading]:
    printed: list[Printed] = [
        *printed_numbers.literal_at(tokens, i),
        *printed_numbers.fraction_at(tokens, i),
        *printed_numbers.mixed_at(tokens, i),
        *printed_numbers.split_decimal_at(tokens, i),
        *printed_numbers.decimal_comma_at(tokens, i),
        *printed_numbers.misprints_at(tokens, i),
    ]
    return [NumberReading(*p) for p in printed]


def _decimals(tokens: Sequence[Token], i: int, wholes: Sequence[Whole]) -> list[NumberReading]:
    """Read "one point three seven", "point oh three one", "two hundred and nine point six"."""
    found: list[NumberReading] = []
    heads: list[tuple[int, int, float]] = [(w.value, w.end, w.cost) for w in wholes if w.style != "article"]
    if tokens[i].norm in ZEROS and (0, i + 1, 0.0) not in heads:
        heads.append((0, i + 1, 0.0))
    if tokens[i].text.isdecimal() and len(tokens[i].text) <= printed_numbers.MAX_FIGURES:
        heads.append((int(tokens[i].text), i + 1, 0.5))
    if tokens[i].norm in POINTS:
        heads.append((0, i, 0.0))
    seen: set[tuple[int, int]] = set()
    for whole, at, cost in sorted(heads, key=lambda h: h[2]):
        if at >= len(tokens) or tokens[at].norm not in POINTS or (whole, at) in seen:
            continue
        seen.add((whole, at))
        found += _after_point(tokens, at + 1, whole, cost)
    return found


def _after_point(tokens: Sequence[Token], at: int, whole: int, cost: float) -> list[NumberReading]:
    pieces: list[tuple[str, int, float]] = []
    digits = ""
    for _ in range(_MAX_DECIMAL_CHUNKS):
        chunk = chunk_at(tokens, at) or _long_figures(tokens, at)
        if chunk is None:
            break
        # A decimal cut short of the run that it stands in has left something unread.
        if chunk.shorter is not None:
            pieces.append((digits + chunk.shorter[0], chunk.shorter[1], 0.9))
        digits += chunk.digits
        at = chunk.end
        pieces.append((digits, at, 0.6))
    if not pieces:
        return []
    pieces[-1] = (pieces[-1][0], pieces[-1][1], 0.0)
    if len(pieces) > MAX_RUN_DIGITS:
        pieces = pieces[-1:] + pieces[:MAX_RUN_DIGITS]
    start = str(whole) if whole else ""
    return [
        NumberReading(
            Fraction(int(start + part), 10 ** len(part)),
            end,
            cost + more,
            "decimal",
            "plain",
            start + part,
            len(part),
        )
        for part, end, more in pieces
    ]


def _long_figures(tokens: Sequence[Token], at: int) -> Chunk | None:
    """Read printed figures of any sensible length after a spoken "point"."""
    if at < len(tokens):
        text = tokens[at].text
        if text.isdecimal() and len(text) <= printed_numbers.MAX_FIGURES:
            return Chunk("".join(str(int(figure)) for figure in text), at + 1, None, True)
    return None


def _mixed(tokens: Sequence[Token], found: Sequence[NumberReading]) -> list[NumberReading]:
    """Read "thirty and a half", "nine and fifteen thirty seconds", "one three eighths"."""
    mixed: list[NumberReading] = []
    for reading in found:
        if reading.style in ("ordinal", "fraction", "mixed", "misprint") or reading.end >= len(tokens):
            continue
        word = tokens[reading.end].norm
        joined = word in ("and", "&", "n")
        if not joined and word in ONES and tokens[reading.end - 1].norm in TENS:
            continue
        at = reading.end + 1 if joined else reading.end
        if at >= len(tokens) or (joined and word == "n" and tokens[at].norm not in ARTICLES):
            continue
        for part in proper_parts_at(tokens, at):
            if not joined and (tokens[at].norm in ARTICLES or part.scale not in ("plain", "tenths")):
                continue
            mixed.append(_plus_part(reading, part, 0.0 if joined else 0.7))
    return mixed


def proper_parts_at(tokens: Sequence[Token], at: int) -> list[NumberReading]:
    """Return the fractions below one that start at token ``at``, in words or figures."""
    word = tokens[at].norm
    if word not in _STARTERS and not word[0].isdecimal() and word[0] not in VULGAR_VALUES:
        return []
    parts = [
        NumberReading(p.value, p.end, p.cost, "fraction", p.scale)
        for p in fractions_at(tokens, at, cardinals_at(tokens, at))
        if p.value < 1
    ]
    if word[0].isdecimal():
        parts += [NumberReading(*p) for p in printed_numbers.fraction_at(tokens, at) if p.value < 1]
        literal = printed_numbers.literal_at(tokens, at)
        if literal and literal[0].value.denominator == 1 and literal[0].style == "cardinal":
            numerator = Whole(int(literal[0].value), at + 1, 0.0, "cardinal")
            parts += [
                NumberReading(p.value, p.end, p.cost, "fraction", p.scale)
                for p in fractions_at(tokens, at, [numerator])
                if p.value < 1
            ]
    elif word in VULGAR_VALUES:
        parts.append(NumberReading(VULGAR_VALUES[word], at + 1, 0.0, "fraction"))
    return parts


def _plus_part(reading: NumberReading, part: NumberReading, cost: float) -> NumberReading:
    """Add a part: to the number, or to the last place of a decimal ("point oh oh one and a half")."""
    cost += reading.cost + part.cost
    if reading.style == "juxtaposed" and len(reading.digits) == 4:
        cost += 1.5
    if reading.style == "digit_run" and reading.digits[0] != "0":
        # "Three three and a half" is rather three and then three and a half.
        cost += 0.6
    if reading.style == "decimal":
        value = reading.value + part.value / 10**reading.places
        return NumberReading(value, part.end, cost + 0.1, "decimal", "plain", "", 0)
    digits = reading.digits + "5" if part.value == _HALF and reading.digits else ""
    return NumberReading(
        reading.value + part.value, part.end, cost, "mixed", part.scale, digits, 1 if digits else 0
    )


def _decimal_parts(tokens: Sequence[Token], found: Sequence[NumberReading]) -> list[NumberReading]:
    """Read "one and a half thousandths", "two point five hundredths", "half a thousandth"."""
    parts: list[NumberReading] = []
    for reading in found:
        if reading.style not in ("mixed", "decimal", "fraction") or reading.scale != "plain":
            continue
        at = reading.end
        if reading.value < 1 and at < len(tokens) and tokens[at].norm == "of":
            at += 1
        if reading.value < 1 and at < len(tokens) and tokens[at].norm in ARTICLES:
            at += 1
        for name in denominators_at(tokens, at):
            scale = DECIMAL_SCALES.get(name.parts)
            if scale is not None:
                style = "fraction" if scale == "tenths" else scale
                parts.append(
                    NumberReading(
                        reading.value / name.parts, name.end, reading.cost + name.cost, style, scale
                    )
                )
    return parts


def _misheard_thousandths(tokens: Sequence[Token], found: Sequence[NumberReading]) -> list[NumberReading]:
    """Offer thousandths for "thirty thousand" and "thirty one thousands", as recognisers hear them."""
    offered: list[NumberReading] = []
    for reading in found:
        if reading.style not in ("cardinal", "juxtaposed") or reading.value.denominator != 1:
            continue
        end = reading.end
        if end < len(tokens) and tokens[end].norm == "thousands" and reading.value < 1000:
            offered.append(NumberReading(reading.value / 1000, end + 1, 0.0, "misprint", "thousandths"))
        elif end < len(tokens) and tokens[end].norm == "hundreds" and reading.value < 100:
            offered.append(NumberReading(reading.value / 100, end + 1, 0.0, "misprint", "hundredths"))
        elif tokens[end - 1].norm == "thousand" and reading.value % 1000 == 0 and reading.value < 10**6:
            offered.append(NumberReading(reading.value / 10**6, end, 2.5, "misprint", "thousandths"))
    return offered


def _compound_ordinals(tokens: Sequence[Token], i: int) -> list[NumberReading]:
    tens = TENS.get(tokens[i].norm)
    if tens is None or i + 1 >= len(tokens):
        return []
    one = ORDINALS.get(tokens[i + 1].norm)
    if one is None or one > 9:
        return []
    return [NumberReading(Fraction(tens + one), i + 2, 0.3, "ordinal")]


def _dozens(tokens: Sequence[Token], i: int, found: Sequence[NumberReading]) -> list[NumberReading]:
    dozens: list[NumberReading] = []
    if tokens[i].norm == "dozen":
        dozens.append(NumberReading(Fraction(12), i + 1, 0.3, "cardinal"))
    if tokens[i].norm in ARTICLES and i + 1 < len(tokens) and tokens[i + 1].norm == "dozen":
        dozens.append(NumberReading(Fraction(12), i + 2, 0.0, "cardinal"))
    for reading in found:
        at = reading.end
        if reading.value == _HALF and at < len(tokens) and tokens[at].norm in ARTICLES:
            at += 1
        if at < len(tokens) and tokens[at].norm == "dozen" and reading.style in ("cardinal", "fraction"):
            dozens.append(NumberReading(reading.value * 12, at + 1, reading.cost, "cardinal"))
    return dozens
