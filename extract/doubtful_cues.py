"""Words that would make a number no reading, where the ear was not sure of them.

"She'll compression inboard four millimetres" was "seal": the "'ll" that makes a plan of it was hardly
heard. A value that only such a word keeps out of the record is asked about, not left out.
"""

from __future__ import annotations

from dataclasses import replace

from extract.clauses import cut_clauses
from extract.heard import Heard
from extract.ledger import Ledger
from extract.mentions import Mentions
from extract.reading_drafts import ReadingDraft, ReadingTalk, value_candidate
from extract.readings import ReadingRoom
from extract.recitals import barred_numbers
from extract.talk_context import TalkContext
from extract.word_confidence import WordConfidence

#: Below it a word says nothing about what is meant.
_DOUBTFUL = 0.5
_CUES = ("future", "conditional", "elsewhere")


def ask_where_cue_doubtful(
    room: ReadingRoom, heard: Heard, context: TalkContext, ledger: Ledger, talk: ReadingTalk
) -> None:
    """Ask about values that only words heard without being sure of them keep from being readings.

    Args:
        context: what came before the utterance; it is not altered.
        talk: what the utterance gave; questions are added, their numbers are loose no longer.
    """
    if not heard.barred or not heard.utterance.words:
        return
    plain = _without_doubtful(heard)
    if plain is None:
        return
    kept_out = {b.quantity.start for b in heard.barred} - {b.quantity.start for b in plain.barred}
    if not kept_out:
        return
    places = {draft.place() for draft in talk.drafts}
    for draft in room.read(plain, context.copy(), ledger).drafts:
        number = draft.quantity
        if number is None or number.start not in kept_out or draft.place() in places:
            continue
        if draft.value is None or not _says_what(draft):
            continue
        draft.ask(
            "a word that was not heard clearly would mean that it was not measured",
            value_candidate(draft.value, draft.unit),
        )
        draft.corrects, draft.unsettles = None, False
        talk.drafts.append(draft)
        talk.loose = [loose for loose in talk.loose if loose.start != number.start]


def _without_doubtful(heard: Heard) -> Heard | None:
    """Return the utterance without the cues that were hardly heard; None where all were heard."""
    sure = WordConfidence(heard.utterance, heard.tokens)
    doubtful = [m for m in heard.mentions.cues(*_CUES) if sure.least(m.start, m.end) < _DOUBTFUL]
    if not doubtful:
        return None
    mentions = Mentions(m for m in heard.mentions.all if m not in doubtful)
    clauses = cut_clauses(heard.tokens, mentions)
    barred = tuple(barred_numbers(heard.tokens, mentions, clauses))
    return replace(heard, mentions=mentions, clauses=clauses, barred=barred)


def _says_what(draft: ReadingDraft) -> bool:
    """Whether the words tell what was measured, by its name, or by its place or unit."""
    number = draft.quantity
    with_unit = number is not None and number.unit is not None
    return "item said" in draft.rule or with_unit or "position named" in draft.rule
