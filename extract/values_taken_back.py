"""Values that were said and are taken back with what was right: "I called out ten, it was nine"."""

from __future__ import annotations

from collections.abc import Sequence

from extract.mentions import Mentions
from extract.quantity_arcs import Quantity, longest_quantity
from extract.tokens import Token


def values_taken_back(tokens: Sequence[Token], mentions: Mentions) -> list[tuple[Quantity, int]]:
    """Return the values that a speaker takes back, each with the token where the right one is said."""
    found: list[tuple[Quantity, int]] = []
    rights = sorted(
        {m.start for m in mentions.cues("right_said", "correction")}
        | {m.start for m in mentions.cues("wrong_said") if m.form in ("i said", "i gave you")}
    )
    places = [m for m in mentions.of("position") if m.end - m.start > 1]
    for cue in mentions.cues("wrong_said"):
        # "I logged vane two as forty eight".
        over = max([cue.end, *(m.end for m in places if cue.end <= m.start <= cue.end + 1)])
        reach = range(over, min(over + 4, len(tokens)))
        first = next((q for q in (longest_quantity(tokens, i) for i in reach) if q is not None), None)
        if first is None:
            continue
        right = next((at for at in rights if at >= first.end), None)
        if right is None or all(longest_quantity(tokens, i) is None for i in range(right, len(tokens))):
            continue
        before = {key for m in places if m.start < right for key in m.keys}
        behind = {key for m in places if m.start >= right for key in m.keys}
        if before and behind and not before & behind:
            # "I had forty eight on vane one, it was forty six on vane two": two places, two values.
            continue
        found.append((first, right))
    return found


def said_instead(tokens: Sequence[Token], mentions: Mentions) -> list[int]:
    """Return where a "should be" puts a value right, so that it tells no limit and no plan.

    "Outboard should be eight five, not eight four nine"; "correction, outboard should be eight five".
    """
    found: list[int] = []
    for cue in mentions.cues("right_said"):
        value = longest_quantity(tokens, cue.end)
        if value is None or "should" not in cue.form.split():
            continue
        behind = [token.norm for token in tokens[value.end : value.end + 3] if token.norm not in (",", "and")]
        denied = behind[:1] == ["not"] or behind[:2] == ["instead", "of"]
        wrong = next((q for q in (longest_quantity(tokens, value.end + n) for n in range(1, 5)) if q), None)
        if (denied and wrong is not None) or any(m.end <= cue.start for m in mentions.cues("correction")):
            found.append(cue.start)
    return found
