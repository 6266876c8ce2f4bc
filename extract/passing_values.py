"""Values that did not stay: "one twenty and dropping", "ninety, then backed it off", "thirty then ninety".

A pressure that still moves is not held, and a value that was undone in the same breath does not stand: both
are asked about. A temperature that climbs is what it is when it is read. Of torques in steps the last holds.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import pairwise

from extract.heard import Heard
from extract.placings import Item
from extract.reading_drafts import LooseNumber, ReadingDraft, value_candidate
from extract.word_sets import phrase_set, word_set

_MOVING = word_set("passing_values.moving")
_BEFORE_MOVING = frozenset({"and", "still", "but", ",", "slowly", "just", "is", "'s", "it", "steadily"})
_UNDONE = phrase_set("passing_values.undone")
_THEN = word_set("passing_values.then")
_PASSES = word_set("value_doubts.passes")
#: Between two values of a pressure: it did not hold.
_FALLING = frozenset(
    {"dropped", "drop", "drops", "fell", "fallen", "down", "then", "lost", "bled", "sank", "crept"}
)
_STEPS = word_set("passing_values.steps")
#: So many words behind a value may tell that it did not stay.
_REACH = 4
_UNDONE_REACH = 9
#: From so many torques of one place on, each above the one before, nothing need say that they are steps.
_CLIMB = 3


def doubt_passing(heard: Heard, drafts: Sequence[ReadingDraft], items: Mapping[str, Item]) -> None:
    """Ask about each pressure that still moves, and each value that was undone in the same breath."""
    for draft in drafts:
        if draft.value is None or not draft.sure:
            continue
        behind = heard.norms(draft.end, draft.end + _REACH + 2)
        held = items[draft.item].measured_kind == "pressure"
        if (held and _still_moves(behind)) or _undone(heard.norms(draft.end, draft.end + _UNDONE_REACH)):
            draft.ask("it did not stay so", value_candidate(draft.value, draft.unit))


def doubt_together(heard: Heard, drafts: Sequence[ReadingDraft], items: Mapping[str, Item]) -> None:
    """Ask about every value of one place where one of the breath is asked about, or the pressure fell.

    "Three on the first try two on the second": which of them stands is one question.
    """
    for first, second in pairwise(drafts):
        if first.place() != second.place() or first.stage != second.stage or first.value is None:
            continue
        between = set(heard.norms(first.end, second.start))
        fell = items[first.item].measured_kind == "pressure" and bool(_FALLING & between)
        # What may be of another item tells nothing of this one.
        elsewhere = "can be read in more than one way" in {*first.reasons, *second.reasons}
        if second.corrects is not None or (not fell and (elsewhere or first.sure == second.sure)):
            continue
        for draft in (first, second):
            if draft.sure and draft.value is not None:
                draft.ask("two values in one breath", value_candidate(draft.value, draft.unit))


def drop_former(heard: Heard, drafts: list[ReadingDraft], loose: list[LooseNumber]) -> None:
    """Leave what a value was, where what it is now is said right behind ("was two, now three")."""
    for first, second in pairwise(list(drafts)):
        same = first.place() == second.place() and first.stage == second.stage
        was = bool({"was", "were"} & set(heard.norms(first.start - 2, first.start)))
        if not same or not was or first.quantity is None or "now" not in heard.norms(first.end, second.start):
            continue
        drafts.remove(first)
        loose.append(
            LooseNumber(
                heard.words(first.start, first.end), first.value, first.said_unit, "what it was before",
                first.quantity, first.start, first.end,
            )
        )  # fmt: skip


def _still_moves(behind: Sequence[str]) -> bool:
    lead = 0
    while lead < len(behind) and behind[lead] in _BEFORE_MOVING:
        lead += 1
    return 0 < lead < len(behind) and behind[lead] in _MOVING


def _undone(behind: Sequence[str]) -> bool:
    lead = 0
    while lead < len(behind) and behind[lead] in _THEN:
        lead += 1
    return lead > 0 and any(" ".join(behind[lead : lead + n]) in _UNDONE for n in (1, 2, 3))


def drop_steps(
    heard: Heard, drafts: list[ReadingDraft], loose: list[LooseNumber], items: Mapping[str, Item]
) -> None:
    """Leave the torques on the way out: only the last holds ("forty five then ninety")."""
    stepped = bool(_STEPS & set(heard.norms(0, len(heard.tokens))))
    for last in list(drafts):
        same = [d for d in drafts if d.place() == last.place()]
        if items[last.item].measured_kind != "torque" or len(same) < 2 or same[-1] is not last:
            continue
        values = [d.value for d in same if d.value is not None]
        highest = len(values) == len(same) and max(values) == values[-1]
        climbing = len(same) >= _CLIMB and all(a < b for a, b in pairwise(values))
        for first, second in pairwise(same):
            between = set(heard.norms(first.end, second.start))
            if first.quantity is None or not (_PASSES & between or (highest and (stepped or climbing))):
                continue
            drafts.remove(first)
            words = heard.words(first.start, first.end)
            loose.append(
                LooseNumber(
                    words, first.value, first.said_unit, "a torque on the way", first.quantity, first.start,
                    first.end,
                )
            )  # fmt: skip
