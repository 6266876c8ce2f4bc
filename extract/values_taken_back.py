"""Values that were said and are taken back with what was right: "I called out ten, it was nine"."""

from __future__ import annotations

from collections.abc import Sequence

from extract.mentions import Mentions
from extract.quantity_arcs import Quantity, quantities_at
from extract.tokens import Token


def values_taken_back(tokens: Sequence[Token], mentions: Mentions) -> list[Quantity]:
    """Return the values that a speaker takes back, in order of the cues."""
    found: list[Quantity] = []
    rights = sorted(
        {m.start for m in mentions.cues("right_said", "correction")}
        | {m.start for m in mentions.cues("wrong_said") if m.form in ("i said", "i gave you")}
    )
    for cue in mentions.cues("wrong_said"):
        first = next(
            (
                q
                for q in (_longest(tokens, i) for i in range(cue.end, min(cue.end + 4, len(tokens))))
                if q is not None
            ),
            None,
        )
        if first is None:
            continue
        right = next((at for at in rights if at >= first.end), None)
        if right is not None and any(_longest(tokens, i) is not None for i in range(right, len(tokens))):
            found.append(first)
    return found


def _longest(tokens: Sequence[Token], i: int) -> Quantity | None:
    found = quantities_at(tokens, i) if i < len(tokens) else []
    return max(found, key=lambda q: (q.number_end, q.end, -q.cost)) if found else None
