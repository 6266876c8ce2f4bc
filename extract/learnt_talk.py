"""What the trained recogniser adds to the rules: parts and findings that no list has, all asked about.

The rules are the masters. The recogniser is asked only where they leave words unexplained, and what it finds
is filed beside theirs as a question: an unlisted part for a finding or an action that nobody owns, a note for
a finding or an action that nobody knows. An entry of a rule it never changes, but one that the rules gave to
the part talked about before, while a strange part is named beside it, becomes a question between both. What
the rules hear as chatter becomes talk of the job by it only in the midst of the job, where of finding and
part the rules know one and it is sure of the other, and no word is of life beside the job: nothing else tells
"the pintle is cracked" from "the quiche is cracked".
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from extract.clause import Clause
from extract.conditions import read_conditions
from extract.decisions import read_decisions
from extract.entry_drafts import ConditionDraft, NoteDraft, PartDraft
from extract.everyday_words import is_everyday, is_everyday_thing
from extract.heard import Heard
from extract.number_words import NUMBER_WORDS
from extract.part_names import NamedPart
from extract.part_talk import PartTalk
from extract.predicates import Predicate, predicate_at
from extract.reading_drafts import LooseNumber, ReadingTalk
from extract.recogniser import LEAST_HINT, Learnt, recogniser
from extract.reference import PRONOUNS
from extract.spoken_units import unit_names_at
from extract.unlisted_names import HOUSEHOLD
from extract.utterance_findings import Findings
from extract.word_sets import word_set
from shared.record import Candidate

#: So sure the recogniser must be; chosen on ``bench/recogniser_text/tuned_on.txt``.
LEAST_SURE = {"PART": 0.6, "CONDITION": 0.7, "ACTION": 0.7, "MEASURE": 0.6}
#: So sure where nothing else tells that it is talk of the job; at 0.9 a line of chatter in 160 got an entry.
TELLING = 0.95
_PERSONAL = word_set("learnt_talk.personal")
_NAMES = ("part", "other_part", "item", "position", "step", "consumable", "command", "photo")
_OWN = (*_NAMES, "condition", "action")
_REACH = 5
#: Longer ones are no utterances.
_LONGEST = 200
_ARTICLES = frozenset({"the", "a", "an", "my", "all", "both", "some", "this"})
_POINTING = frozenset({"the", "this", "that", "a", "an", "another", "other", "these", "those"})
_LIKENING = frozenset({"as", "like", "than"})
_NO_PARTS = word_set("learnt_talk.no_parts")
#: Why a number made no reading, where naming what it measures may help.
_NOBODYS = ("belongs to no item of the sheet", "nothing said what it measures")
_SILENCING = ("private", "correction", "declared", "skipped")


@dataclass
class LearntTalk:
    """What an utterance gives besides; every draft has its doubt."""

    conditions: list[ConditionDraft] = field(default_factory=list)
    parts: list[PartDraft] = field(default_factory=list)
    notes: list[NoteDraft] = field(default_factory=list)
    focus: NamedPart | None = None
    """What the talk is about at the end, where that is no part of the rules."""
    doubts: dict[int, NamedPart] = field(default_factory=dict)
    """Where a finding of the part talked about before begins, the strange part named beside it."""
    telling: int = 0
    """How many findings and actions of strange parts tell by themselves that this is talk of the job."""

    def __len__(self) -> int:
        return len(self.conditions) + len(self.parts) + len(self.notes)

    def add_to(self, talk: PartTalk, findings: Findings, notes: list[NoteDraft]) -> None:
        """Add all to what the rules read; a rule's own entries stay, some as questions."""
        talk.focus = self.focus or talk.focus
        drafts: list[ConditionDraft | PartDraft] = [*findings.conditions, *findings.parts]
        for draft in drafts:
            other = self.doubts.get(draft.start)
            if other is not None:
                offered = (Candidate(part=draft.part), Candidate(part=other.parts[0]))
                draft.doubts.ask(f"{other.parts[0].replace('_', ' ')} was named beside it", *offered)
        findings.conditions += self.conditions
        findings.parts += self.parts
        notes += self.notes


def read_learnt(heard: Heard, talk: PartTalk, readings: ReadingTalk) -> LearntTalk:
    """Return what the recogniser adds to what the rules read, if the utterance is talk of the job."""
    learnt = LearntTalk()
    strange = _strange(heard)
    if not strange or len(heard.tokens) > _LONGEST or heard.mentions.cues(*_SILENCING):
        return learnt
    orphans = [
        p
        for p in talk.orphans
        if p.mood == "stated" and not p.denied and not _told_otherwise(heard, p.clause)
    ]
    referred = [p for p, part in talk.said if not part.end and p.mood == "stated" and not p.denied]
    loose = [n for n in readings.loose if n.unit not in (None, "count") and n.reason in _NOBODYS]
    if not (orphans or referred or loose or _something_left(heard, talk, readings, strange)):
        return learnt
    found = recogniser().find([token.norm for token in heard.tokens])
    spans = [span for span in found if _trusted(heard, span, strange, LEAST_SURE[span.label])]
    named = [span for span in spans if span.label == "PART"]
    parts = [_as_part(heard, span) for span in named]
    own = PartTalk(said=[(p, part) for p in orphans if (part := _owner(heard, p, parts)) is not None])
    learnt.conditions, learnt.parts = read_conditions(heard, own), read_decisions(heard, own)
    drafts: list[ConditionDraft | PartDraft] = [*learnt.conditions, *learnt.parts]
    for draft in drafts:
        draft.rule = f"recogniser: {draft.rule}"
    sure = {part.start for span, part in zip(named, parts, strict=True) if span.confidence >= TELLING}
    learnt.telling = sum(part.start in sure and _tells(heard, p, part) for p, part in own.said)
    named = [span for span in found if span.label == "PART"]
    hints = [_as_part(heard, span) for span in named if span in spans or _hints(heard, span, strange)]
    learnt.doubts = {p.start: part for p in referred if (part := _doubted(heard, p, hints)) is not None}
    if parts and (learnt or learnt.doubts):
        learnt.focus = parts[-1]
    findings = [span for span in spans if span.label in ("CONDITION", "ACTION")]
    notes = [_note(heard, talk, readings, span, [*talk.parts, *parts]) for span in findings]
    known = [_note(heard, talk, readings, s, talk.parts) for s in findings if s.confidence >= TELLING]
    learnt.telling += sum(note is not None for note in known)
    learnt.telling *= not _beside_the_job(heard)
    measures = [span for span in spans if span.label == "MEASURE"]
    notes += [_measured(heard, number, measures) for number in loose]
    learnt.notes = [note for note in notes if note is not None]
    return learnt


def _tells(heard: Heard, predicate: Predicate, part: NamedPart) -> bool:
    """Whether what became of a strange part is said as of a thing at hand: not "swapped shifts with dave"."""
    subject = predicate.kind == "condition" and part.end <= predicate.start
    return predicate.key != "good" and (subject or _pointed_at(heard, part.start))


def _pointed_at(heard: Heard, at: int) -> bool:
    return bool(_POINTING & set(heard.norms(at - 1, at)))


def _beside_the_job(heard: Heard) -> bool:
    """Whether any word is of life beside the job, so that what is broken may be anything."""
    words = [token.norm for token in heard.tokens]
    return bool(heard.mentions.cues("private")) or any(w in _PERSONAL or is_everyday_thing(w) for w in words)


def _strange(heard: Heard) -> frozenset[int]:
    """Return the tokens that no rule explains and that are none of the commonest words."""
    taken = {i for m in heard.mentions.all for i in range(m.start, m.end)}
    units = [(i, unit_names_at(heard.tokens, i)[1]) for i in range(len(heard.tokens)) if i not in taken]
    taken |= {i for start, end in units for i in range(start, end)}
    return frozenset(
        i
        for i, token in enumerate(heard.tokens)
        if i not in taken
        and token.norm.isalpha()
        and len(token.norm) > 2
        and token.norm not in NUMBER_WORDS
        and not is_everyday(token.norm)
    )


def _something_left(heard: Heard, talk: PartTalk, readings: ReadingTalk, strange: frozenset[int]) -> bool:
    """Whether strange words stand near a part of which nothing was said, in a clause without a reading."""
    told = {id(part) for _, part in talk.said}
    read = {heard.clause_at(draft.start) for draft in readings.drafts}
    for part in talk.parts:
        clause = heard.clause_at(part.start)
        if id(part) in told or clause in read or _told_otherwise(heard, clause):
            continue
        near = range(max(clause.start, part.start - _REACH - 1), min(clause.end, part.end + _REACH + 1))
        if not strange.isdisjoint(near):
            return True
    return False


def _hints(heard: Heard, span: Learnt, strange: frozenset[int]) -> bool:
    """Whether a span names a part likely enough to doubt that a finding is of another: "the clevis"."""
    return _pointed_at(heard, span.start) and _trusted(heard, span, strange, LEAST_HINT)


def _trusted(heard: Heard, span: Learnt, strange: frozenset[int], least: float) -> bool:
    """Whether a span may be filed: sure enough, with a strange word, and none that a rule has read."""
    tokens = set(range(span.start, span.end))
    if span.confidence < least or not tokens & strange:
        return False
    if any(m.start < span.end and span.start < m.end for m in heard.mentions.of(*_OWN)):
        return False
    words = [heard.tokens[i].norm for i in tokens]
    if span.label == "PART" and _LIKENING & set(heard.norms(span.start - 3, span.start)):
        # "Rusty as old nails".
        return False
    return not ((HOUSEHOLD | _PERSONAL | _NO_PARTS) & set(words) or any(w in NUMBER_WORDS for w in words))


def _told_otherwise(heard: Heard, clause: Clause) -> bool:
    """Whether a clause tells of a step or a consumable: "packed the bushes with grease" does nothing else."""
    told = heard.mentions.of("step", "consumable", "command")
    return any(clause.holds(m) for m in told)


def _as_part(heard: Heard, span: Learnt) -> NamedPart:
    words = [word for word in heard.norms(span.start, span.end) if word[0].isalnum()]
    called = f"{' '.join(words)} (a part by its company, {span.confidence:.2f})"
    return NamedPart(("_".join(words),), span.start, span.end, True, None, (), (), None, called)


def _owner(heard: Heard, predicate: Predicate, parts: Sequence[NamedPart]) -> NamedPart | None:
    """Return the part that a finding or an action without one is about."""
    clause = predicate.clause
    inside = [part for part in parts if clause.start <= part.start < clause.end]
    left = [part for part in inside if part.end <= predicate.start]
    right = [part for part in inside if part.start >= predicate.end]
    if predicate.kind == "action" and left and _has_object(heard, predicate):
        # "Darryl replaced that": who did it is no part.
        left = []
    sides = (right, left[::-1]) if predicate.kind == "action" else (left[::-1], right)
    for side in sides:
        if side:
            return side[0]
    before = [part for part in parts if part.end <= clause.start]
    return before[-1] if before else None


def _doubted(heard: Heard, predicate: Predicate, parts: Sequence[NamedPart]) -> NamedPart | None:
    """Return the strange part that a finding may be of which the rules gave to the part talked about before.

    "They're rusty as anything" says whose it is; "took the bobbin off and it's pitted" does not.
    """
    clause = predicate.clause
    before = heard.norms(clause.start, predicate.start)
    if PRONOUNS & set(before):
        parts = [part for part in parts if part.end <= clause.start]
    return _owner(heard, predicate, parts)


def _has_object(heard: Heard, predicate: Predicate) -> bool:
    end = predicate.split[1] if predicate.split else predicate.end
    behind = (heard.norms(end, end + 1) or [""])[0]
    return behind in PRONOUNS or behind in _ARTICLES or any(m.start == end for m in heard.mentions.of(*_OWN))


def _measured(heard: Heard, number: LooseNumber, measures: Sequence[Learnt]) -> NoteDraft | None:
    """Return the question what a number is that stands beside a measure which no list has."""
    clause = heard.clause_at(number.start)
    if clause.mood != "stated":
        return None
    for span in measures:
        gap = number.start - span.end if span.end <= number.start else span.start - number.end
        if clause.start <= span.start < clause.end and 0 <= gap <= _REACH:
            name = heard.words(span.start, span.end)
            doubt = f"{name}, {number.words}: which item of the sheet"
            rule = f"recogniser: measure {name!r} by its company, {span.confidence:.2f}"
            return NoteDraft(heard.words(clause.start, clause.end), span.start, rule, doubt)
    return None


def _note(
    heard: Heard,
    talk: PartTalk,
    readings: ReadingTalk,
    span: Learnt,
    parts: Sequence[NamedPart],
) -> NoteDraft | None:
    """Return the question about a finding or an action in words that no list has."""
    kind = span.label.lower()
    predicate = predicate_at(heard, kind, "", span.start, span.end, heard.words(span.start, span.end))
    clause = predicate.clause
    if predicate.mood != "stated" or predicate.denied or _told_otherwise(heard, clause):
        return None
    if any(kind == "action" or clause.start <= draft.start < clause.end for draft in readings.drafts):
        # "Nudged the motor across, horizontal's two now": what was done to measure is no decision.
        return None
    part = _owner(heard, predicate, parts)
    if part is None or not clause.start <= part.start < clause.end:
        return None
    if any(said is part and p.clause == clause for p, said in talk.said):
        return None
    if kind == "action" and any(p.kind == kind and p.mood == "stated" for p, _ in talk.said):
        # "Been relagged so new lagging on": what becomes of the parts was said.
        return None
    if part.end + _REACH < span.start or span.end + _REACH < part.start:
        return None
    name = " and ".join(one.replace("_", " ") for one in part.parts)
    asked = "what condition" if kind == "condition" else "what was done"
    doubt = f"{name}, {predicate.form!r}: {asked}"
    rule = f"recogniser: {kind} {predicate.form!r} of {name} by its company, {span.confidence:.2f}"
    return NoteDraft(heard.words(clause.start, clause.end), span.start, rule, doubt)
