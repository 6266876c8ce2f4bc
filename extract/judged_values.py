"""Values that are judged: "five's twenty three, too loose" is a value, "two thou too loose" a difference.

Which of the two is meant shows where a place is said to have the value, and where that value is out of
its limits on the side that the judgement names.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from extract.mentions import Mention, Mentions
from extract.number_words import ONES
from extract.placings import Item
from extract.quantity_arcs import Quantity
from extract.reading_drafts import ReadingDraft
from extract.sheet_phrases import WEAK
from extract.tokens import Token
from extract.word_sets import word_set
from shared.units import decimal_text

_JUDGING = "too "
#: How something differs from its size; beside a whole size that is judged.
OF_SIZE = frozenset({"under size", "undersize", "over size", "oversize", "under nominal", "over nominal"})
_WHOLE_SIZE = 4
_COPULAS = frozenset({"is", "'s", "was", "at", "has", "got"})
_TOO_MUCH = word_set("judged_values.too_much")


def is_whole_size(amount: Quantity) -> bool:
    """Whether an amount has so many figures that it is what was measured ("149.86, under size")."""
    figures = decimal_text(amount.value or Fraction(0)).replace(".", "").strip("-0")
    return len(figures) >= _WHOLE_SIZE


def told_of_place(tokens: Sequence[Token], mentions: Mentions, cue: Mention, amount: Quantity) -> bool:
    """Whether "too loose" stands behind the amount that a place is said to have."""
    if not cue.form.startswith(_JUDGING) or not amount.start:
        return False
    linked = tokens[amount.start - 1].norm in _COPULAS
    at = amount.start - linked
    counted = linked and at > 0 and (tokens[at - 1].norm in ONES or tokens[at - 1].norm.isdecimal())
    return counted or any(m.end == at and m.cost < WEAK for m in mentions.of("position"))


def judged_rightly(form: str, draft: ReadingDraft, item: Item) -> bool:
    """Whether a bare value at a place is out of its limits on the side that "too loose", "too tight" says.

    "Eight thou too tight" may be by how much, wherever it was measured.
    """
    bare = draft.quantity is not None and draft.quantity.unit is None
    if not form.startswith(_JUDGING) or not bare or draft.position is None or draft.value is None:
        return False
    if form.removeprefix(_JUDGING) in _TOO_MUCH:
        return item.upper is not None and draft.value > Fraction(str(item.upper))
    return item.lower is not None and draft.value < Fraction(str(item.lower))
