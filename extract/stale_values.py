"""Sure readings that the speaker put right with a value that nobody understood: asked about, not left sure.

"Correction on vane two, it's …" takes back what stands for vane two whether or not the new value was heard.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction

from extract.corrections import runs_of, says_instead, says_wrong
from extract.heard import Heard
from extract.ledger import Ledger
from extract.numbers import is_number_word
from extract.reading_drafts import value_candidate
from extract.sheet_phrases import WEAK
from extract.talk_context import TalkContext
from shared.job_sheet import JobSheet
from shared.record import Candidate, ReadingEntry

PUT_RIGHT = "it was put right, and the new value was not understood"
#: A correction that names nothing is of what was read in the utterance before, or of nothing.
_JUST_NOW = 1
_LIMITS = ("limit_before", "limit_after", "beyond")


def unsettle_put_right(
    sheet: JobSheet, heard: Heard, ledger: Ledger, filed: Sequence[ReadingEntry], context: TalkContext
) -> None:
    """Ask about the sure reading that an utterance puts right without giving it another value.

    Args:
        sheet: of the job.
        heard: the utterance; nothing else of it than readings was filed.
        ledger: with the readings of the utterance.
        filed: these.
        context: what the talk is about, this utterance included.
    """
    new = {entry.id for entry in filed}
    if not _puts_right(heard) or any(not entry.needs_review for entry in filed):
        return
    if any(entry.superseded_by in new for entry in ledger.readings()):
        return
    for standing in list(_meant(sheet, heard, ledger, filed, context)):
        if standing.id not in new and not standing.needs_review and standing.value_exact is not None:
            standing.needs_review, standing.reason, standing.verdict = True, PUT_RIGHT, "undecided"
            standing.candidates = [
                value_candidate(Fraction(standing.value_exact), standing.unit),
                Candidate(words=heard.utterance.text),
            ]
            ledger.changed[standing.id] = None


def _puts_right(heard: Heard) -> bool:
    if any("limit" in barred.reason for barred in heard.barred) or heard.mentions.cues(*_LIMITS):
        # "That's too big, that should be five at the most" finds fault with the piece, not with its reading.
        return False
    return any(run.corrects for run in runs_of(heard)) or says_wrong(heard) or says_instead(heard)


def _meant(
    sheet: JobSheet, heard: Heard, ledger: Ledger, filed: Sequence[ReadingEntry], context: TalkContext
) -> Iterator[ReadingEntry]:
    """Yield what the words take back, as far as they tell."""
    for entry in filed:
        standing = _at(ledger, entry.item, entry.position, entry.id)
        offered = {c.value_exact for c in entry.candidates if c.value_exact is not None}
        if standing is not None and offered != {standing.value_exact}:
            yield standing
    if filed:
        return
    items = [m.key for m in heard.mentions.of("item") if m.cost < 1 and len(m.keys) == 1]
    item = items[-1] if items else context.item
    places = sheet.measured[item].positions if item is not None else ()
    named = [m for m in heard.mentions.of("position") if m.cost < WEAK]
    positions = [key for m in named for key in m.keys if key in places]
    numbered = any(is_number_word(token) for token in heard.tokens)
    if item is not None and (positions or (items and not places)):
        standing = _at(ledger, item, positions[-1] if positions else None)
        if standing is not None:
            yield standing
    elif not named and not items and numbered:
        last = ledger.last_reading()
        if last is not None and ledger.age_of(last) <= _JUST_NOW:
            yield last


def _at(ledger: Ledger, item: str, position: str | None, but: str = "") -> ReadingEntry | None:
    """Return the last sure reading of a place, whatever its stage."""
    found = [
        entry
        for entry in ledger.readings()
        if entry.standing and (entry.item, entry.position) == (item, position) and entry.id != but
    ]
    return found[-1] if found else None
