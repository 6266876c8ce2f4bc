"""Codes as they are spelled aloud: "w two oh eight", "double six one nine", "four seven dash b"."""

from __future__ import annotations

from collections.abc import Sequence

from extract.identifiers import code_end
from extract.number_words import ONES, TEENS, TENS, ZEROS
from extract.tokens import Token
from extract.word_sets import word_set

_NATO = {
    word: word[0].upper()
    for word in [
        "alpha",
        "bravo",
        "charlie",
        "delta",
        "echo",
        "foxtrot",
        "golf",
        "hotel",
        "india",
        "juliet",
        "kilo",
        "lima",
        "mike",
        "november",
        "oscar",
        "papa",
        "quebec",
        "romeo",
        "sierra",
        "tango",
        "uniform",
        "victor",
        "whiskey",
        "xray",
        "yankee",
        "zulu",
    ]
}
_TIMES = {"double": 2, "triple": 3, "treble": 3}
_BETWEEN = word_set("spelled_codes.between")
_DASHES = (["dash"], ["-"], ["hyphen"], ["stroke"], ["slash"], ["/"])
_MOST_BETWEEN = 7


def code_after(tokens: Sequence[Token], nouns: Sequence[str]) -> str | None:
    """Return the code that follows a noun ("serial number is five five zero nine four"), None without one."""
    norms = [token.norm for token in tokens]
    for i in range(len(norms) - len(nouns) + 1):
        if tuple(norms[i : i + len(nouns)]) != tuple(nouns):
            continue
        start = i + len(nouns)
        steps = 0
        while start < len(norms) and steps < _MOST_BETWEEN and _is_between(norms, start):
            start += 1
            steps += 1
        end = _code_end(norms, start) if start < len(norms) else start
        if end > start:
            return spelled_code(tokens, start, end)
    return None


def _code_end(norms: Sequence[str], start: int) -> int:
    """Return the end of a code; one printed in a piece ("P326A") and a last letter "a" are of it."""
    end = max(code_end(norms, start), start)
    prefix = norms[start].isalpha() and len(norms[start]) <= 4 and norms[start + 1 : start + 2] in _DASHES
    if end == start and prefix:
        end = max(code_end(norms, start + 2) if start + 2 < len(norms) else start, start)
    while end < len(norms) and _is_mixed(norms[end]):
        end = max(end + 1, code_end(norms, end + 1) if end + 1 < len(norms) else 0)
    closes = end + 1 == len(norms) or norms[end + 1 : end + 2] in ([","], ["."], [";"])
    return end + 1 if end > start and norms[end : end + 1] == ["a"] and closes else end


def _is_mixed(norm: str) -> bool:
    return norm.isalnum() and any(c.isdigit() for c in norm) and any(c.isalpha() for c in norm)


def _is_between(norms: Sequence[str], i: int) -> bool:
    if norms[i] == "a" and code_end(norms, i) > i + 1:
        return False
    return norms[i] in _BETWEEN or norms[i] in ("off", "from", "here", "reading", "plate")


def spelled_code(tokens: Sequence[Token], start: int, end: int) -> str:
    """Write a spoken or printed code the way that it stands on a plate: figures, capitals, hyphens."""
    code = ""
    times = 1
    i = start
    while i < end:
        norm = tokens[i].norm
        following = tokens[i + 1].norm if i + 1 < end else ""
        piece = ""
        if norm in _TIMES:
            times = _TIMES[norm]
        elif norm in TENS and following in ONES:
            piece = str(TENS[norm] + ONES[following])
            i += 1
        elif norm == "hundred":
            piece = "00"
        elif norm in ("dash", "hyphen", "-"):
            piece = "-"
        elif norm in ("slash", "stroke", "/"):
            piece = "/"
        elif norm in _NATO and len(norm) > 1 and norm not in ONES:
            # "b for bravo", "bravo": the letter stands once.
            piece = (
                ""
                if code[-1:] == _NATO[norm] and i and tokens[i - 1].norm in ("for", "as", "in")
                else _NATO[norm]
            )
        elif norm in ("as", "in", "for", "dot"):
            piece = ""
        else:
            piece = _figure(norm)
        if piece:
            code += piece * times
            times = 1
        i += 1
    return code.strip("-/")


def _figure(norm: str) -> str:
    if norm in ZEROS:
        return "0"
    value = ONES.get(norm) or TEENS.get(norm) or TENS.get(norm)
    return str(value) if value is not None else norm.upper()
