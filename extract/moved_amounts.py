"""What is taken out or put in: "took ten thou out", "took out a shim of half a millimetre"; no reading."""

from __future__ import annotations

from collections.abc import Container, Sequence

from extract.mentions import Mention
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
#: What is pulled or dropped of shims goes out; what is put or taken goes where "in" or "out" says.
_PULLED = frozenset({"pulled", "pull", "took", "dropped", "slipped", "threw"})
_LONGEST = 8
#: Between an amount and the shims that it was taken out of.
_OF_MOVED = frozenset({"of", "the", "a", "out", "from", "off", "in", "worth", "those", "these", "them"})


def amounts_moved(tokens: Sequence[Token]) -> list[Quantity]:
    """Return what "took one shim out", "put two thou back in" moves; what is left is not said."""
    found = _shims_out(tokens)
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
        if token.norm in _PULLED and _of_shims(behind):
            found.append(amount)
            continue
        at = next((n for n, word in enumerate(behind) if word in ("out", "in", "back", "off")), None)
        if at is None or any(word in _NO_OBJECT for word in behind[:at]):
            continue
        # "Dropped point four in ten minutes" tells how long it took.
        if behind[at] != "in" or longest_quantity(tokens, amount.end + at + 1) is None:
            found.append(amount)
    return found


def _of_shims(behind: Sequence[str]) -> bool:
    """Whether words behind an amount say that it is of shims ("seven thou of the shim")."""
    words = [word for word in behind if word not in _OF_MOVED]
    return behind[:1] in (["of"], ["worth"]) and bool(words) and words[0].removesuffix("s") in _SHIMS


def _shims_out(tokens: Sequence[Token]) -> list[Quantity]:
    """Return the amounts of "seven thou of shim out", for which no verb stands."""
    found = []
    for i, token in enumerate(tokens):
        if token.norm not in ("of", "worth"):
            continue
        behind = [t.norm for t in tokens[i : i + 4]]
        gone = [n for n in range(1, len(behind)) if behind[n] in ("out", "removed", "gone")]
        if not _of_shims(behind[:3]) or not gone or behind[gone[0] - 1].removesuffix("s") not in _SHIMS:
            continue
        amount = _ending_at(tokens, i)
        found += [amount] if amount is not None else []
    return found


def _ending_at(tokens: Sequence[Token], end: int) -> Quantity | None:
    """Return the longest amount that ends at a token."""
    ending = (longest_quantity(tokens, at) for at in range(max(0, end - _LONGEST), end))
    return next((quantity for quantity in ending if quantity is not None and quantity.end == end), None)


def only_moved(tokens: Sequence[Token], barred: Container[int], mention: Mention) -> bool:
    """Whether shims are named only for what was taken out ("took out seven thou of shim, it's four").

    Args:
        tokens: of the utterance.
        barred: its tokens that belong to no reading.
        mention: of a part or an item.
    """
    at = mention.start
    while at > 0 and tokens[at - 1].norm in _OF_MOVED:
        at -= 1
    return at - 1 in barred and tokens[mention.end - 1].norm.removesuffix("s") in _SHIMS


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
