"""Values of before that a value of now is set beside: "down to fourteen from twenty eight".

The number behind "from" is what it was; it makes no reading, where the words say that something moved
or a value stands right before it; nor does what "was two before" behind a value. "From ten to twelve
o'clock" and a range keep both numbers.
"""

from __future__ import annotations

from collections.abc import Sequence

from extract.quantity_arcs import Quantity, longest_quantity, quantities_at
from extract.tokens import Token
from extract.word_sets import word_set

#: "Improved from thirty", "went from thirty to eighteen".
_CHANGING = word_set("former_values.changing")
#: "Thirty down from sixty", "is down to fourteen from twenty eight".
_MOVED = _CHANGING | {"down", "up"}
_BETWEEN = frozenset({"the", "a", "about", "around", "roughly", "what", "was", "like", ","})
_REACH = 5
#: What tells that a value is of before.
_BEFORE_NOW = (
    ("before",),
    ("originally",),
    ("at", "first"),
    ("to", "start"),
    ("to", "begin"),
    ("when", "it", "came"),
    ("when", "i", "started"),
    ("when", "i", "opened"),
)


def former_values(tokens: Sequence[Token]) -> list[Quantity]:
    """Return the numbers that say what something was before."""
    found = []
    for i in range(1, len(tokens) - 1):
        if tokens[i].norm != "from":
            continue
        at = i + 1
        while at < len(tokens) - 1 and tokens[at].norm in _BETWEEN and not quantities_at(tokens, at):
            at += 1
        quantity = longest_quantity(tokens, at)
        if quantity is None:
            continue
        before = {token.norm for token in tokens[max(0, i - _REACH) : i]}
        ranged = any(token.norm == "to" for token in tokens[quantity.end : quantity.end + 2])
        if before & (_CHANGING if ranged else _MOVED) or (not ranged and _value_ends(tokens, i)):
            found.append(quantity)
    return found + _told_behind(tokens)


def _told_behind(tokens: Sequence[Token]) -> list[Quantity]:
    """Return what stands behind a value and a "was" ("two thou, was three before")."""
    found = []
    for i in range(1, len(tokens) - 1):
        if tokens[i].norm not in ("was", "were"):
            continue
        start = i - (tokens[i - 1].norm in ("it", "that", "they"))
        quantity = longest_quantity(tokens, i + 1)
        if quantity is None or not start or not _value_ends(tokens, start):
            continue
        behind = tuple(token.norm for token in tokens[quantity.end : quantity.end + 3])
        if any(behind[: len(words)] == words for words in _BEFORE_NOW):
            found.append(quantity)
    return found


def _value_ends(tokens: Sequence[Token], i: int) -> bool:
    """Whether an amount ends right before a token, a comma apart."""
    end = i - 1 if tokens[i - 1].norm == "," else i
    return any(q.end == end for start in range(max(0, end - 6), end) for q in quantities_at(tokens, start))
