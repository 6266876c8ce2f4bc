"""One token stream for both ways in which engines write speech.

Word form is what a grammar-bound engine prints ("point oh three one thou", lower case, no signs);
print form is what a large model prints ("Vane 3, 0.031\\"", "30,000ths", "1-7/8", "155 ft-lbs").
Both come out as the same kind of token with the place in the text that it stands on, so that
everything after this room reads them alike.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Any, NamedTuple

from extract.number_words import ONES, TEENS, TENS, ZEROS

#: Vulgar fractions that Unicode has as one sign.
VULGAR_SIGNS = "¼½¾⅐⅑⅒⅓⅔⅕⅖⅗⅘⅙⅚⅛⅜⅝⅞"


class Token(NamedTuple):
    """One word, number or sign of an utterance."""

    text: str
    """As written."""
    norm: str
    """Lower case, with straight quotes, one kind of minus and one kind of plus-or-minus."""
    start: int
    """Place of the first character in the text."""
    end: int
    """Place after the last character."""


class TokenLine(tuple[Token, ...]):
    """The tokens of one utterance, with what was worked out about them, so that nobody does it twice."""

    def __init__(self, _tokens: Iterable[Token]) -> None:
        self.worked_out: dict[int, Any] = {}
        """By token; the amounts that can start there (:func:`extract.quantity_grammar.arcs_at`)."""
        self.hedged: dict[int, Any] = {}
        """By token; the same with their hedges (:func:`extract.quantity_arcs.quantities_at`)."""


_TOKEN = re.compile(
    rf"""
    (?P<clock>o['’]clock|(?<=\d)['’]clock)
  | (?P<ordinal>\d+(?:,\d{{3}})*(?:st|nd|rd|th)s?(?![^\W\d_]))
  | (?P<number>\d+(?:,\d{{3}})+(?!\d)(?:\.\d+)? | (?<!\d)0,\d+ | \d+\.\d+ | (?<![\w.])\.\d+ | \d+)
  | (?P<vulgar>[{VULGAR_SIGNS}])
  | (?P<clitic>['’](?:s|ll|re|ve|d|m)(?![^\W_]))
  | (?P<clipped>(?:wi|an|[^\W\d_]{{2,}}in)['’](?![^\W_]))
  | (?P<word>[^\W\d_](?:[^\W_]|['’](?!(?:s|ll|re|ve|d|m)(?![^\W_]))[^\W\d_])*
        | ['’][^\W\d_]+)
  | (?P<inch>''|[\u201c\u201d\u2033"])
  | (?P<plusminus>\+\s?/\s?[-\u2212\u2013] | \+[-\u2212])
  | (?P<sign>\S)
    """,
    re.VERBOSE | re.IGNORECASE,
)  # fmt: skip
_SIGNS = {
    "’": "'",
    "‘": "'",
    "−": "-",
    "–": "-",
    "‐": "-",
    "‑": "-",
    "⁄": "/",
    "∕": "/",
    "⋅": "·",
    "º": "°",
    ">": "over",
    "<": "under",
}
_FIXED_NORMS = {"inch": '"', "plusminus": "±", "clock": "o'clock"}
_DENIED = (
    "did",
    "does",
    "was",
    "is",
    "are",
    "were",
    "has",
    "have",
    "had",
    "could",
    "would",
    "should",
    "need",
)
#: Dialect as recognisers write it, and other spellings, in the words that they stand for.
_CLIPPED = {
    "wi'": "with", "an'": "and", "un": "one", "uns": "ones", "'un": "one", "'uns": "ones", "em": "'em",
    "nowt": "nothing", "owt": "anything", "nobbut": "only", "afore": "before", "summat": "something",
    "wi": "with", "tae": "to", "frae": "from", "fae": "from", "oot": "out", "doon": "down", "aboot": "about",
    "roon": "round", "aff": "off", "ower": "over", "efter": "after", "yin": "one", "yins": "ones",
    "twa": "two", "thae": "those", "auld": "old", "hae": "have", "awfy": "awfully", "ma": "my", "nae": "no",
    "cannae": "can't", "canna": "can't", "dinnae": "don't", "dinna": "don't", "winnae": "won't",
    "willnae": "won't",
    "disk": "disc", "disks": "discs",  # One word for both spellings.
    **{f"{verb}{end}": f"{verb}n't" for verb in _DENIED for end in ("nae", "na", "ny")},
}  # fmt: skip
_LABELLED = frozenset({"vane", "vanes", "vein", "vain", "stage", "number", "rod", "ring", "position"})
_HYPHENS = frozenset("-‐‑")
#: "Re-used" is one word, so that no name before it ends in "re".
_AGAIN = re.compile(
    r"re[-‐‑](use[ds]?|using|fit(?:ted|ting)?|new(?:ed|ing)?|install(?:ed|ing)?)(?!\w)", re.IGNORECASE
)
#: "3 one-thousandths" are three, not thirty one.
_ONE_PART = re.compile(r"one[-‐‑]((?:tenth|hundredth|thousandth)s?)(?!\w)", re.IGNORECASE)
#: Digits said one by one, printed with hyphens: "1-1-8-1-4".
_ONE_BY_ONE = re.compile(r"(?<![\w.-])\d(?:-\d){3,}(?![\w-]|\.\d)")
#: "Threes 9, fours 8": the label's clitic lost its apostrophe; a mishearing among them.
_LABELS = {
    **{f"{number}s": number for number in ("two", "three", "four", "five")},
    "sixes": "six",
    "trees": "three",
}
_NUMBERS = frozenset({*ZEROS, *ONES, *TEENS, *TENS, "half", "point"}) - {"o"}
#: "No. 2, 11 thou" and "No. 2 is 11": an abbreviation before a place. "No. 2 thou." denies.
_NUMBERED = re.compile(
    r"\.\s?(?=\d{1,2}(?:\s?[,:;]\s?\.?\d|['’]s\s|\s(?:is|was|at|reads|measures|and)\s\.?\d|\s\.?\d+(?![\d\s]*/)))"
)
#: "Rod no. 4": written small amid a sentence it denies nothing.
_NUMBERED_AMID = re.compile(r"\.\s?(?=\d{1,2}(?!\d))")
_STOPS = frozenset(".,;:?!")
_BEFORE_LABEL = frozenset({",", ".", "and", "then", "now", "so", "okay"})
# A spoken letter before a number makes a name of it (M12, W208); a unit run on to it does not ("5psi").
_DIGIT_THEN_LETTER = re.compile(r"(?<=\d)(?=[^\W\d_])")


def tokenize(text: str) -> tuple[Token, ...]:
    """Cut any text into tokens, in order; white space and hyphens inside compounds fall away.

    ``one's`` gives ``one`` and ``'s``; ``31thou`` gives ``31`` and ``thou``; ``M12`` and ``o'clock``
    stay whole; ``twenty-one`` and ``ft-lb`` lose their hyphen, ``1-7/8`` and ``W-208`` keep theirs.
    """
    tokens: list[Token] = []
    append = tokens.append
    spelled = {m.start(): m for m in _ONE_BY_ONE.finditer(text)} if "-" in text else {}
    past = 0
    for match in _TOKEN.finditer(text):
        kind = match.lastgroup or "sign"
        start, end = match.span()
        if start < past:
            continue
        if start in spelled:
            past = spelled[start].end()
            digits = text[start:past].replace("-", "")
            append(Token(digits, digits, start, past))
            continue
        if kind == "sign":
            written = text[start]
            if written in _HYPHENS and _inside_compound(text, start):
                continue
            numbered = written == "#" and text[end : end + 1].isdecimal()
            append(Token(written, "number" if numbered else _SIGNS.get(written, written.lower()), start, end))
            continue
        written = text[start:end]
        norm = _FIXED_NORMS.get(kind)
        if norm is None:
            norm = written.lower()
            if not norm.isascii():
                # One apostrophe, and one mu: recognisers print the Greek letter for the micro sign.
                norm = norm.replace("’", "'").replace("\u03bc", "\u00b5")
            if tokens or norm != "un":
                norm = _CLIPPED.get(norm, norm)
                if norm.endswith("in'"):
                    # "Comin'".
                    norm = f"{norm[:-1]}g"
        if kind == "number" and len(norm) >= 5 and tokens and _is_label_and_value(tokens[-1].norm, norm):
            # "Vane 3.031": the model ran the label and the reading together.
            append(Token(written[0], norm[0], start, start + 1))
            append(Token(written[1:], norm[1:], start + 1, end))
            continue
        counted = norm == "one" and tokens and (tokens[-1].text[0].isdecimal() or tokens[-1].norm in _NUMBERS)
        part = _ONE_PART.match(text, start) if counted else None
        if part is not None:
            past = part.end()
            append(Token(text[start:past], part[1].lower(), start, past))
            continue
        again = _AGAIN.match(text, start) if norm == "re" else None
        if again is not None:
            past = again.end()
            append(Token(text[start:past], f"re{again[1].lower()}", start, past))
            continue
        if norm == "no" and text[end : end + 1] == ".":
            amid = written == "no" and tokens and tokens[-1].norm not in _STOPS
            dot = (_NUMBERED_AMID if amid else _NUMBERED).match(text, end)
            if dot is not None:
                past = end + 1
                append(Token(text[start:past], "number", start, past))
                continue
        if (kind == "number" or norm in _NUMBERS) and tokens and tokens[-1].norm in _LABELS:
            _split_label(tokens)
        append(Token(written, norm, start, end))
    return tuple(tokens)


def _split_label(tokens: list[Token]) -> None:
    """Cut "Threes", said before a value, into its label and the clitic that a model ran on to it."""
    label = tokens[-1]
    before = tokens[-2].norm if len(tokens) > 1 else "."
    if before in _BEFORE_LABEL or before.isdecimal() or before in _NUMBERS:
        cut = label.end - 1
        tokens[-1] = Token(label.text[:-1], _LABELS[label.norm], label.start, cut)
        tokens.append(Token(label.text[-1], "'s", cut, label.end))


def _is_label_and_value(before: str, figures: str) -> bool:
    return before in _LABELLED and figures[1:3] == ".0" and figures[0] != "0" and figures[1:].count(".") == 1


def _inside_compound(text: str, at: int) -> bool:
    """Tell whether a hyphen only joins words: letters on both sides, or a number before a word."""
    if at == 0 or at + 1 >= len(text):
        return False
    before, after = text[at - 1], text[at + 1]
    return after.isalpha() and before.isalnum()
