"""How a work order is spelled aloud, as graphs of words: digits, letters, radio letters, teens and tens."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

#: From, to, probability, word (None for nothing said).
Arc = tuple[int, int, float, str | None]

_ONES = ("zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine")
_TEENS = (
    "ten", "eleven", "twelve", "thirteen", "fourteen", "fifteen", "sixteen", "seventeen", "eighteen",
    "nineteen",
)  # fmt: skip
_TENS = ("", "", "twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety")
_RADIO = (
    "alpha", "bravo", "charlie", "delta", "echo", "foxtrot", "golf", "hotel", "india", "juliet", "kilo",
    "lima", "mike", "november", "oscar", "papa", "quebec", "romeo", "sierra", "tango", "uniform",
    "victor", "whiskey", "x-ray", "yankee", "zulu",
)  # fmt: skip
#: How often each is said in a code, guessed: mostly digits one by one. Letters are short and fit anywhere,
#: so that more of them made "eight" an "a h".
_SHARE = {"digit": 0.05, "tens": 0.01, "between": 0.004, "letter": 0.0008}
_PREFIX: tuple[Arc, ...] = (
    (0, 1, 1.0, "work"), (1, 2, 1.0, "order"),
    (2, 3, 0.2, "number"), (2, 3, 0.1, "is"), (2, 3, 0.7, None),
)  # fmt: skip


def any_code() -> tuple[int, list[Arc]]:
    """Return the last state and the arcs of "work order" and any code."""
    words = list(_any_word())
    arcs = [*_PREFIX, *((3, 4, share, word) for word, share in words)]
    return 4, [*arcs, *((4, 4, share, word) for word, share in words)]


def one_of(codes: Iterable[str]) -> tuple[int, list[Arc]]:
    """Return the last state and the arcs of "work order" and one of some codes (letters and digits)."""
    arcs: list[Arc] = list(_PREFIX)
    free = 5
    for code in codes:
        states = [3, *range(free, free + len(code) - 1), 4]
        free += len(code) - 1
        for at, length, words in _pieces(code):
            place = states[at]
            for word in words[:-1]:
                arcs.append((place, free, _SHARE["digit"], word))
                place, free = free, free + 1
            arcs.append((place, states[at + length], _SHARE["digit"], words[-1]))
    return 4, arcs


def _any_word() -> Iterator[tuple[str, float]]:
    yield from ((word, _SHARE["digit"]) for word in (*_ONES, "oh"))
    yield from ((word, _SHARE["tens"]) for word in (*_TEENS, *_TENS[2:], "double"))
    yield from ((word, _SHARE["between"]) for word in ("triple", "hundred", "dash"))
    yield from (
        (word, _SHARE["letter"]) for word in (*_RADIO, *(f"{c}." for c in "abcdefghijklmnopqrstuvwxyz"))
    )


def _pieces(code: str) -> Iterator[tuple[int, int, Sequence[str]]]:
    """Yield where a piece of a code begins, how many characters it has and the words that it can be."""
    for at, c in enumerate(code):
        if c.isdecimal():
            yield at, 1, [_ONES[int(c)]]
            if c == "0":
                yield at, 1, ["oh"]
        else:
            yield at, 1, [f"{c.lower()}."]
            yield at, 1, [_RADIO[ord(c.lower()) - ord("a")]]
        pair = code[at : at + 2]
        if len(pair) == 2 and pair[0] == pair[1]:
            yield at, 2, ["double", _ONES[int(c)] if c.isdecimal() else f"{c.lower()}."]
        if len(pair) == 2 and pair.isdecimal() and pair[0] != "0":
            yield at, 2, _two_digits(int(pair))


def _two_digits(number: int) -> list[str]:
    if number < 20:
        return [_TEENS[number - 10]]
    tens, ones = divmod(number, 10)
    return [_TENS[tens], *([_ONES[ones]] if ones else [])]
