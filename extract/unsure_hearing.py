"""How sure a hearing must be for a value to stand unasked: surer in noise, and surer out of limits.

Most values are within their limits and a misheard one mostly is not; so a value out of limits is less
likely than its sound alone says, and it is worth being said twice. In noise the ear errs by the sound, is
sure of its errors, and errs alike when it hears the same sound again otherwise. Development speech of 26
November 2026, in shop noise at 15 dB (12 recordings of 6 jobs, 298 readings): of 173 values filed unasked 9
were misheard; of 30 that were out of limits 6, of 143 within 3, of 104 within and heard with a posterior of
0.95 none.

What counts are the words of the value itself and of its place: another number of the breath that was hardly
heard says nothing of it. Ten former jobs by three voices in quiet (27 November 2026), 266 values without any
other doubt: of 39 out of limits three were misheard (0.93, 0.94 and "fourteen" for "forty" with 0.98), of the
34 with 0.95 and more that one; of 222 within limits none whose words were unsure, but two stood at a wrong
place because of a word with less than 0.11. Two former jobs at 15 dB (63 readings): 19 right unasked, 13
where all numbers of the breath counted, none silently wrong; too few to say more.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from fractions import Fraction

from extract.conformity import judge
from extract.confusable_numbers import figures_of, misheard_words
from extract.heard import Heard
from extract.numbers import is_number_word
from extract.placings import Item, placings
from extract.quantity_arcs import quantities_at
from extract.reading_drafts import ReadingDraft, value_candidate
from extract.search_states import Filed
from extract.tokens import tokenize
from extract.word_confidence import WordConfidence
from shared.job_sheet import JobSheet
from shared.record import Candidate

#: Below it a word heard in noise is asked about.
SURE_IN_NOISE = 0.95
#: Below it a value out of limits is asked about, in quiet.
SURE_OUT_OF_LIMITS = 0.95
#: Below it the place of a value out of limits is asked about.
_SURE_PLACE = 0.75
#: Below it words that tell a place are as likely others.
_HARDLY = 0.5
_CONFUSABLE_CONFIDENCE = 0.6
#: Not even an ending that would bring a value within its limits is asked about from here on.
_BEYOND_DOUBT = 0.99
_CONTEXT = "position carried on from before"


def value_confidence(filed: Filed, item: Item, sheet: JobSheet, sure: WordConfidence) -> float:
    """Return how sure the words are that tell a value, the least of them.

    A unit tells nothing that the number would have at this item without it: whether "thou" or "found"
    stood behind "three and a half" changes no value.
    """
    quantity = filed.quantity
    least = sure.least(quantity.start, quantity.number_end)
    if quantity.unit is not None and quantity.value is not None:
        bare = placings(replace(quantity, unit=None, end=quantity.number_end), item, sheet)
        if bare and bare[0].plausible and bare[0].value == filed.placing.value:
            return least
    return min(least, sure.least(quantity.start, quantity.end))


def doubt_hearing(
    heard: Heard, draft: ReadingDraft, filed: Filed, sheet: JobSheet, confidence_least: float
) -> None:
    """Ask where the engine was not sure of the words, all the more of those easily misheard.

    Args:
        draft: made of ``filed``; its confidence is that of the value.
        confidence_least: below it words are not heard clearly.
    """
    sure, quantity = WordConfidence(heard.utterance, heard.tokens), filed.quantity
    start = _with_position(heard, quantity.start)
    # Whether "is" or "at" stood between place and value changes neither.
    places = (i for i in range(start, quantity.start) if is_number_word(heard.tokens[i]))
    least = min(draft.confidence, *(sure.least(i, i + 1) for i in places), 1.0)
    mine = value_candidate(filed.placing.value, draft.unit)
    if least < confidence_least:
        draft.ask("the words were not heard clearly", mine)
    if quantity.value is None:
        return
    item = sheet.measured[filed.item]
    outside = judge(filed.placing.value, item) == "outside"
    for at, value in _misheard_values(heard, filed, sheet):
        # "Thirty" of "thirty one" cannot have been thirteen.
        doubtful = bool(heard.utterance.words) and least < _BEYOND_DOUBT
        last = doubtful and outside and at == quantity.number_end - 1
        if least < _CONFUSABLE_CONFIDENCE or (last and judge(value, item) == "within"):
            draft.ask(
                "two numbers that sound alike",
                mine,
                value_candidate(value, draft.unit),
                leads=least >= confidence_least,
                by_ear=True,
            )


def doubt_unsure(heard: Heard, drafts: Sequence[ReadingDraft], items: Mapping[str, Item]) -> None:
    """Ask for values to be confirmed that were not heard surely enough for where and what they are."""
    sure = WordConfidence(heard.utterance, heard.tokens)
    for draft in drafts:
        if draft.value is None:
            continue
        verdict, offered = judge(draft.value, items[draft.item]), value_candidate(draft.value, draft.unit)
        place = _place_confidence(heard, draft, sure)
        clear = draft.confidence >= SURE_OUT_OF_LIMITS and place >= _SURE_PLACE
        if heard.utterance.noisy and verdict == "outside":
            draft.ask("out of limits, and heard in noise", offered)
        elif heard.utterance.noisy and draft.confidence < SURE_IN_NOISE:
            draft.ask("heard in noise", offered)
        elif verdict == "outside" and not clear:
            draft.ask("out of limits, and not heard clearly", offered)
        elif place < _HARDLY:
            draft.ask("its place was not heard clearly", Candidate(position=draft.position))


def _place_confidence(heard: Heard, draft: ReadingDraft, sure: WordConfidence) -> float:
    """Return how sure the words are that tell where a value belongs; 1 where none do.

    A place that is carried on has none, but a number before the value that nothing was made of may have
    been another place ("and four i make that point three seven").
    """
    named = [m for m in heard.mentions.of("position") if draft.position in m.keys]
    if named:
        return max(sure.least(m.start, m.end) for m in named)
    if _CONTEXT not in draft.rule:
        return 1.0
    numbers = (i for i in range(draft.start) if is_number_word(heard.tokens[i]))
    return min((sure.least(i, i + 1) for i in numbers), default=1.0)


def _misheard_values(heard: Heard, filed: Filed, sheet: JobSheet) -> Iterator[tuple[int, Fraction]]:
    """Yield plausible values of the same words with one number word misheard, each with its token."""
    quantity, item = filed.quantity, sheet.measured[filed.item]
    found = {filed.placing.value}
    for at, word in misheard_words(heard.tokens, quantity.start, quantity.number_end):
        pieces = [t.norm for t in heard.tokens[quantity.start : quantity.end]]
        pieces[at - quantity.start] = figures_of(word) if heard.tokens[at].norm[0].isdecimal() else word
        changed = tokenize(" ".join(pieces))
        for other in quantities_at(changed, 0):
            if other.end != len(changed):
                continue
            placed = [p for p in placings(other, item, sheet, filed.placing.carried) if p.plausible]
            if placed and placed[0].value not in found:
                found.add(placed[0].value)
                yield at, placed[0].value
            break


def _with_position(heard: Heard, start: int) -> int:
    """Return where a short position number before a value begins, so that its hearing counts too."""
    at = start
    while (
        at > 0
        and start - at < 3
        and (heard.tokens[at - 1].norm in ("is", "'s", "at") or is_number_word(heard.tokens[at - 1]))
    ):
        at -= 1
    return at
