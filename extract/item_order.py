"""Where in an utterance an item is named: before a number, or last of all."""

from __future__ import annotations

from extract.heard import Heard


def of_unknown(heard: Heard, at: int) -> bool:
    """Whether a number before which no item was named follows the name of a part."""
    before = [m for m in heard.mentions.of("part", "other_part", "item") if m.end <= at]
    return bool(before) and not any(m.kind == "item" and m.cost < 1 for m in before)


def named_last(heard: Heard, item: str) -> bool:
    """Whether an item is named at the very end ("… drive end sixty, now the end float")."""
    return any(item in m.keys and len(heard.tokens) - m.end <= 2 for m in heard.mentions.of("item"))


def named_in(heard: Heard, end: int) -> bool:
    """Whether an utterance names an item or a position before a token."""
    return any(m.start < end and m.cost < 1 for m in heard.mentions.of("item", "position"))
