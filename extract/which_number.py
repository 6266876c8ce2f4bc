"""A question that leaves open which of two numbers it is: "for the casing bolts, is it 85 or 90"."""

from __future__ import annotations

from collections.abc import Sequence

from extract.mentions import Mention
from extract.numbers import is_number_word
from extract.quantity_arcs import longest_quantity
from extract.tokens import Token


def asks_which(tokens: Sequence[Token], start: int, cue: Mention, end: int) -> bool:
    """Whether a clause asks which of two numbers it is, and tells none ("is it forty five or fifty")."""
    behind = range(cue.end, end)
    ors = [i for i in behind if tokens[i].norm == "or"]
    if len(ors) != 1 or any(is_number_word(tokens[i]) for i in range(start, cue.start)):
        return False
    first, second = longest_quantity(tokens, cue.end), longest_quantity(tokens, ors[0] + 1)
    if first is None or second is None or first.end != ors[0]:
        return False
    return not any(is_number_word(tokens[i]) for i in range(second.end, end))
