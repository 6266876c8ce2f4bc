"""All the ways in which one written form may come out of a recogniser's mouth.

"o d" is printed "OD", "vane one" is printed "Vane 1", "run out" and "runout" are one word to the
ear, and a mechanic says "shim" where the sheet says "shims". Every form is spelled out once, at
load, so that matching stays exact and fast.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator
from itertools import product

from extract.number_words import ONES, ORDINALS, TEENS, TENS

Words = tuple[str, ...]

_FIGURES: dict[str, str] = {
    word: str(value) for word, value in (*ONES.items(), *TEENS.items(), *TENS.items())
}
_ORDINAL_FIGURES: dict[str, str] = {}
for _word, _value in ORDINALS.items():
    _tail = {1: "st", 2: "nd", 3: "rd"}.get(_value % 10 if _value % 100 not in (11, 12, 13) else 0, "th")
    _ORDINAL_FIGURES[_word] = f"{_value}{_tail}"
_SAID_FIGURES = _FIGURES.keys() | _ORDINAL_FIGURES.keys()
_CLITICS = {
    "is": "'s",
    "has": "'s",
    "are": "'re",
    "have": "'ve",
    "had": "'d",
    "will": "'ll",
    "would": "'d",
    "am": "'m",
}
#: What the last word of a name is cut to at the bench (common practice, no source).
_CUT_SHORT = {"temperature": ("temp", "temps"), "diameter": ("dia",)}
_MAX_VARIANTS = 64
#: Letters only: nothing in it can be cut otherwise than at its spaces.
_PLAIN = re.compile(r"[a-z]+(?: [a-z]+)*")


def cut_form(form: str) -> Words:
    """Cut a spoken form into the words that the token stream has for it.

    ``o-ring`` gives ``o ring``; ``it's`` gives ``it 's``; signs that stand alone fall away.
    """
    if _PLAIN.fullmatch(form) and "disk" not in form:
        # What the cutting below would give; 30 000 forms are read at every start, nearly all of them so.
        return tuple(form.split(" "))
    from extract.tokens import tokenize

    return tuple(token.norm for token in tokenize(form) if token.norm[0].isalnum() or token.norm[0] == "'")


def spellings(form: str, *, inflect: bool = False, known: Collection[str] = ()) -> tuple[Words, ...]:
    """Return a spoken form as words, and every other way to write the same sounds.

    Args:
        form: lower case, words parted by one space.
        inflect: the last word is a noun; offer its other number (shim, shims).
        known: words that exist; a word that is two of them run together is offered cut.
    """
    words = cut_form(form)
    if not words:
        return ()
    found: dict[Words, None] = {}
    for base in _numbers(words, inflect):
        for spelled in _figures(base):
            for joined in _joined(spelled):
                found.setdefault(joined)
        for split in _split(base, known) if known else ():
            found.setdefault(split)
        for short in _shortened(base):
            found.setdefault(short)
        if len(found) > _MAX_VARIANTS:
            break
    return tuple(found)


def other_number(noun: str) -> str:
    """Return the plural of a singular noun and the singular of a plural one."""
    if noun.endswith("ies") and len(noun) > 4:
        return noun[:-3] + "y"
    if noun.endswith(("shes", "ches", "xes", "sses")):
        return noun[:-2]
    if noun.endswith("s") and not noun.endswith(("ss", "us", "is")):
        return noun[:-1]
    if noun.endswith(("sh", "ch", "x", "ss")):
        return noun + "es"
    if noun.endswith("y") and len(noun) > 2 and noun[-2] not in "aeiou":
        return noun[:-1] + "ies"
    return noun + "s"


def _numbers(words: Words, inflect: bool) -> Iterator[Words]:
    yield words
    if inflect and len(words[-1]) > 2 and words[-1].isalpha():
        yield (*words[:-1], other_number(words[-1]))


def _figures(words: Words) -> Iterator[Words]:
    if _SAID_FIGURES.isdisjoint(words):
        yield words
        return
    choices = []
    for word in words:
        figure = _FIGURES.get(word) or _ORDINAL_FIGURES.get(word)
        choices.append((word, figure) if figure else (word,))
    yield from product(*choices)


def _joined(words: Words) -> Iterator[Words]:
    yield words
    letters = [word.isalpha() for word in words]
    for i in range(len(words) - 1):
        if letters[i] and letters[i + 1]:
            yield (*words[:i], words[i] + words[i + 1], *words[i + 2 :])
    if len(words) < 3:
        return
    run = [i for i, word in enumerate(words) if letters[i] and len(word) == 1]
    if len(run) > 2 and run == list(range(run[0], run[-1] + 1)):
        yield (*words[: run[0]], "".join(words[i] for i in run), *words[run[-1] + 1 :])


def _split(words: Words, known: Collection[str]) -> Iterator[Words]:
    for i, word in enumerate(words):
        if len(word) < 6 or not word.isalpha():
            continue
        for cut in range(3, len(word) - 2):
            if word[:cut] in known and word[cut:] in known:
                yield (*words[:i], word[:cut], word[cut:], *words[i + 1 :])


def _shortened(words: Words) -> Iterator[Words]:
    for short in _CUT_SHORT.get(words[-1], ()):
        yield (*words[:-1], short)
    if _CLITICS.keys().isdisjoint(words):
        return
    for i, word in enumerate(words):
        clitic = _CLITICS.get(word)
        if clitic is not None and len(words) > 1:
            yield (*words[:i], clitic, *words[i + 1 :])
