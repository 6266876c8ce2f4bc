"""Values that the ear is likely to have heard otherwise than they were said, whatever it thinks itself.

An ending is lost ("two hundred" for "two hundredths"), a nought dropped ("one point five eight" for "one
point five oh eight") or a "not" made one ("three point two nought three and a half"): both passes hear the
same, and the sheet alone tells that another value was as likely said. Found on development speech.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from fractions import Fraction

from extract.conformity import judge
from extract.heard import Heard
from extract.number_words import COMPOUND_DENOMINATORS, DENOMINATORS, NUMBER_WORDS
from extract.placings import Item, is_plausible, span_of
from extract.reading_drafts import ReadingDraft, value_candidate
from extract.unsure_hearing import SURE_OUT_OF_LIMITS
from shared.record import Candidate
from shared.units import decimal_text

#: Nobody reads a gauge to a fiftieth of what it may be off by.
_FINEST_OF_UNCERTAINTY = Fraction(1, 50)
_MOST_PLACES = 6
_HAVING = frozenset({"have", "has", "had", "put", "'ve"})
_NUMBERS = NUMBER_WORDS | DENOMINATORS.keys()


def doubt_misheard(heard: Heard, drafts: Sequence[ReadingDraft], items: Mapping[str, Item]) -> None:
    """Ask about each sure value for which a likely mishearing makes better sense."""
    for draft in drafts:
        if not draft.sure or draft.value is None or draft.quantity is None:
            continue
        item = items[draft.item]
        _doubt_hundred(heard, draft, item)
        _doubt_part_name(heard, draft, drafts, item)
        _doubt_too_fine(draft, item)
        _doubt_or(heard, draft)
        _doubt_lost_whole(heard, draft)
        _doubt_place_had(heard, draft)
        if heard.utterance.words:
            _doubt_lost_nought(draft, item, heard.utterance.noisy)
    _doubt_beside_doubtful(drafts)


def _doubt_hundred(heard: Heard, draft: ReadingDraft, item: Item) -> None:
    """Ask about a bare "two hundred" where two hundredths of a millimetre would do."""
    quantity = draft.quantity
    if quantity is None or quantity.value is None or quantity.unit is not None or item.unit != "mm":
        return
    if heard.norms(draft.start, draft.end)[-1:] not in (["hundred"], ["hundreds"]):
        return
    parts = quantity.value / 10_000
    if is_plausible(float(parts), span_of(item)):
        draft.ask("it may have been hundredths", *_either(draft, parts), leads=False)


def _doubt_part_name(heard: Heard, draft: ReadingDraft, drafts: Sequence[ReadingDraft], item: Item) -> None:
    """Ask about a "thirty" with "second" behind it: the "a" of a thirty second is soon lost.

    Not where a place begins there that gets a value of its own ("first bearing thirty second forty").
    """
    last_two = heard.norms(draft.end - 1, draft.end + 1)
    name = COMPOUND_DENOMINATORS.get((last_two[0], last_two[-1]))
    place = any(mention.start == draft.end for mention in heard.mentions.of("position"))
    if name is None or (place and any(other.start > draft.end for other in drafts)):
        return
    part = Fraction(1, name[0])
    if item.unit == "in" and is_plausible(float(part), span_of(item)):
        draft.ask("it may have been a fraction", *_either(draft, part), leads=False)
    else:
        draft.ask("it may have been a fraction", leads=False)


def _doubt_too_fine(draft: ReadingDraft, item: Item) -> None:
    """Ask about more places than the gauge has."""
    value, uncertainty = draft.value, getattr(item, "uncertainty", None)
    if value is None or not uncertainty or draft.said_unit not in (None, draft.unit):
        return
    if draft.quantity is not None and draft.quantity.number.style in ("fraction", "mixed"):
        # "Three thirty seconds" is coarse, however many places it has written out.
        return
    places = next((n for n in range(_MOST_PLACES) if (value * 10**n).denominator == 1), None)
    if places is not None and Fraction(1, 10**places) < Fraction(str(uncertainty)) * _FINEST_OF_UNCERTAINTY:
        draft.ask("finer than it can be measured", leads=False)


def _doubt_or(heard: Heard, draft: ReadingDraft) -> None:
    """Ask where an "or" behind the value goes on with a number that was not understood."""
    behind = heard.norms(draft.end, draft.end + 3)
    if behind[:1] == ["or"] and _NUMBERS & set(behind[1:]):
        draft.ask("another value was said behind it", leads=False)


def _doubt_lost_whole(heard: Heard, draft: ReadingDraft) -> None:
    """Ask about a half behind an "and" that no number leads to ("output seal and a half": two and a half)."""
    joined = heard.norms(draft.start - 1, draft.start) == ["and"] and draft.start > 1
    value = draft.quantity.value if draft.quantity is not None else None
    half = heard.norms(draft.start, draft.start + 2) == ["a", "half"]
    if joined and half and value is not None and 0 < value < 1:
        before = heard.tokens[draft.start - 2].norm
        if before not in _NUMBERS and before.isalpha():
            draft.ask("a number may have stood before it", leads=False)


def _doubt_place_had(heard: Heard, draft: ReadingDraft) -> None:
    """Ask about a place behind the value that nobody has ("eighteen i have the non drive end": put on)."""
    for mention in heard.mentions.of("position"):
        led = heard.norms(mention.start - 2, mention.start)
        behind = draft.end <= mention.start and draft.position in mention.keys
        if behind and led[-1:] == ["the"] and led[0] in _HAVING:
            draft.ask("the place does not fit the words before it", Candidate(position=draft.position))


def _doubt_lost_nought(draft: ReadingDraft, item: Item, noisy: bool) -> None:
    """Ask about decimals out of limits that a nought between them would bring in.

    Not where they were heard surely in quiet and the nought would make the value finer than the sheet
    writes its limits: nobody said that. Ten former jobs in quiet (311 readings): five such questions, all of
    values that were heard right.
    """
    surely = not noisy and draft.confidence >= SURE_OUT_OF_LIMITS
    number = draft.quantity.number if draft.quantity is not None else None
    if number is None or not number.places or draft.value is None or judge(draft.value, item) != "outside":
        return
    whole, part = number.digits[: -number.places] or "0", number.digits[-number.places :]
    for at in range(len(part)):
        said = Fraction(f"{whole}.{part[:at]}0{part[at:]}")
        meant = draft.value / number.value * said if number.value else said
        if judge(meant, item) == "within" and not (surely and _places_of(meant) > item.decimals):
            draft.ask("a nought may have been lost", *_either(draft, meant), leads=False, by_ear=True)
            return


def _places_of(value: Fraction) -> int:
    return len(decimal_text(value).partition(".")[2])


def _doubt_beside_doubtful(drafts: Sequence[ReadingDraft]) -> None:
    """Ask about a value whose place was given a doubtful one in the breath, not put right by it."""
    for draft in drafts:
        if not draft.sure or (draft.corrects or "").startswith("draft:"):
            continue
        beside = [d for d in drafts if (d.place(), d.stage) == (draft.place(), draft.stage)]
        if not all(d.sure for d in beside if d.start < draft.start):
            draft.ask("two values in one breath", leads=False)


def _either(draft: ReadingDraft, other: Fraction) -> tuple[Candidate, Candidate]:
    assert draft.value is not None
    return value_candidate(draft.value, draft.unit), value_candidate(other, draft.unit)
