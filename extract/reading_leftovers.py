"""What the words of a reading leave over: places, fractions and corrections that nothing has taken up.

A reading stands as sure only where it accounts for what was said around it. A place that was named and
not used, a fraction behind the value, make a question; a word that takes back makes a correction of
what stands at the same place.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from fractions import Fraction
from itertools import pairwise

from extract.corrections import said_of_place
from extract.heard import Heard
from extract.number_words import ONES
from extract.placings import Item
from extract.quantity_arcs import Quantity
from extract.reading_corrections import Earlier
from extract.reading_drafts import ReadingDraft, value_candidate
from extract.sheet_phrases import WEAK
from extract.unsettled import says_again
from extract.vulgar_fractions import denominators_at
from extract.word_sets import word_set
from shared.record import Candidate

_TAKING_BACK = word_set("corrections.taking_back")
_ALL_ROUND = frozenset({"round", "around", "over", "everywhere", "throughout", "lot", "board", "them"})
_ONCE_MORE = frozenset({"then", "so", "now", "again"})
_JOINS_FRACTION = frozenset({"and", "plus"})
_OPENERS = word_set("clauses.fillers")
#: "It's point six", "that's reading point six" answers what was asked or is measured just now.
_OF_ANSWERS = word_set("reading_leftovers.of_answers") | _OPENERS
#: Cues that tie a bare number to the reading before.
_TIES = ("again", "correction", "same_value", "as_found", "as_left", "wrong_said", "right_said")


def tie_taken_back(heard: Heard, drafts: Sequence[ReadingDraft], earlier: Earlier) -> None:
    """Say of a value that it corrects what stands at its place, where the words take something back.

    "Two oughta be twenty, i read it wrong", "moment i have mixed the stage two is thirty six".
    """
    if not _takes_back(heard) or _only_halts(heard):
        return
    for draft in drafts:
        if draft.corrects is not None or draft.value is None:
            continue
        standing = earlier.standing_reading(draft.item, draft.position, draft.stage)
        if standing is not None:
            draft.corrects = standing.id
            draft.rule += "; puts right what stands there"


def doubt_bare_replacing(
    heard: Heard, drafts: Sequence[ReadingDraft], earlier: Earlier, words_of: Callable[[str], frozenset[str]]
) -> None:
    """Ask about a number without name, place or unit that would take the place of a reading.

    "I'll be there in thirty", "give me five": nothing ties it to the item talked about, which has its value.
    """
    told = heard.mentions.of("item", "position", "part") or heard.mentions.cues(*_TIES)
    if told or len(drafts) != 1:
        return
    draft = drafts[0]
    standing = earlier.standing_reading(draft.item, draft.position, draft.stage)
    if standing is None or standing.needs_review or not draft.sure or draft.value is None:
        return
    if standing.value_exact is not None and Fraction(standing.value_exact) == draft.value:
        return
    if (
        draft.quantity is None
        or draft.quantity.unit is not None
        or draft.corrects is not None
        or draft.known_again
    ):
        return
    beside = {token.norm for token in (*heard.tokens[: draft.start], *heard.tokens[draft.end :])}
    if not words_of(draft.item) & beside and any(word.isalpha() for word in beside - _OF_ANSWERS):
        draft.ask("a bare number that would replace what was read", value_candidate(draft.value, draft.unit))


def drop_said_twice(heard: Heard, drafts: list[ReadingDraft]) -> None:
    """Drop a value that only repeats itself in one breath ("nah eight, lining is eight")."""
    if heard.mentions.cues("again"):
        return
    for draft in drafts[1:][::-1]:
        first = drafts[drafts.index(draft) - 1]
        same = (draft.place(), draft.stage, draft.value) == (first.place(), first.stage, first.value)
        sure = draft.value is not None and draft.sure and first.sure
        if same and sure and draft.corrects in (None, first.corrects):
            drafts.remove(draft)


def doubt_unused_place(heard: Heard, drafts: Sequence[ReadingDraft], items: Mapping[str, Item]) -> None:
    """Ask where a place of the item was named in the same clause and the value went to another one."""
    used = {(draft.item, draft.position) for draft in drafts}
    taken_back = said_of_place(heard)
    for draft in drafts:
        item = items[draft.item]
        if draft.position is None or not item.positions or not draft.sure:
            continue
        clause = heard.clause_at(draft.start)
        named = [m for m in heard.mentions.of("position") if clause.holds(m) and m.cost < WEAK]
        named = [m for m in named if m.start not in taken_back]
        if not named or any(draft.position in m.keys for m in named):
            continue
        left = {
            key
            for m in named
            for key in m.keys
            if key in item.positions and (draft.item, key) not in used and m.form not in ONES
        }
        if left:
            draft.ask(
                "another place was named beside it",
                *(Candidate(position=key) for key in (draft.position, *sorted(left))),
            )


def doubt_fraction(heard: Heard, drafts: Sequence[ReadingDraft], unread: Sequence[Quantity]) -> None:
    """Ask where a fraction or smaller part behind a value was left: it may belong to it.

    "A hundredth and a half", "sixty five and six microns".
    """
    for draft in drafts:
        for quantity in unread:
            between = heard.norms(draft.end, quantity.start) if quantity.start > draft.end else None
            joined = between is not None and len(between) == 1 and between[0] in _JOINS_FRACTION
            part = quantity.unit is not None or quantity.number.style == "fraction"
            if joined and part:
                offered = [value_candidate(draft.value, draft.unit)] if draft.value is not None else []
                draft.ask("a fraction behind it was not understood", *offered, leads=False)


def doubt_rest(heard: Heard, drafts: Sequence[ReadingDraft]) -> None:
    """Ask where the words go on behind the number, or with other places than it went to."""
    _doubt_unused_all(heard, drafts)
    _doubt_in_turn(heard, drafts)
    _doubt_cut_off(heard, drafts)


def _doubt_cut_off(heard: Heard, drafts: Sequence[ReadingDraft]) -> None:
    """Ask where the words go on with the number behind where it was cut ("three | tenths and a half")."""
    for draft in drafts:
        if draft.quantity is None or draft.end >= len(heard.tokens) or draft.quantity.end != draft.end:
            continue
        left = denominators_at(heard.tokens, draft.end)
        if left and left[0].plural and draft.quantity.unit is None:
            offered = [value_candidate(draft.value, draft.unit)] if draft.value is not None else []
            draft.ask("the words go on behind the number", *offered, leads=False)


def _only_halts(heard: Heard) -> bool:
    """Whether a "wait" only opens what was measured again ("wait, there was dirt on it, again nineteen")."""
    halts = heard.norms(0, 1) == ["wait"]
    return halts and says_again(heard) and all(m.start == 0 for m in heard.mentions.cues("correction"))


def _takes_back(heard: Heard) -> bool:
    """Whether an utterance opens with a "no", or says anywhere that something was wrong or mixed up."""
    at = 0
    norms = [token.norm for token in heard.tokens]
    while at < len(norms) - 1 and norms[at] in _OPENERS and norms[at] not in _TAKING_BACK:
        at += 1
    opens = bool(norms) and norms[at] in _TAKING_BACK
    negated = any(m.start == at for m in heard.mentions.cues("negation_idiom"))
    if opens and not negated:
        return norms[at + 1 : at + 2] not in (["change"], ["problem"], ["need"])
    return bool(heard.mentions.cues("correction"))


def _doubt_unused_all(heard: Heard, drafts: Sequence[ReadingDraft]) -> None:
    """Ask where a value of all places went to single ones ("four all round, bit more on five")."""
    if any("all positions" in draft.rule or "named together" in draft.rule for draft in drafts):
        return
    round_it = [m for m in heard.mentions.cues("all_positions") if _ALL_ROUND & set(m.form.split())]
    if not any(0 <= m.start - draft.end <= 2 for draft in drafts for m in round_it):
        return
    for draft in drafts:
        if draft.position is not None:
            draft.ask("it was said of all places", leads=False)


_HANGS = "its place hangs on the one before"
#: Why the place of what follows in turn is not sure either.
_LOOSE = frozenset({"its place may be said with it", "a number right beside it was not understood", _HANGS})


def _doubt_in_turn(heard: Heard, drafts: Sequence[ReadingDraft]) -> None:
    """Ask where a value went to the next place and may be the same one's again ("… then four three")."""
    for first, second in pairwise(drafts):
        if _LOOSE & set(first.reasons) and "in turn" in second.rule:
            second.ask(_HANGS, leads=False)
        counted_on = "positions in turn" in second.rule or "decimals behind" in second.rule
        if first.item != second.item or not counted_on or "in turn" in first.rule:
            continue
        if _ONCE_MORE & set(heard.norms(first.end, second.start)):
            for draft in (first, second):
                draft.ask("it may be the same place measured again", leads=False)
