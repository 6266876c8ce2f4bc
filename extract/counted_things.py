"""Numbers that count things or tell them apart ("two of the bolts", "impellers one and five are worn")."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from extract.mentions import Mention, Mentions
from extract.number_words import ONES
from extract.quantity_arcs import Quantity, longest_quantity
from extract.tokens import Token
from extract.word_sets import word_set

_LEVELS = word_set("predicates.states") | {"all right", "fine", "good", "even", "worn"}
#: A larger number before a part counts nothing on a bench.
_MOST_COUNTED = 36
_COUNT_AFTER = (
    ("of", "the"),
    ("of", "them"),
    ("of", "these"),
    ("of", "those"),
    ("of", "'em"),
    ("of", "em"),
    ("off",),
    ("more", "time"),
    ("more",),
    ("pieces",),
    ("times",),
    ("of", "my"),
    ("each",),
)

_COPULAS = frozenset({"'re", "are", "were"})
#: So many bolts may be meant by "two each"; a torque is more.
_MOST_EACH = 4
#: Of so many places one says "they're all six".
_MOST_PLACES = 8
_LACKING = frozenset({"short", "missing", "shy", "adrift"})
#: "Binned two shims" counts, "took out two shims" measures the pack.
_THROWN = word_set("counted_things.thrown")


def counted_tokens(tokens: Sequence[Token], mentions: Mentions) -> frozenset[int]:
    """Return the tokens of small numbers that count things ("two of the bolts", "four new tie rods").

    A number right before the name of an item that is counted ("three shims") measures it instead.
    """
    places = {m.start for m in mentions.of("position")}
    things = {m.start for m in mentions.of("part", "other_part")} - places
    measured = {m.start for m in mentions.of("item")}
    found_so = {m.start for m in mentions.of("condition") if m.form not in _LEVELS}
    # "Lock screws twenty three each" tells what each got.
    named_before = {m.end for m in mentions.of("item") if m.cost < 1}
    counted: set[int] = set()
    for i in range(len(tokens)):
        quantity = longest_quantity(tokens, i)
        if quantity is None or quantity.value is None or quantity.value > _MOST_COUNTED or i in counted:
            continue
        following = tuple(t.norm for t in tokens[quantity.number_end : quantity.number_end + 2])
        at = quantity.end
        while at < len(tokens) and tokens[at].norm in ("new", "old", "of", "the", "those", "good", "bad"):
            at += 1
        if i + 1 == quantity.number_end == quantity.end and at in found_so and quantity.unit is None:
            counted.add(i)
            continue
        thrown = (i > 0 and tokens[i - 1].norm in _THROWN) or _lacking(tokens, at)
        counts = (
            at in things and quantity.unit is None and (at not in measured or at > quantity.end or thrown)
        )
        whole = quantity.value.denominator == 1
        of_all = (
            i > 0
            and tokens[i - 1].norm == "all"
            and quantity.unit is None
            and whole
            and not _what_all_are(tokens, i, quantity.value)
        )
        counted_behind = (
            quantity.number.scale == "plain"
            and following != ("more", "or")
            and any(following[: len(words)] == words for words in _COUNT_AFTER)
            and not (i in named_before and _what_they_got(tokens, mentions, i, quantity))
        )
        if of_all or counts or counted_behind:
            counted.update(range(i, quantity.number_end))
    counted.update(_numbered_things(tokens, mentions))
    return frozenset(counted)


def _what_they_got(tokens: Sequence[Token], mentions: Mentions, at: int, quantity: Quantity) -> bool:
    """Whether a number behind the name of what is measured is its value ("lock screws twenty three each")."""
    named = [m for m in mentions.of("item") if m.end == at and m.cost < 1]
    behind = [token.norm for token in tokens[quantity.end : quantity.end + 2]]
    if behind == ["off", "the"]:
        # "Casing bolts, two off the flange are rusty".
        return not any(m.start > at for m in mentions.of("condition"))
    if behind[:1] != ["each"] or any("shim" in key for m in named for key in m.keys):
        return False
    torque = any(key.endswith("_torque") for m in named for key in m.keys)
    return behind in (["each", "end"], ["each", "side"]) or not torque or (quantity.value or 0) > _MOST_EACH


def _lacking(tokens: Sequence[Token], at: int) -> bool:
    """Whether it is told how many are missing ("one shim short", "two bolts missing")."""
    return any(token.norm in _LACKING for token in tokens[at + 1 : at + 3])


def _what_all_are(tokens: Sequence[Token], at: int, value: Fraction) -> bool:
    """Whether a number behind "all" is what they measure ("they're all fifteen"), not how many they are."""
    return at > 1 and tokens[at - 2].norm in _COPULAS and value > _MOST_PLACES


def _numbered_things(tokens: Sequence[Token], mentions: Mentions) -> set[int]:
    """Return the numbers that tell parts apart ("impellers one two and five are worn")."""
    measured = mentions.of("item", "position")
    found: set[int] = set()
    for part in mentions.of("part", "other_part"):
        worked_on = _worked_on(tokens, mentions, part)
        if any(part.overlaps(m) for m in measured) and not worked_on:
            continue
        at = part.end
        if at < len(tokens) and worked_on and tokens[at].norm in ("on", "in", "from", "off", "of"):
            at += 1
        if at < len(tokens) and tokens[at].norm in ("number", "numbers"):
            at += 1
        while at < len(tokens):
            small = tokens[at].norm in ONES or (tokens[at].norm.isdecimal() and len(tokens[at].norm) == 1)
            quantity = longest_quantity(tokens, at) if small else None
            if quantity is None or quantity.unit is not None or quantity.number_end != at + 1:
                break
            if any(m.start == at + 1 for m in mentions.of("item")):
                # "Packing, five rings of packing" counts.
                break
            found.add(at)
            at += 1
            while at < len(tokens) and tokens[at].norm in (",", "and", "to", "through", "&", "-"):
                at += 1
    return found


def _worked_on(tokens: Sequence[Token], mentions: Mentions, part: Mention) -> bool:
    """Whether an action is done to a part: numbers behind it tell which ("swapping rings three and six")."""
    before = part.start
    while before and tokens[before - 1].norm in ("the", "those", "these", "both", "old"):
        before -= 1
    return any(m.end == before for m in mentions.of("action"))
