"""What it costs that a value belongs to a name some words away, in the search for readings."""

from __future__ import annotations

from collections.abc import Sequence

from extract.position_spans import PositionSpan
from extract.search_states import State
from extract.tokens import Token


def overrules(tokens: Sequence[Token], state: State, span: PositionSpan) -> bool:
    """Whether a position is taken alone though one was named before it that must have its value too.

    "Vane two one eighty" gives no vane one its eighty, "front and back both five" leaves out no front.
    """
    if state.last == "position" and len(span.keys) == 1 and span.end < len(tokens):
        joined = [t.norm for t in tokens[state.last_end : span.start]] in (["and"], [",", "and"])
        if joined and tokens[span.end].norm in ("both", "each", "alike"):
            return True
    return (
        span.style in ("number", "group")
        and state.group_style == "named"
        and state.last == "position"
        and all(token.norm == "," for token in tokens[state.last_end : span.start])
        and bool(state.group)
        and not state.taken
    )


def link_cost(tokens: Sequence[Token], end: int, start: int, kind: str | None) -> float:
    """Return what it costs that a value belongs to an item named behind it."""
    between = [t.norm for t in tokens[end:start]]
    if kind == "count" and not between:
        return 0.0
    if any(word in ("on", "for", "of", "as", "in") for word in between) and len(between) <= 4:
        return 0.1
    if not between or between == ["the"]:
        return 0.5 if kind != "torque" else 1.5
    return 0.8 + 0.15 * len(between)


def position_link(tokens: Sequence[Token], end: int, start: int) -> float:
    """Return what it costs that a value belongs to a position named behind it."""
    between = [t.norm for t in tokens[end:start]]
    if any(word in ("on", "for", "at", "in", "under") for word in between):
        return 0.0
    return 0.15 if not between else 0.3 + 0.15 * len(between)
