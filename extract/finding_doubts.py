"""Findings, part actions and consumables whose words the ear was not sure of: asked about, as readings are.

Held against the words is what decides an entry: the finding or action itself, the name of the part, and what
stands between the two and may be a "not". Where no part is named, a finding heard in passing ("… new and bent
small …") goes to the part talked about before only if a pronoun or a feature of it says so. Words without a
confidence, as typed ones are, are taken as they stand.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from extract.entry_drafts import ConditionDraft, ConsumableDraft, PartDraft
from extract.governing_words import plain_words
from extract.heard import Heard
from extract.part_names import NamedPart
from extract.part_sounds import parts_sounding_like
from extract.part_talk import PartTalk
from extract.predicates import Predicate
from extract.reference import PRONOUNS
from extract.state_sense import COPULAS
from extract.word_confidence import WordConfidence
from extract.word_sets import word_set
from shared.job_sheet import JobSheet
from shared.record import Candidate

#: A word that decides is a question below it. Measured on development speech, all forms of a word at about
#: one place taken together (``capture/engines/word_doubts.py``).
_LEAST = 0.35
#: The same where another part of the sheet sounds nearly like it; as with numbers that sound alike.
_CONFUSABLE = 0.6
_NOT_CLEAR = "the words were not heard clearly"
_OF_WHAT = "it was not understood what this is said of"
_FEATURES = word_set("reference.features")
_STANDS_FOR = PRONOUNS | {"both", "all"}
_LEADS_ONE = frozenset({"new", "old", "that", "this", "the", "other", "same", "good", "fresh", "spare"})
#: So far behind what is said a "one" still stands for the part ("put a new one in").
_REACH = 3

#: In a phrase, but of no weight in it ("hard as a rock").
_IDLE = frozenset({"a", "an", "the", "and", "as", "of", "it", "them", "so", "to", "'s"})
_DENYING = word_set("value_doubts.denying")

_Draft = ConditionDraft | PartDraft


def doubt_findings(
    sheet: JobSheet,
    heard: Heard,
    talk: PartTalk,
    findings: Sequence[_Draft],
    consumables: Sequence[ConsumableDraft],
) -> None:
    """Ask about each sure entry that an unclear word decides, or that nothing ties to its part."""
    if not heard.utterance.words:
        return
    sure = WordConfidence(heard.utterance, heard.tokens)
    for draft in findings:
        told = _told(draft, talk)
        if told is None or draft.doubts.reasons:
            continue
        predicate, part = told
        least = min((sure.least(i, i + 1) for i in _deciding(heard, predicate, part)), default=1.0)
        name = sure.least(part.start, part.end) if part.called else 1.0
        twins = parts_sounding_like(sheet, draft.part, part.called) if name < _CONFUSABLE else ()
        if least < _LEAST or twins:
            others = (_candidate(draft, twin) for twin in twins)
            draft.doubts.ask(_NOT_CLEAR, _candidate(draft, draft.part), *others)
        if not part.called and not _tied(heard, talk, predicate):
            draft.doubts.ask(_OF_WHAT, _candidate(draft, draft.part))
    for used in consumables:
        mention = next((m for m in heard.mentions.of("consumable") if m.start == used.start), None)
        if (
            mention is not None
            and not used.doubts.reasons
            and sure.least(mention.start, mention.end) < _LEAST
        ):
            used.doubts.ask(_NOT_CLEAR, Candidate(words=heard.words(mention.start, mention.end)))


def _told(draft: _Draft, talk: PartTalk) -> tuple[Predicate, NamedPart] | None:
    key = draft.condition if isinstance(draft, ConditionDraft) else draft.action
    pairs = [(p, n) for p, n in talk.said if p.start == draft.start and draft.part in n.parts]
    return next((pair for pair in pairs if pair[0].key == key), pairs[0] if pairs else None)


def _deciding(heard: Heard, predicate: Predicate, part: NamedPart) -> Iterator[int]:
    """Yield the tokens that an entry stands on."""
    spans = [(predicate.start, predicate.end), predicate.split or (0, 0)]
    if part.called:
        spans.append((part.start, part.end))
        if predicate.clause.start <= part.start and part.end < predicate.start:
            yield from (i for i in range(part.end, predicate.start) if _may_be_denial(heard, i))
    yield from (i for span in spans for i in range(*span) if heard.tokens[i].norm not in _IDLE)


def _may_be_denial(heard: Heard, i: int) -> bool:
    """Whether a word between part and finding is a verb, a "not", or something that nobody understands."""
    norm = heard.tokens[i].norm
    if norm in COPULAS or norm in _DENYING:
        return True
    known = norm in plain_words() or any(m.start <= i < m.end for m in heard.mentions.all)
    return norm.isalpha() and len(norm) > 1 and not known


def _tied(heard: Heard, talk: PartTalk, predicate: Predicate) -> bool:
    """Whether a pronoun or a feature of the part says that a finding is of what was talked about."""
    if any(orphan.start < predicate.start for orphan in talk.orphans):
        # "Blind good it's going back": the gland was good, and nobody understood it.
        return False
    before = range(predicate.clause.start, predicate.start)
    behind = range(predicate.end, min(predicate.end + _REACH, len(heard.tokens)))
    if any(_stands_for_part(heard, i) for i in (*before, *behind)):
        return True
    return any(heard.tokens[i].norm in _FEATURES for i in before)


def _stands_for_part(heard: Heard, i: int) -> bool:
    """Whether a word stands for the part; "one" only led by a word that a number is not ("a new one")."""
    norm = heard.tokens[i].norm
    lead = heard.norms(i - 1, i) if i else []
    return norm in _STANDS_FOR and (norm != "one" or bool(_LEADS_ONE & {*lead}))


def _candidate(draft: _Draft, part: str) -> Candidate:
    if isinstance(draft, ConditionDraft):
        return Candidate(part=part, condition=draft.condition)
    return Candidate(part=part, action=draft.action)
