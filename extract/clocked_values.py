"""Values printed as a time of day: "pinion nut, 1:40" was said "one forty"; "speed 17:95" is no time."""

from __future__ import annotations

from collections.abc import Sequence

from extract.mentions import Mentions
from extract.sheet_phrases import WEAK
from extract.tokens import Token

_BETWEEN = frozenset({"'s", "is", "are", "was", "got", "to", ",", ":", "."})


def clocked_values(
    tokens: Sequence[Token], mentions: Mentions, never_timed: frozenset[str]
) -> frozenset[int]:
    """Return the tokens of figures with a colon that are right behind what is never told by the clock.

    Args:
        never_timed: the items of a torque or a speed.
    """
    found: set[int] = set()
    for item in mentions.of("item"):
        if item.cost >= WEAK or never_timed.isdisjoint(item.keys):
            continue
        at = item.end
        while at < len(tokens) and tokens[at].norm in _BETWEEN:
            at += 1
        if _is_clock(tokens, at):
            found.update(range(at, at + 3))
    return frozenset(found)


def _is_clock(tokens: Sequence[Token], i: int) -> bool:
    if i + 2 >= len(tokens) or tokens[i + 1].norm != ":":
        return False
    joined = tokens[i].end == tokens[i + 1].start and tokens[i + 1].end == tokens[i + 2].start
    return joined and tokens[i].text.isdecimal() and tokens[i + 2].text.isdecimal()
