"""Conditions: what parts were found like, and where on them."""

from __future__ import annotations

from typing import cast

from extract.appearances import only_looked_so
from extract.entry_drafts import ConditionDraft, Doubts
from extract.heard import Heard
from extract.measured_parts import judges_value
from extract.part_names import NamedPart
from extract.part_talk import PartTalk
from extract.predicates import Predicate
from extract.word_sets import word_set
from shared.record import Candidate, Condition

_PLACE_STARTS = word_set("conditions.place_starts")
_SKIPPED_STARTS = word_set("conditions.skipped_starts")
_PLACE_ENDS = word_set("conditions.place_ends")
_LONGEST_PLACE = 6
_ARTICLES = frozenset({"the", "a", "that", "this"})
_WEAR = frozenset({"wear", "worn", "track", "wearing"})
_WEAR_REACH = 8
_HOW_WORN = {
    "even": "even_wear", "evenly": "even_wear", "uniform": "even_wear", "uniformly": "even_wear",
    "uneven": "uneven_wear", "unevenly": "uneven_wear", "lopsided": "uneven_wear",
}  # fmt: skip
_NOT_HOW = frozenset({"though", "if", "when", "so", "as"})
_BEFORE_HOW = frozenset(
    {"track", "pattern", "mark", "band", ",", "-", "nice", "and", "but", "it", "'s", "is", "looks", "quite",
     "pretty", "very", "nicely", "lovely", "all", "which", "really", "fairly", "down", "good"}
)  # fmt: skip
_DENYING = frozenset(
    {"not", "no", "n't", "isn't", "aren't", "wasn't", "weren't", "ain't", "never", "without"}
)
_NO_PLACES = word_set("conditions.no_places")


def read_conditions(heard: Heard, talk: PartTalk) -> list[ConditionDraft]:
    """Return the conditions that an utterance states; denied, asked and supposed ones make none."""
    drafts: list[ConditionDraft] = []
    for n, (predicate, part) in enumerate(talk.said):
        if predicate.kind != "condition" or predicate.denied or predicate.mood != "stated":
            continue
        if judges_value(heard, predicate):
            continue
        limit = min((p.start for p, _ in talk.said[n + 1 :]), default=len(heard.tokens))
        location = _location(heard, predicate, part, limit)
        for name in part.parts:
            draft = ConditionDraft(
                name,
                cast(Condition, _wear(heard, predicate)),
                location,
                part.unlisted,
                predicate.start,
                _rule(predicate, part),
                repairs=(*part.repairs, *predicate.repairs),
            )
            _doubt(draft.doubts, predicate, part, name)
            if _one_of_two(heard, part):
                draft.doubts.ask("one of two parts", Candidate(part=name, condition=predicate.key))
            if only_looked_so(heard, predicate):
                draft.doubts.ask("it may only have looked so", Candidate(part=name, condition=predicate.key))
            twins = [d for d in drafts if d.part == name and d.condition == draft.condition]
            if twins and twins[0].doubts.reasons and not draft.doubts.reasons:
                drafts.remove(twins[0])
            elif twins:
                if predicate.hedged and not twins[0].doubts.reasons:
                    # "A little fretting, might be fretting, might be dirt": the doubt is the last word.
                    _doubt(twins[0].doubts, predicate, part, name)
                continue
            drafts.append(draft)
    drafts = [d for d in drafts if not _not_that_part(heard, d)]
    return _without_shadows(_without_undamaged(drafts, talk))


def _without_undamaged(drafts: list[ConditionDraft], talk: PartTalk) -> list[ConditionDraft]:
    """Drop the "good" of what only has not one fault where it has another ("it isn't worn, it's cracked")."""
    denying = {p.start for p, _ in talk.said if p.key == "good" and not _DENYING.isdisjoint(p.form.split())}
    damaged = {d.part for d in drafts if d.condition not in ("good", "even_wear")}
    return [d for d in drafts if not (d.condition == "good" and d.start in denying and d.part in damaged)]


def _one_of_two(heard: Heard, part: NamedPart) -> bool:
    """Whether the finding is of this part or the one before it ("wear ring or sleeve is cracked")."""
    lead = [word for word in heard.norms(part.start - 2, part.start) if word not in _ARTICLES]
    at = part.start - (2 if heard.norms(part.start - 1, part.start)[:1] != ["or"] else 1)
    return lead[-1:] == ["or"] and any(m.end == at for m in heard.mentions.of("part", "other_part"))


def _wear(heard: Heard, predicate: Predicate) -> str:
    """Return a condition's key, wear told more closely right behind it ("a wear track, nice and even")."""
    if predicate.key != "worn" or _WEAR.isdisjoint(heard.norms(predicate.start, predicate.end + 1)):
        return predicate.key
    behind = heard.norms(predicate.end, predicate.end + _WEAR_REACH)
    for n, word in enumerate(behind):
        if word in _HOW_WORN and not _NOT_HOW & set(behind[n + 1 : n + 2]):
            return _HOW_WORN[word]
        if word not in _BEFORE_HOW:
            return predicate.key
    return predicate.key


def _not_that_part(heard: Heard, draft: ConditionDraft) -> bool:
    """Whether the same breath takes the part back ("the carbon's chipped, no, it's not the carbon …")."""
    for mention in heard.mentions.of("part"):
        lead = [word for word in heard.norms(mention.start - 3, mention.start) if word not in _ARTICLES]
        if mention.start > draft.start and draft.part in mention.keys and lead[-1:] in (["not"], ["n't"]):
            return True
    return False


def _doubt(doubts: Doubts, predicate: Predicate, part: NamedPart, name: str) -> None:
    if predicate.hedged:
        doubts.ask("the speaker was not sure", Candidate(part=name, condition=predicate.key))
    if part.unlisted:
        doubts.ask("the part is not on the sheet")
    if part.doubt:
        doubts.ask("more than one part is called so", *(Candidate(part=key) for key in part.doubt))
    if part.repairs or predicate.repairs:
        return


def _rule(predicate: Predicate, part: NamedPart) -> str:
    whose = f"of {part.called}" if part.called else "of the part talked about"
    return f"condition: {predicate.form!r} {whose}"


def _without_shadows(drafts: list[ConditionDraft]) -> list[ConditionDraft]:
    """Drop a plain "worn" where the wear was described ("worn unevenly")."""
    described = {d.part for d in drafts if d.condition in ("even_wear", "uneven_wear")}
    return [d for d in drafts if not (d.condition == "worn" and d.part in described)]


def _location(heard: Heard, predicate: Predicate, part: NamedPart, limit: int) -> str | None:
    end = predicate.split[1] if predicate.split else predicate.end
    return _place_after(heard, end, part, limit) or part.place


def _place_after(heard: Heard, end: int, part: NamedPart, limit: int) -> str | None:
    """Return the words that say where, right behind a finding ("pitting on the inlet edges")."""
    at = end
    if part.start >= end:
        # "pitting on the impeller near the hub": the place stands behind the part.
        if part.start - end > 5:
            return None
        at = part.end
    while at < limit and heard.tokens[at].norm in _SKIPPED_STARTS:
        at += 1
    if at >= limit or heard.tokens[at].norm not in _PLACE_STARTS:
        return _clock(heard, end, limit)
    last = at + 1
    while last < min(limit, at + 1 + _LONGEST_PLACE) and heard.tokens[last].norm not in _PLACE_ENDS:
        last += 1
    words = heard.norms(at + 1, last)
    while words and words[-1] in ("side", "the", "a", "of") and len(words) > 3:
        last, words = last - 1, words[:-1]
    content = [word for word in words if word not in ("the", "a", "its", "of")]
    if not content or content[0] in _NO_PLACES:
        return None
    return heard.words(at, last)


def _clock(heard: Heard, at: int, limit: int) -> str | None:
    """Return "two o'clock" where it stands behind a finding."""
    for i in range(at, min(limit, at + 5)):
        if heard.tokens[i].norm in ("o'clock", "oclock") and i > 0:
            return heard.words(i - 1, i + 1)
        if heard.norms(i, i + 2) == ["o", "clock"]:
            return heard.words(i - 1, i + 2)
    return None
