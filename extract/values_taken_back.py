"""Values that were said and are taken back with what was right: "I called out ten, it was nine"."""

from __future__ import annotations

from collections.abc import Sequence

from extract.mentions import Mention, Mentions
from extract.quantity_arcs import Quantity, longest_quantity
from extract.tokens import Token

_WANTED = frozenset({"should", "ought", "has"})
_SLIPS = frozenset({"misread", "wrong", "mistake", "misspoke", "bad", "fault", "lie"})
#: Tokens between what was called out or was right and the words that say so.
_REACH = 4


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

    "Outboard should be eight five, not eight four nine"; "correction, outboard should be eight five"; "that
    lift I called out ought to be eight"; "should have been eight, I misread it".
    """
    found: list[int] = []
    for cue in mentions.cues("right_said"):
        value = longest_quantity(tokens, cue.end)
        if value is None or _WANTED.isdisjoint(cue.form.split()):
            continue
        behind = [token.norm for token in tokens[value.end : value.end + 3] if token.norm not in (",", "and")]
        denied = behind[:1] == ["not"] or behind[:2] == ["instead", "of"]
        wrong = next((q for q in (longest_quantity(tokens, value.end + n) for n in range(1, 5)) if q), None)
        put_right = any(m.end <= cue.start for m in mentions.cues("correction"))
        if (denied and wrong is not None) or put_right or _owned_to(tokens, mentions, cue, value):
            found.append(cue.start)
    return found


def _owned_to(tokens: Sequence[Token], mentions: Mentions, cue: Mention, value: Quantity) -> bool:
    """Whether a value that "ought to be" is set against one called out before, or a slip is owned to."""
    called = [m for m in mentions.cues("wrong_said") if m.end <= cue.start <= m.end + _REACH]
    if any(all(longest_quantity(tokens, i) is None for i in range(m.end, cue.start)) for m in called):
        return True
    behind = [m for m in mentions.cues("correction") if value.end <= m.start <= value.end + _REACH]
    return any(not _SLIPS.isdisjoint(m.form.split()) for m in behind)
