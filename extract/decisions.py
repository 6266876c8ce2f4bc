"""Part actions: renewed, reused, cleaned, scrapped, saved, removed, fitted."""

from __future__ import annotations

from typing import cast

from extract.entry_drafts import PartDraft
from extract.heard import Heard
from extract.number_words import ONES
from extract.part_names import NamedPart
from extract.part_talk import PartTalk
from extract.predicates import Predicate
from extract.spelled_codes import code_after
from shared.record import Action, Candidate

_PRONOUN_HEADS = ("one", "ones")


def read_decisions(heard: Heard, talk: PartTalk) -> list[PartDraft]:
    """Return the part actions that an utterance states; planned, denied and asked ones make none."""
    drafts: list[PartDraft] = []
    for predicate, part in talk.said:
        if predicate.kind != "action" or predicate.denied or predicate.mood != "stated":
            continue
        if _idle_new(heard, predicate, part):
            continue
        for name in part.parts:
            draft = PartDraft(
                name,
                cast(Action, predicate.key),
                _quantity(heard, predicate, part),
                None,
                part.unlisted,
                predicate.start,
                _rule(predicate, part),
                repairs=(*part.repairs, *predicate.repairs),
            )
            if any(d.part == name and d.action == draft.action for d in drafts):
                continue
            _doubt(draft, predicate, part)
            drafts.append(draft)
    drafts = _without_shadows(drafts)
    _give_serial(heard, drafts)
    return drafts


def _idle_new(heard: Heard, predicate: Predicate, part: NamedPart) -> bool:
    """Whether a "new" only tells apart ("the new one measures", "new style seal")."""
    if predicate.form != "new":
        return False
    return heard.norms(predicate.end, predicate.end + 1) in (["style"], ["type"])


def _quantity(heard: Heard, predicate: Predicate, part: NamedPart) -> int | None:
    if len(part.parts) != 1:
        return None
    return part.quantity or _of_them(heard, predicate) or _beside(heard, predicate)


def _beside(heard: Heard, predicate: Predicate) -> int | None:
    """Return the count in "i replaced two", "the other two i'm reusing", "all four of 'em new"."""
    following = heard.norms(predicate.end, predicate.end + 2)
    if (
        following
        and (count := _count(following[0]))
        and following[1:] in ([], ["and"], [","], ["of"], ["but"])
    ):
        return count
    clause = predicate.clause
    reach = max(clause.start - 3, 0)
    norms = heard.norms(reach, predicate.start)
    for i in range(len(norms) - 1, 0, -1):
        count = _count(norms[i])
        if count and (norms[i - 1] == "other" or (norms[i - 1] == "all" and norms[i + 1 : i + 2] == ["of"])):
            return count
    return None


def _count(word: str) -> int | None:
    count = ONES.get(word) or (int(word) if word.isdecimal() and len(word) == 1 else None)
    return count if count is not None and count > 1 else None


def _of_them(heard: Heard, predicate: Predicate) -> int | None:
    """Return the count in "replaced those two", "two of them were swapped"."""
    clause = predicate.clause
    norms = heard.norms(clause.start, max(clause.end, predicate.end))
    for i, norm in enumerate(norms):
        count = ONES.get(norm)
        if count is None or count < 2:
            continue
        if norms[i - 1 : i] in (["those"], ["these"]) or norms[i + 1 : i + 3] in (
            ["of", "them"],
            ["of", "'em"],
            ["of", "em"],
            ["of", "those"],
        ):
            return count
    return None


def _doubt(draft: PartDraft, predicate: Predicate, part: NamedPart) -> None:
    if predicate.hedged:
        draft.doubts.ask("the speaker was not sure", Candidate(part=draft.part, action=predicate.key))
    if part.unlisted:
        draft.doubts.ask("the part is not on the sheet")
    if part.doubt:
        draft.doubts.ask("more than one part is called so", *(Candidate(part=key) for key in part.doubt))


def _rule(predicate: Predicate, part: NamedPart) -> str:
    whose = f"of {part.called}" if part.called else "of the part talked about"
    return f"part action: {predicate.form!r} {whose}"


def _without_shadows(drafts: list[PartDraft]) -> list[PartDraft]:
    """Drop what the decision says already: a renewed or reused part that "goes in" is not also fitted."""
    decided = {(d.part, d.action) for d in drafts}
    kept = []
    for draft in drafts:
        if draft.action == "fitted" and (
            (draft.part, "renewed") in decided or (draft.part, "reused") in decided
        ):
            continue
        kept.append(draft)
    return kept


def _give_serial(heard: Heard, drafts: list[PartDraft]) -> None:
    """Give a spoken serial number to the part that was renewed or fitted in the same breath."""
    fitted = [d for d in drafts if d.action in ("renewed", "fitted")]
    if len(fitted) != 1:
        return
    serial = code_after(heard.tokens, ("serial",))
    if serial is not None:
        fitted[0].serial = serial
