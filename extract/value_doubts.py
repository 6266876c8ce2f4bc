"""Doubts that the words around a value raise: a difference, a denial, a past state, two in one breath.

The values are read already; here they are held against what the same clause says of them.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import pairwise

from extract.heard import Heard
from extract.judged_values import OF_SIZE, is_whole_size, judged_rightly
from extract.number_words import NUMBER_WORDS, ONES
from extract.out_of_reach import doubt_out_of_reach
from extract.passing_values import doubt_passing
from extract.placings import Item
from extract.reading_drafts import ReadingDraft, ReadingTalk, value_candidate
from extract.recitals import tells_place
from extract.sheet_phrases import WEAK
from extract.spoken_units import unit_names_at
from extract.stages import AS_FOUND, AS_LEFT
from extract.sums import sums_said
from extract.word_sets import word_set

#: "The groove is two thou deep" is a size and compares nothing.
_SIZES = frozenset({"deep", "wide", "across", "apart", "to go", "in hand"})
#: "Five thou is where they start to complain", word by word; what "we" do is said of this job.
_RULE_TOLD = (
    frozenset({"is", "'s", "was"}),
    frozenset({"where", "when", "what", "how", "as", "why"}),
    frozenset({"they", "you", "people", "most", "everybody", "everyone", "folks"}),
)
#: "… where we usually bin them": what is done as a habit tells no value of today.
_HABITS = frozenset(
    {"usually", "normally", "always", "generally", "typically", "mostly", "tend", "usual", "never"}
)
_RULE_REACH = 5
#: What somebody else believes; a gauge that "says" or a mate who "reads out" is no such thing.
_BELIEVING = word_set("value_doubts.believing")
_NO_BELIEVERS = frozenset({"i", "we", "you", "it", "that", "this"})
#: Somebody else measured it or says so ("the lads got thirty one", "they told me thirty").
_OTHERS = word_set("value_doubts.others")
_TELLING = word_set("value_doubts.telling")
_DENYING = word_set("value_doubts.denying")
#: Kinds that are measured on the running pump.
_RUNNING = frozenset({"pressure", "temperature", "vibration", "speed", "time"})
_DIGITS = frozenset("123456789")
_LIKE_OR = frozenset({"or", "for"})
_LIKE_TWO = frozenset({"to"})
#: So many words behind bare figures may still be of them.
_REACH = 3
_LINKS = frozenset({"'s", "is", "was", "and", "at", "an", "a", "the", "reads", ","})
_TORQUE_UNITS = frozenset({"N_m", "ft_lb", "in_lb"})
_NEEDING = frozenset({"need", "needs", "want", "wants", "wanted", "needed", "should", "must", "gotta"})
_ARTICLES = frozenset({"a", "an", "the", "by", "about", "another", "of"})


def doubt_values(heard: Heard, talk: ReadingTalk, items: Mapping[str, Item]) -> None:
    """Ask wherever the words of a reading's clause speak against filing its value as it stands."""
    _doubt_differences(heard, talk.drafts, items)
    _doubt_denied(heard, talk.drafts)
    _doubt_told(heard, talk.drafts)
    _doubt_believed(heard, talk.drafts)
    _doubt_past(heard, talk.drafts, items)
    _doubt_unplaced(heard, talk.drafts)
    _doubt_contested(heard, talk.drafts)
    _doubt_broken(heard, talk.drafts)
    _doubt_behind_another(heard, talk.drafts)
    _doubt_mils(heard, talk.drafts)
    _doubt_foreign_place(heard, talk.drafts, items)
    doubt_passing(heard, talk.drafts, items)
    _doubt_same(heard, talk.drafts)
    _doubt_reckoned(heard, talk.drafts)
    _doubt_distrusted(heard, talk.drafts)
    doubt_out_of_reach(heard.tokens, talk.drafts)


def _doubt_differences(heard: Heard, drafts: Sequence[ReadingDraft], measured: Mapping[str, Item]) -> None:
    """Ask where a value may be what something differs by ("end play two thou more than it was")."""
    behind = {m.start: m for m in heard.mentions.cues("difference_after") if m.form not in _SIZES}
    before = heard.mentions.cues("difference_before")
    items = {m.start for m in heard.mentions.of("item")}
    for draft in drafts:
        cue = behind.get(draft.end)
        named = {i for m in heard.mentions.of("position", "condition") for i in range(m.start, m.end)}
        led = any(m.end <= draft.start and set(heard.norms(m.end, draft.start)) <= _ARTICLES for m in before)
        if cue is not None and draft.quantity is not None and tells_place(heard.tokens, cue, draft.quantity):
            cue = None
        if (
            cue is not None
            and cue.form in OF_SIZE
            and draft.quantity is not None
            and is_whole_size(draft.quantity)
        ):
            cue = None
        if cue is not None and judged_rightly(cue.form, draft, measured[draft.item]):
            cue = None
        if (led and draft.end not in items) or (cue is not None and cue.start not in named):
            _ask(draft, "it may be a difference, not the value")


def _doubt_denied(heard: Heard, drafts: Sequence[ReadingDraft]) -> None:
    """Ask where the value's clause denies before it ("i didn't get eighteen on it")."""
    for draft in drafts:
        clause = heard.clause_at(draft.start)
        starts = [other.end for other in drafts if other.end <= draft.start]
        start = max([clause.start, *starts])
        idioms = {i for m in heard.mentions.cues("negation_idiom") for i in range(m.start, m.end)}
        denied = [
            i
            for i in range(start, draft.start)
            if heard.tokens[i].norm in _DENYING and i not in idioms and not _instead(heard, i + 1)
        ]
        # "Not eighteen, nineteen": what is denied stands there itself.
        if denied and not any(i in heard.walls for i in range(denied[-1], draft.start)):
            _ask(draft, "it was denied")


def _doubt_told(heard: Heard, drafts: Sequence[ReadingDraft]) -> None:
    """Ask where a value is told as a rule ("five thou is where they start to complain")."""
    for draft in drafts:
        behind = heard.norms(draft.end, draft.end + _RULE_REACH)
        told = [word in kind for word, kind in zip(behind, _RULE_TOLD, strict=False)]
        if told[:2] == [True, True] and (told[2:] == [True] or _HABITS & set(behind[2:])):
            _ask(draft, "it may be told as a rule")


def _doubt_believed(heard: Heard, drafts: Sequence[ReadingDraft]) -> None:
    """Ask about a value that somebody else believes in ("rick swears it's two thou")."""
    for draft in drafts:
        before = [other.end for other in drafts if other.end <= draft.start]
        start = max([heard.clause_at(max(0, heard.clause_at(draft.start).start - 1)).start, *before])
        lead = heard.norms(start, draft.start)
        for at, word in enumerate(lead):
            if word == "got" and draft.said_unit in _TORQUE_UNITS:
                # "Carrier bolts, they got seventy five foot pounds".
                continue
            if at and word in _TELLING and lead[at - 1] in _OTHERS:
                _ask(draft, f"{lead[at - 1]} {word} so")
                break
            if word in _BELIEVING and at and not _NO_BELIEVERS & set(lead[max(0, at - 2) : at]):
                _ask(draft, f"somebody {word} so")
                break


def _instead(heard: Heard, i: int) -> bool:
    """Whether a unit or a place is what is denied ("hundredths, not thou")."""
    at = i + (heard.norms(i, i + 1) in (["the"], ["on"], ["at"]))
    placed = any(m.start == at for m in heard.mentions.of("position", "item"))
    return placed or (at < len(heard.tokens) and bool(unit_names_at(heard.tokens, at)[0]))


def _doubt_distrusted(heard: Heard, drafts: Sequence[ReadingDraft]) -> None:
    """Ask about a value that the speaker does not trust himself ("three thou, but the dial's sticking")."""
    for cue in heard.mentions.cues("distrusted"):
        before = [draft for draft in drafts if draft.end <= cue.start]
        if before and not any(d.place() == before[-1].place() for d in drafts if d.start >= cue.end):
            _ask(before[-1], "the speaker did not trust it")


def _doubt_past(heard: Heard, drafts: Sequence[ReadingDraft], items: Mapping[str, Item]) -> None:
    """Ask about a value of "before" that is measured running, as left: it may be of any time before."""
    for draft in drafts:
        item = items[draft.item]
        if draft.stage != AS_FOUND or item.stage != AS_LEFT or item.measured_kind not in _RUNNING:
            continue
        if not any(m.start <= draft.end for m in heard.mentions.cues("as_found")):
            _ask(draft, "a value of before, and the sheet wants it as left")


def _doubt_unplaced(heard: Heard, drafts: Sequence[ReadingDraft]) -> None:
    """Ask about a value behind which another of its item came without a place: it may replace it."""
    for first, second in pairwise(drafts):
        unplaced = first.position is not None and second.position is None and not second.sure
        if first.item == second.item and unplaced:
            offered = [value_candidate(second.value, second.unit)] if second.value is not None else []
            first.ask("two values in one breath", *offered)


def _doubt_contested(heard: Heard, drafts: Sequence[ReadingDraft]) -> None:
    """Ask about a number that may name a place, where another of the breath may belong to its own.

    "One thirteen two fourteen three twelve or fourteen": is three the second's value, or the third's name?
    """
    for doubtful in drafts:
        places = {candidate.position for candidate in doubtful.candidates} - {None, doubtful.position}
        for other in drafts:
            said = [n for n in heard.norms(other.start, other.end) if n in NUMBER_WORDS or n[0].isdecimal()]
            bare = len(said) == 1 and (said[0] in ONES or said[0] in _DIGITS)
            if bare and other.item == doubtful.item and other.position in places:
                _ask(other, "another number of this breath may belong there", by_ear=True)


def _doubt_broken(heard: Heard, drafts: Sequence[ReadingDraft]) -> None:
    """Ask about bare figures behind which more figures may have been said and heard as other words.

    "Point four to trailing" may have been "point four two, trailing"; "fifty nine pull i've nine six" goes on
    where nobody understands it.
    """
    taken = {i for draft in drafts for i in range(draft.start, draft.end)} | heard.walls
    taken |= {i for m in heard.mentions.of("position") for i in range(m.start, m.end)}
    for draft in drafts:
        pair = heard.norms(draft.end, draft.end + 2)
        if draft.sure and len(pair) == 2 and pair[0] in _LIKE_OR and pair[1] in _LIKE_TWO:
            # "Thou and a half for to the …" was "… or two".
            _ask(draft, "more figures may follow the value", by_ear=True)
            continue
        if not draft.sure or draft.quantity is None or draft.quantity.unit is not None:
            continue
        after = heard.norms(draft.end, draft.end + 1)
        like_two = after == ["to"] and draft.quantity.number.style in ("decimal", "digits")
        if like_two and any(m.start == draft.end + 1 for m in heard.mentions.of("position")):
            _ask(draft, "more figures may follow the value", by_ear=True)
            continue
        reach = range(draft.end + 1, min(len(heard.tokens) - 1, draft.end + 1 + _REACH))
        left = [i for i in reach if i not in taken and heard.tokens[i].norm in ONES]
        if any(i + 1 not in taken and heard.tokens[i + 1].norm in NUMBER_WORDS for i in left):
            _ask(draft, "more figures may follow the value", by_ear=True)


def _doubt_behind_another(heard: Heard, drafts: Sequence[ReadingDraft]) -> None:
    """Ask about a number that stands right behind the name of another item ("… coupling gap's and eight")."""
    places = heard.mentions.of("position")
    for draft in drafts:
        named = [m for m in heard.mentions.of("item") if m.end <= draft.start and m.cost < 1]
        # "At the sleeve" is where a runout was taken, though a sleeve is measured, too.
        named = [m for m in named if not any(m.inside(place) for place in places)]
        last = max(named, key=lambda m: m.end, default=None)
        if last is None or draft.item in last.keys:
            continue
        between = set(heard.norms(last.end, draft.start))
        if between <= _LINKS and any(draft.item in m.keys for m in named):
            _ask(draft, f"it stands right behind {last.form}")


def _doubt_foreign_place(heard: Heard, drafts: Sequence[ReadingDraft], items: Mapping[str, Item]) -> None:
    """Ask where a clause names a place that the item, itself not named, does not have.

    "Scratch that, rear is twenty one" goes back past the bolts that were talked about last.
    """
    for draft in drafts:
        clause = heard.clause_at(draft.start)
        if any(draft.item in m.keys for m in heard.mentions.of("item")):
            continue
        named = [
            m
            for m in heard.mentions.of("position")
            if clause.holds(m) and m.cost < WEAK and m.start < draft.start and not m.form[0].isdecimal()
        ]
        named = [m for m in named if m.form not in NUMBER_WORDS]
        if named and not any(set(m.keys) & set(items[draft.item].positions) for m in named):
            _ask(draft, f"no such place here: {named[-1].form}")


def _doubt_same(heard: Heard, drafts: Sequence[ReadingDraft]) -> None:
    """Ask about a bare figure right behind a "same" that may be the next place ("two same three same")."""
    same = heard.mentions.cues("same_value")
    ends = {m.end for m in same if m.form in ("same", "ditto", "identical")}
    for draft in drafts:
        led = {"plus", "minus"} & set(heard.norms(max(0, draft.start - 1), draft.start + 1))
        if led and any(m.end <= draft.start for m in same):
            # "Same at the impeller plus two thou at the coupling": two thou, or two more than the same.
            _ask(draft, "it may be a difference, not the value")
        bare = draft.quantity is not None and draft.quantity.unit is None and draft.end - draft.start == 1
        if bare and draft.start in ends and draft.position is not None:
            for doubtful in drafts:
                _ask(doubtful, "it may be the next place, and the same there")


def _doubt_reckoned(heard: Heard, drafts: Sequence[ReadingDraft]) -> None:
    """Ask about what is left of a sum where the talk is of what is needed, so that it may be a plan."""
    if not _NEEDING & set(heard.norms(0, len(heard.tokens))):
        return
    left = {said.result.start for said in sums_said(heard.tokens, heard.mentions) if said.less}
    for draft in drafts:
        if draft.start in left:
            _ask(draft, "reckoned, maybe not measured")


def _doubt_mils(heard: Heard, drafts: Sequence[ReadingDraft]) -> None:
    """Ask about a "mil" taken for a thousandth of an inch where the sheet counts in millimetres."""
    for draft in drafts:
        mil = "mil" in heard.norms(draft.start, draft.end)
        if mil and draft.said_unit == "in" and draft.unit in ("mm", "um"):
            _ask(draft, "mil may be millimetres or thousandths of an inch")


def _ask(draft: ReadingDraft, reason: str, *, by_ear: bool = False) -> None:
    offered = [value_candidate(draft.value, draft.unit)] if draft.value is not None else []
    draft.ask(reason, *offered, leads=False, by_ear=by_ear)
