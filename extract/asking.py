"""Whether a clause asks: "do the casing bolts get ninety", "is it 85 or 90", "what came out" does not."""

from __future__ import annotations

from collections.abc import Sequence

from extract.mentions import Mention, Mentions
from extract.number_words import NUMBER_WORDS
from extract.numbers import is_number_word
from extract.quantity_arcs import longest_quantity
from extract.sheet_phrases import WEAK
from extract.tokens import Token
from extract.which_number import asks_which
from extract.word_sets import word_set

_FILLERS = word_set("clauses.fillers")
_VERBS = word_set("clauses.verbs")
_QUESTION_OPENERS = word_set("clauses.question_openers")
_WHETHER = ("is it", "was it", "are they", "were they")
_ROUGHLY = frozenset({"about", "around", "like", "at", "only"})
_POINTING = frozenset({"that", "this", "it", "which"})
_TAKING = frozenset({"get", "take", "want", "need", "go", "have", "like", "read", "measure", "show", "come"})
_SUBJECT_REACH = 7
_VERBS_OF_QUESTIONS = frozenset({"is", "are", "was", "were"})
#: A question mark decides by itself; without one the opener has to be at the clause's head.
_MARK = "?"


def asks(tokens: Sequence[Token], mentions: Mentions, start: int, end: int) -> bool:
    """Whether the clause of tokens ``start`` to before ``end`` asks something."""
    head = start
    while head < end and tokens[head].norm in _FILLERS:
        head += 1
    if tokens[end - 1].norm == _MARK or _asks_what_it_takes(tokens, head, end):
        return True
    if _of_thing_behind(tokens, mentions, head, end):
        return True
    if _likewise(tokens, mentions, head, end):
        return False
    whether = [
        m
        for m in mentions.cues("question")
        if m.form.startswith((*_WHETHER, "how much", "how many")) and m.end >= start and m.start < end
    ]
    if any(
        (m.start >= start and m.form in _WHETHER and asks_which(tokens, start, m, end))
        or _of_thing_before(tokens, mentions, m, end)
        for m in whether
    ):
        return True
    return any(
        (m.start == head and tokens[head].norm in _QUESTION_OPENERS)
        or (m.start == head and m.key == "question")
        for m in mentions.cues("question")
        if start <= m.start < end
    )


def _of_thing_before(tokens: Sequence[Token], mentions: Mentions, cue: Mention, end: int) -> bool:
    """Whether "flange bolts are they thirty two", "… how much it was" asks about what is named before."""
    named = any(m.end == cue.start for m in mentions.of("item", "part", "position"))
    at = cue.end
    while at < end and tokens[at].norm in _ROUGHLY | {"it", "was", "is", "ah", "uh", "they", "are", "were"}:
        at += 1
    asked = longest_quantity(tokens, at) if named and at < end else None
    # "… are they twenty, yeah twenty" answers itself.
    return asked is not None and (asked.end >= len(tokens) or tokens[asked.end].norm in ".?")


def _of_thing_behind(tokens: Sequence[Token], mentions: Mentions, head: int, end: int) -> bool:
    """Whether "is the seal setting forty", "was vane two nineteen" asks about what it names."""
    if head >= end or tokens[head].norm not in _VERBS_OF_QUESTIONS or head + 1 >= end:
        return False
    if head and tokens[head - 1].norm in ("so", "neither", "nor"):
        # "And so is the seat".
        return False
    at = head + 1 + (tokens[head + 1].norm in ("the", "my", "our", "that", "this"))
    named = mentions.of("item", "position")
    return any(m.start == at and m.cost < WEAK and m.end < end and m.form not in NUMBER_WORDS for m in named)


def _asks_what_it_takes(tokens: Sequence[Token], head: int, end: int) -> bool:
    """Whether "do the casing bolts get ninety" is asked; "do the casing bolts" alone may be what is done."""
    if head >= end or tokens[head].norm not in ("do", "does"):
        return False
    return any(token.norm in _TAKING for token in tokens[head + 2 : min(end, head + _SUBJECT_REACH)])


def is_what(tokens: Sequence[Token], start: int, end: int) -> bool:
    """Whether "impeller bolt's what, seventy" asks for a figure and offers one."""
    for i in range(start + 1, end - 1):
        at = i + 1 + (i + 2 < end and tokens[i + 1].norm == ",")
        asked = tokens[i].norm == "what" and tokens[i - 1].norm in ("is", "'s", "are", "'re", "was", "were")
        if (
            asked
            and tokens[i - 2 : i - 1]
            and tokens[i - 2].norm not in _POINTING
            and is_number_word(tokens[at])
        ):
            return True
    return False


def _likewise(tokens: Sequence[Token], mentions: Mentions, head: int, end: int) -> bool:
    """Whether "so is the seat" says the same of another part, and asks nothing."""
    if head + 1 < end and tokens[head].norm == "what":
        cues = mentions.cues("coming_out", "going_in")
        if any(head < m.start <= head + 2 and says(tokens, m.end) for m in cues):
            # "What came out was sixty one".
            return True
        # "What's cracked is the lantern ring".
        parts = mentions.of("part", "other_part")
        return any(
            tokens[i].norm in ("is", "'s", "are") and any(m.start == i + 2 for m in parts)
            for i in range(head + 3, end - 2)
        )
    if head == 0 or head >= end or tokens[head - 1].norm not in ("so", "neither", "nor"):
        return False
    return any(m.end >= end - 1 and m.start > head for m in mentions.of("part", "other_part", "position"))


def says(tokens: Sequence[Token], i: int) -> bool:
    """Whether a verb or a number follows, so that something new is said."""
    return i < len(tokens) and (tokens[i].norm in _VERBS or tokens[i].norm[0].isdecimal())
