"""What is taken out or put in: "took ten thou out", "took out a shim of half a millimetre"; no reading."""

from __future__ import annotations

from collections.abc import Sequence

from extract.quantity_arcs import Quantity, longest_quantity, quantities_at
from extract.tokens import Token
from extract.word_sets import word_set
from shared.units import KIND_OF_UNIT

#: Why such an amount is no reading.
MOVED = "an amount, not a reading"
_MOVING = word_set("recitals.moving")
_SHIFTING = word_set("moved_amounts.shifting")
_OBJECTS = frozenset({"it", "her", "him", "them", "that", "this", "everything"})
_PARTICLES = word_set("moved_amounts.particles")
_NO_OBJECT = frozenset({"is", "'s", "on", "at", "and", "from"})
_MOVED_WHERE = frozenset({"out", "in", "back", "off", "away", "under"})
_ONE_OF_SEVERAL = frozenset({"a", "one", "another", "an"})
_SHIMS = frozenset({"shim", "packer", "spacer", "washer", "leaf"})


def amounts_moved(tokens: Sequence[Token]) -> list[Quantity]:
    """Return what "took one shim out", "put two thou back in" moves; what is left is not said."""
    found = []
    for i, token in enumerate(tokens):
        if token.norm in _SHIFTING and (by := _moved_by(tokens, i)) is not None:
            found.append(by)
            continue
        if token.norm not in _MOVING:
            continue
        amount = longest_quantity(tokens, over_articles(tokens, i + 1))
        if amount is None:
            amount = _of_one_shim(tokens, i + 1)
            found += [amount] if amount is not None else []
            continue
        behind = [t.norm for t in tokens[amount.end : amount.end + 3]]
        at = next((n for n, word in enumerate(behind) if word in ("out", "in", "back", "off")), None)
        if at is None or any(word in _NO_OBJECT for word in behind[:at]):
            continue
        # "Dropped point four in ten minutes" tells how long it took.
        if behind[at] != "in" or longest_quantity(tokens, amount.end + at + 1) is None:
            found.append(amount)
    return found


def _moved_by(tokens: Sequence[Token], i: int) -> Quantity | None:
    """Return how far something was moved where a value is told behind ("brought it in five, it's …")."""
    at = i + 1
    if at >= len(tokens) or tokens[at].norm not in _OBJECTS:
        return None
    at += 1
    while at < len(tokens) and tokens[at].norm in _PARTICLES:
        at += 1
    amount = longest_quantity(tokens, over_articles(tokens, at))
    if amount is None:
        return None
    unit = amount.unit.unit if amount.unit is not None else None
    sized = (unit is not None and KIND_OF_UNIT[unit] == "length") or amount.number.scale != "plain"
    told = [t.norm for t in tokens[amount.end : amount.end + 1]]
    by = tokens[at].norm in ("by", "another")
    return amount if sized or by or told in (["so"], ["now"]) else None


def _of_one_shim(tokens: Sequence[Token], i: int) -> Quantity | None:
    """Return the size of a single shim that is moved ("took out a shim of half a millimetre")."""
    at = i
    while at < len(tokens) and tokens[at].norm in _MOVED_WHERE:
        at += 1
    words = [token.norm for token in tokens[at : at + 3]]
    if len(words) < 3 or words[0] not in _ONE_OF_SEVERAL or words[1] not in _SHIMS or words[2] != "of":
        return None
    return longest_quantity(tokens, at + 3)


def over_articles(tokens: Sequence[Token], i: int) -> int:
    """Return the token behind articles and "by"; an article that begins an amount stays."""
    while (
        i + 1 < len(tokens)
        and tokens[i].norm in ("the", "by", "about", "another", "a", "an")
        and not (tokens[i].norm in ("a", "an") and any(q.unit is not None for q in quantities_at(tokens, i)))
    ):
        i += 1
    return i
