"""Whole numbers as they are said: proper cardinals, and digits or pairs run on ("one fifty five").

Every function reads from one token on and returns all that the words allow, each with its end.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from extract.number_words import ARTICLES, ONES, POWERS, REPEATS, TEENS, TENS, ZEROS
from extract.tokens import Token

#: More digits than this in one breath are a part number or noise, never a reading.
MAX_RUN_DIGITS = 10


class Whole(NamedTuple):
    """A whole number read from words."""

    value: int
    end: int
    """Index of the token after it."""
    cost: float
    style: str
    """cardinal, juxtaposed, digit_run, mixed_run or article."""
    digits: str = ""
    """The digits as said one after another, where the number was said so (leading zeros kept)."""


class Chunk(NamedTuple):
    """A piece of a run: one digit, or a number of two digits."""

    digits: str
    end: int
    shorter: tuple[str, int] | None = None
    """The tens alone ("twenty" of "twenty eight")."""
    printed: bool = False


def small_numbers(tokens: Sequence[Token], i: int) -> list[tuple[int, int]]:
    """Read 1 to 99 in words at ``i``: (value, end), the longest first."""
    if i >= len(tokens):
        return []
    word = tokens[i].norm
    if word in ONES:
        return [(ONES[word], i + 1)]
    if word in TEENS:
        return [(TEENS[word], i + 1)]
    tens = TENS.get(word)
    if tens is None:
        return []
    one = ONES.get(tokens[i + 1].norm) if i + 1 < len(tokens) else None
    if one is None:
        return [(tens, i + 1)]
    return [(tens + one, i + 2), (tens, i + 1)]


def _word(tokens: Sequence[Token], i: int) -> str:
    return tokens[i].norm if i < len(tokens) else ""


def _printed(tokens: Sequence[Token], i: int, longest: int) -> int | None:
    if i < len(tokens):
        text = tokens[i].text
        if text.isdecimal() and len(text) <= longest:
            return int(text)
    return None


def _tail(tokens: Sequence[Token], i: int, below_100: bool) -> list[tuple[int, int, float]]:
    """Read what follows "hundred" or "thousand", with or without "and": (value, end, cost)."""
    at = i + 1 if _word(tokens, i) == "and" else i
    found = [(value, end, 0.0) for value, end in small_numbers(tokens, at)]
    if at == i and _word(tokens, i) in ZEROS and _word(tokens, i + 1) in ONES:
        found.append((ONES[tokens[i + 1].norm], i + 2, 0.4))
    if not below_100:
        found += [(w.value, w.end, w.cost) for w in _hundreds(tokens, at)]
    return found


def _hundreds(tokens: Sequence[Token], i: int) -> list[Whole]:
    word = _word(tokens, i)
    heads: list[tuple[int, int, float]] = [
        (value, end, 0.0 if value % 10 else (1.0 if value > 10 else 0.4))
        if value >= 10
        else (value, end, 0.0)
        for value, end in small_numbers(tokens, i)
    ]
    if word in ARTICLES:
        heads.append((1, i + 1, 0.0))
    if word == "hundred" and (i == 0 or not _is_piece(tokens[i - 1])):
        heads.append((1, i, 0.3))
    printed = _printed(tokens, i, 2)
    if printed:
        heads.append((printed, i + 1, 0.2))
    found: list[Whole] = []
    for head, at, cost in heads:
        if _word(tokens, at) != "hundred":
            continue
        found += [
            Whole(head * 100 + rest, end, cost + more, "cardinal")
            for rest, end, more in _tail(tokens, at + 1, below_100=True)
        ]
        found.append(Whole(head * 100, at + 1, cost, "cardinal"))
    return found


def _thousands(tokens: Sequence[Token], i: int) -> list[Whole]:
    heads = [(v, e, 0.0) for v, e in small_numbers(tokens, i)]
    heads += [(w.value, w.end, w.cost) for w in _hundreds(tokens, i)]
    if _word(tokens, i) in ARTICLES:
        heads.append((1, i + 1, 0.0))
    printed = _printed(tokens, i, 3)
    if printed:
        heads.append((printed, i + 1, 0.2))
    found: list[Whole] = []
    for head, at, cost in heads:
        power = POWERS.get(_word(tokens, at))
        if power is None:
            continue
        found += [
            Whole(head * power + rest, end, cost + more, "cardinal")
            for rest, end, more in _tail(tokens, at + 1, below_100=False)
        ]
        if power > 1000:
            found += [
                Whole(head * power + w.value, w.end, cost + w.cost, "cardinal")
                for w in _thousands(tokens, at + 1)
                if w.value < power
            ]
        found.append(Whole(head * power, at + 1, cost, "cardinal"))
    return found


def cardinals_at(tokens: Sequence[Token], i: int) -> list[Whole]:
    """Read proper cardinals at ``i`` ("a hundred and fifty five"), every shorter one included."""
    found = [Whole(value, end, 0.0, "cardinal") for value, end in small_numbers(tokens, i)]
    word = _word(tokens, i)
    if word in ZEROS and word not in ("o", "oh", "ought"):
        found.append(Whole(0, i + 1, 0.0, "cardinal", "0"))
    elif word == "oh":
        found.append(Whole(0, i + 1, 1.5, "cardinal", "0"))
    # A head of hundreds or thousands is two words at most ("twenty nine hundred").
    if word == "hundred" or _word(tokens, i + 1) in _POWER_WORDS or _word(tokens, i + 2) in _POWER_WORDS:
        found += _hundreds(tokens, i)
        found += _thousands(tokens, i)
    return found


def _is_piece(token: Token) -> bool:
    return token.norm in _SMALL or token.text[-1].isdecimal()


_SMALL = frozenset({*ONES, *TEENS, *TENS})
_POWER_WORDS = frozenset({"hundred", *POWERS})


def chunk_at(tokens: Sequence[Token], i: int) -> Chunk | None:
    """Read one piece of a run at ``i``: a digit, "oh", "double four", a teen, tens with a digit."""
    word = _word(tokens, i)
    if word in ZEROS:
        return Chunk("0", i + 1)
    if word in REPEATS:
        following = _word(tokens, i + 1)
        digit = "0" if following in ZEROS else str(ONES.get(following, ""))
        return Chunk(digit * REPEATS[word], i + 2) if digit else None
    small = small_numbers(tokens, i)
    if small:
        longest = small[0]
        shorter = (str(small[1][0]), small[1][1]) if len(small) > 1 else None
        return Chunk(str(longest[0]), longest[1], shorter)
    if i < len(tokens):
        text = tokens[i].text
        if len(text) <= 2 and text.isdecimal():
            return Chunk("".join(str(int(d)) for d in text), i + 1, None, True)
    return None


def runs_at(tokens: Sequence[Token], i: int) -> list[Whole]:
    """Read digits and pairs run on at ``i``, every shorter run included; at least two pieces each."""
    digits = ""
    shape = ""
    printed = False
    found: list[Whole] = []
    at = i
    while len(digits) < MAX_RUN_DIGITS:
        chunk = chunk_at(tokens, at)
        if chunk is None or (digits and chunk.printed and not printed):
            # "three 20 thou" is three of them; nobody prints one number half in words.
            break
        printed = printed or chunk.printed
        if digits:
            if chunk.shorter is not None:
                found.append(_run(digits + chunk.shorter[0], shape + "2", chunk.shorter[1], printed, 0.6))
            found.append(_run(digits + chunk.digits, shape + _shape(chunk), chunk.end, printed))
        elif tokens[at].norm in REPEATS:
            found.append(_run(chunk.digits, _shape(chunk), chunk.end, printed))
        digits += chunk.digits
        shape += _shape(chunk)
        at = chunk.end
    return found


def behind_hundreds(tokens: Sequence[Token], wholes: Sequence[Whole]) -> list[Whole]:
    """Read the figures behind a number of hundreds, the point unsaid: "a hundred and sixty oh two" (160.02).

    Args:
        wholes: the cardinals before them.
    """
    found: list[Whole] = []
    for whole in wholes:
        hundreds = whole.style == "cardinal" and 100 <= whole.value < 1000
        if not hundreds or _word(tokens, whole.end) not in ZEROS:
            continue
        digits, at = str(whole.value), whole.end
        while len(digits) < MAX_RUN_DIGITS and (chunk := chunk_at(tokens, at)) is not None:
            if chunk.printed:
                break
            digits += chunk.digits
            at = chunk.end
        if at > whole.end + 1:
            found.append(Whole(int(digits), at, 0.3, "mixed_run", digits))
    return found


def _shape(chunk: Chunk) -> str:
    if chunk.digits.strip("0") == "":
        return "0" * len(chunk.digits)
    return "d" if len(chunk.digits) == 1 else "2"


#: How often people join pieces so; what is not here is rarer still.
_SHAPE_COSTS = {
    "d2": 0.1, "22": 0.3, "d0d": 0.1, "20d": 0.3, "dd": 0.9, "d00": 0.5, "200": 0.8, "d20d": 1.6,
    "d22": 1.2, "20dd": 0.6, "200d": 0.6, "0d2": 1.0, "002": 0.6, "0d": 0.5, "02": 0.5, "00": 0.8,
}  # fmt: skip


def _run(digits: str, shape: str, end: int, printed: bool, extra: float = 0.0) -> Whole:
    cost = _SHAPE_COSTS.get(shape)
    if "2" not in shape:
        style = "digit_run"
        if cost is None:
            cost = 0.5
    else:
        style = "juxtaposed" if shape in ("d2", "22", "d0d", "20d") else "mixed_run"
        if cost is None:
            cost = 2.4 + 1.1 * (shape.count("2") - 1)
    if shape == "d0d":
        style = "juxtaposed"
    return Whole(int(digits), end, cost + extra + (0.4 if printed else 0.0), style, digits)
