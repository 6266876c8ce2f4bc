"""What else the engine may have heard: other hearings of the same sound that mean another value.

A second pass, a second engine or an n-best list gives the same utterance in other words. Where one
of them gives another value at the same place, the reading becomes a question; so it does where one
gives no such number, or the number of another item.
"""

from __future__ import annotations

from extract.doubtful_cues import ask_where_cue_doubtful
from extract.heard import Heard, prepare
from extract.homophones import homophone_hearings
from extract.ledger import Ledger
from extract.pipeline import TalkPipeline
from extract.quantity_arcs import Quantity
from extract.reading_drafts import ReadingDraft, ReadingTalk, value_candidate
from extract.readings import ReadingRoom
from extract.talk_context import TalkContext
from shared.record import Candidate

_MOST_HEARINGS = 5


def ask_where_hearings_differ(
    pipeline: TalkPipeline,
    room: ReadingRoom,
    heard: Heard,
    context: TalkContext,
    ledger: Ledger,
    talk: ReadingTalk,
) -> None:
    """Make questions of readings that another hearing gives otherwise, or that only another gives."""
    ask_where_cue_doubtful(room, heard, context, ledger, talk)
    for text in heard.utterance.alternatives[:_MOST_HEARINGS]:
        if text.strip() == heard.utterance.text.strip():
            continue
        other = ReadingTalk()
        if text.strip():
            other = room.read(prepare(pipeline, heard.number, heard.utterance, text), context.copy(), ledger)
        matched: set[int] = set()
        for draft in talk.drafts:
            if not _compare(draft, other, matched):
                _ask_unconfirmed(draft, other)
        _add_unmatched(talk, other, matched)
    for text in homophone_hearings(heard) if any(draft.sure for draft in talk.drafts) else ():
        rivals = room.read(prepare(pipeline, heard.number, heard.utterance, text), context.copy(), ledger)
        plausible = ReadingTalk([draft for draft in rivals.drafts if draft.sure])
        for draft in talk.drafts:
            _compare(draft, plausible, set())


def _compare(draft: ReadingDraft, other: ReadingTalk, matched: set[int]) -> bool:
    """Ask where the other hearing has another value or position; tell whether it has such a reading."""
    places = [n for n, d in enumerate(other.drafts) if d.place() == draft.place()]
    if not places:
        places = [
            n
            for n, d in enumerate(other.drafts)
            if n not in matched
            and d.item == draft.item
            and d.value == draft.value
            and d.position != draft.position
        ]
    for n in places[:1]:
        matched.add(n)
        rival = other.drafts[n]
        if rival.value is None or draft.value is None:
            continue
        if rival.position != draft.position:
            draft.ask(
                "heard in two ways", Candidate(position=draft.position), Candidate(position=rival.position)
            )
        elif rival.value != draft.value:
            mine, theirs = value_candidate(draft.value, draft.unit), value_candidate(rival.value, rival.unit)
            draft.ask("heard in two ways", mine, theirs, leads=False, by_ear=True)
    return bool(places)


def _ask_unconfirmed(draft: ReadingDraft, other: ReadingTalk) -> None:
    """Ask where the other hearing has not the number either, or gives it to an item that it names."""
    if draft.value is None or draft.quantity is None:
        return
    numbers = [loose.quantity for loose in other.loose]
    numbers += [d.quantity for d in other.drafts if d.quantity and "item said" not in d.rule]
    if not any(_same(draft.quantity, number) for number in numbers):
        draft.ask("another hearing does not give it", value_candidate(draft.value, draft.unit))


def _same(first: Quantity, second: Quantity) -> bool:
    """Tell whether two numbers are one as they were said; a missing unit contradicts none."""
    if first.value != second.value:
        return False
    return first.unit is None or second.unit is None or first.unit == second.unit


def _add_unmatched(talk: ReadingTalk, other: ReadingTalk, matched: set[int]) -> None:
    """Add readings that only another hearing gives, as questions, where this one gave nothing at all."""
    if talk.drafts:
        return
    for n, draft in enumerate(other.drafts):
        named = "item said" in draft.rule or "position named" in draft.rule
        if n in matched or not named or draft.value is None:
            continue
        offered = value_candidate(draft.value, draft.unit)
        draft.ask("only another hearing gives it", offered, leads=False, by_ear=True)
        draft.corrects = None
        talk.drafts.append(draft)
