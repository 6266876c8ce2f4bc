"""Two values given at each other's places: "other way round", "i had those backwards", "swap left and right".

Sure where the words can only be about what was just said, and which two are meant is plain: then both
values change places. Else both are asked about, each with both values. "Swap those two" may be about the
parts, and "the impeller goes on the other way round" is: words of anything else take it away.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from fractions import Fraction
from typing import NamedTuple, Protocol

from extract.corrections import Run
from extract.heard import Heard
from extract.numbers import is_number_word
from extract.position_spans import PositionSpan, position_spans
from extract.reading_drafts import ReadingDraft, ReadingTalk, value_candidate
from extract.sheet_phrases import WEAK
from extract.spoken_units import unit_names_at
from extract.word_sets import phrase_list, word_set
from shared.job_sheet import JobSheet
from shared.record import ReadingEntry

MIXED = "said to be mixed up with another place"
_TRIGGERS = tuple(tuple(phrase.split()) for phrase in phrase_list("swapped.triggers"))
_FIRST_WORDS = frozenset(words[0] for words in _TRIGGERS)
#: With these it is told of what was said ("i had those swapped", "no, other way round").
_TOLD = word_set("swapped.told")
#: Only an order about them: it may be the parts that change places.
_ORDERS = word_set("swapped.orders")
_GLUE = word_set("swapped.glue") | _TOLD | _ORDERS | frozenset(word for words in _TRIGGERS for word in words)
_COUNTED = [[word] for word in sorted(word_set("swapped.numbered"))]
_FIGURES = (["numbers"], ["figures"], ["readings"], ["values"])
_HEDGES = frozenset({"think", "reckon", "believe"})
_DENIED = frozenset({"not", "n't", "never", "if", "don't", "didn't", "isn't", "aren't", "wasn't"})
#: A number by itself may be a place at so much cost, among words that speak of nothing else.
_BARE = 1.5
#: So many words of places may stand before the value that is right.
_TO_VALUE = 4
#: So many utterances after the older of the two it may still be about them.
_REACH = 4


class Swap(NamedTuple):
    """Words that say that two values stand at each other's places."""

    start: int
    end: int
    """Token after the last."""
    told: bool
    """Whether they can only be about what was said."""


class Stood(Protocol):
    """What is asked of the readings filed before."""

    def readings(self) -> Iterator[ReadingEntry]:
        """Yield all readings in the order filed."""

    def age_of(self, entry: ReadingEntry) -> int:
        """Return how many utterances ago an entry was filed."""


def swap_said(sheet: JobSheet, heard: Heard) -> Swap | None:
    """Return the words that say that two values stand at each other's places, None where none do."""
    norms = [token.norm for token in heard.tokens]
    if _FIRST_WORDS.isdisjoint(norms):
        return None
    for at in [i for i, norm in enumerate(norms) if norm in _FIRST_WORDS]:
        words = next((w for w in _TRIGGERS if tuple(norms[at : at + len(w)]) == w), None)
        mood = heard.clause_at(at).mood
        if words is None or mood not in ("stated", "future", "question"):
            continue
        start, end = _reach(heard, at, at + len(words), _place_tokens(sheet, heard))
        said = set(norms[start:end])
        told = bool(_TOLD & said) or not (_ORDERS & said)
        if _DENIED & said or not (_edge_before(heard, start) and _edge_behind(heard, end, told)):
            continue
        return Swap(start, end, told and mood != "question" and not _HEDGES & said)
    return None


def _reach(heard: Heard, start: int, end: int, places: set[int]) -> tuple[int, int]:
    """Widen the words of a swap by all that may stand with them, up to a value and its place."""
    norms = [token.norm for token in heard.tokens]
    trigger = end
    while start > 0 and (norms[start - 1] in _GLUE or start - 1 in places):
        start -= 1
    while end < len(norms) and (norms[end] in _GLUE or end in places):
        end += 1
    while start and start in places and start < trigger:
        # "Nineteen inboard, other way round": the place is the value's.
        start += 1
    if end < len(norms) and is_number_word(heard.tokens[end]):
        # "That's the wrong way about, one's nineteen": so is what follows the comma.
        end = max([trigger, *(i + 1 for i in range(trigger, end) if norms[i] in (",", "."))])
    return start, end


def _places(sheet: JobSheet, heard: Heard) -> Iterator[PositionSpan]:
    """Yield the namings of places that count; a number by itself too, but not that of "them two"."""
    for span in position_spans(sheet, heard.tokens, heard.mentions):
        if span.style not in ("number", "group"):
            counts = span.cost < WEAK
        else:
            counts = span.cost < _BARE and heard.norms(span.start - 1, span.start) not in _COUNTED
        if counts:
            yield span


def _place_tokens(sheet: JobSheet, heard: Heard) -> set[int]:
    """Return the tokens that name places, or the item whose figures are meant."""
    found = {i for span in _places(sheet, heard) for i in range(span.start, span.end)}
    for mention in heard.mentions.of("item"):
        behind = heard.norms(mention.end, mention.end + 1)
        of_part = any(mention.overlaps(m) for m in heard.mentions.of("part", "other_part"))
        if (mention.cost < 1 and not of_part) or behind in _FIGURES:
            found.update(range(mention.start, mention.end))
    return found


def _edge_before(heard: Heard, start: int) -> bool:
    """Whether the words begin the utterance, or follow a value or a stop."""
    if start == 0:
        return True
    before = heard.tokens[start - 1]
    if (
        heard.tokens[start].norm in (",", ".")
        or before.norm in (",", ".", ";", "-")
        or is_number_word(before)
    ):
        return True
    units = (unit_names_at(heard.tokens, i) for i in range(max(0, start - 4), start))
    return any(names and not names[0].foreign and end == start for names, end in units) or any(
        m.end == start and m.cost < WEAK for m in heard.mentions.of("position")
    )


def _edge_behind(heard: Heard, end: int, told: bool) -> bool:
    """Whether the words end the utterance, or a stop follows them, or what is right."""
    if end >= len(heard.tokens):
        return True
    stops = {heard.tokens[end - 1].norm, heard.tokens[end].norm} & {",", ".", ";", "!", "?", "-"}
    values = range(end, min(end + _TO_VALUE if told else end + 1, len(heard.tokens)))
    return bool(stops) or any(is_number_word(heard.tokens[i]) for i in values)


def around_swap(runs: Sequence[Run], swap: Swap | None) -> list[Run]:
    """Return the runs without the words of a swap; one that they stand in is cut in two."""
    if swap is None:
        return list(runs)
    pieces = [replace(run, end=min(run.end, swap.start)) for run in runs]
    pieces += [replace(run, start=max(run.start, swap.end)) for run in runs]
    return sorted((run for run in pieces if run.end > run.start), key=lambda run: run.start)


def swap_values(sheet: JobSheet, heard: Heard, swap: Swap, talk: ReadingTalk, stood: Stood) -> None:
    """Let the values of two places change places, or ask about both; what was given anew stands."""
    anew = [d for d in talk.drafts if d.start >= swap.end]
    said = [d for d in talk.drafts if d.start < swap.start]
    pair: list[ReadingDraft | ReadingEntry]
    pair, plain = _of_breath(said) if len(said) > 1 else _of_before(stood, sheet)
    if len(pair) < 2:
        return
    named = _named(sheet, heard, swap, pair[-1].item)
    if named:
        pair, plain = [r for r in pair if r.position in named], len(named) == 2
        if len(pair) != 2:
            return
    talk.about_item = True
    given = {d.place() for d in anew}
    rest = [r for r in pair if (r.item, r.position) not in given]
    if len(pair) - len(rest) > 1 or (anew and len(rest) == len(pair)):
        # "Had those two backwards, middle's two and bottom's three": both are put right, or others.
        return
    values = [_value_of(r) for r in pair]
    sure = swap.told and plain and len(pair) == 2 and not anew
    if sure and None not in values and not any(_asked(r) for r in pair):
        talk.drafts += [
            _moved(heard, swap, talk, here, there) for here, there in (tuple(pair), tuple(reversed(pair)))
        ]
        return
    for reading in rest:
        draft = _moved(heard, swap, talk, reading, reading)
        known = [value_candidate(v, reading.unit) for v in dict.fromkeys(values) if v is not None]
        draft.ask(MIXED, *known, leads=False)
        talk.drafts.append(draft)


def doubt_place_before(heard: Heard, talk: ReadingTalk, stood: Stood) -> None:
    """Ask about a place whose value is said to be another's ("nineteen's the inboard", "left's the ten")."""
    given = {draft.place() for draft in talk.drafts}
    for draft in [d for d in talk.drafts if d.position is not None and _says_which(heard, d)]:
        lately = [r for r in stood.readings() if r.standing and 0 < stood.age_of(r) <= _REACH]
        had = [r for r in lately if r.item == draft.item and _value_of(r) == draft.value]
        for reading in had[-1:]:
            if (reading.item, reading.position) in given or reading.needs_review:
                continue
            swap = Swap(draft.start, draft.end, False)
            left = _moved(heard, swap, talk, reading, reading)
            here = [r for r in lately if (r.item, r.position) == draft.place()]
            known = [_value_of(r) for r in (*here, reading)]
            left.ask(MIXED, *(value_candidate(v, left.unit) for v in known if v is not None), leads=False)
            talk.drafts.append(left)


def _says_which(heard: Heard, draft: ReadingDraft) -> bool:
    """Whether a figure known already is given to its place, by a "the" before one of them."""
    if draft.quantity is None:
        return False
    start, end = draft.quantity.start, draft.quantity.end
    copula, the = heard.norms(end, end + 2) if len(heard.norms(end, end + 2)) == 2 else ("", "")
    figure = heard.norms(start - 1, start) == ["the"]
    return figure or (copula in ("is", "'s", "was") and the == "the")


def _of_breath(drafts: Sequence[ReadingDraft]) -> tuple[list[ReadingDraft | ReadingEntry], bool]:
    """Return the readings of this breath that may be meant, and whether there is no other choice."""
    last: dict[str | None, ReadingDraft | ReadingEntry] = {}
    for draft in drafts:
        if draft.item == drafts[-1].item and draft.position is not None:
            last[draft.position] = draft
    return list(last.values()), len(last) == 2


def _of_before(stood: Stood, sheet: JobSheet) -> tuple[list[ReadingDraft | ReadingEntry], bool]:
    """Return the readings of before that may be meant, and whether there is no other choice."""
    lately = [r for r in stood.readings() if r.standing and 0 < stood.age_of(r) <= _REACH]
    if not lately or lately[-1].position is None:
        return [], False
    mine = [r for r in lately if r.item == lately[-1].item and r.position is not None]
    breath = [r for r in mine if stood.age_of(r) == stood.age_of(mine[-1])]
    if len(breath) > 1:
        return [*breath], len(breath) == 2
    return [*mine[-2:]], len(sheet.measured[mine[-1].item].positions) == 2


def _named(sheet: JobSheet, heard: Heard, swap: Swap, item: str) -> list[str]:
    """Return the places of an item that the words of a swap name."""
    positions = sheet.measured[item].positions
    named: list[str] = []
    for span in _places(sheet, heard):
        if swap.start <= span.start and span.end <= swap.end:
            named += [key for key in span.keys if key in positions]
    return list(dict.fromkeys(named))


def _value_of(reading: ReadingDraft | ReadingEntry) -> Fraction | None:
    if isinstance(reading, ReadingDraft):
        return reading.value
    return None if reading.value_exact is None else Fraction(reading.value_exact)


def _asked(reading: ReadingDraft | ReadingEntry) -> bool:
    return not reading.sure if isinstance(reading, ReadingDraft) else reading.needs_review


def _moved(
    heard: Heard,
    swap: Swap,
    talk: ReadingTalk,
    here: ReadingDraft | ReadingEntry,
    there: ReadingDraft | ReadingEntry,
) -> ReadingDraft:
    """Return a draft at the place of one reading with the value of another."""
    of = f"draft:{talk.drafts.index(here)}" if isinstance(here, ReadingDraft) else here.id
    return ReadingDraft(
        item=here.item,
        position=here.position,
        stage=here.stage,
        value=_value_of(there),
        unit=here.unit,
        said_unit=there.said_unit,
        rule="reading: places swapped",
        start=swap.start,
        end=swap.end,
        corrects=of,
        confidence=heard.utterance.confidence,
    )
