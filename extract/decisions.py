"""Part actions: renewed, reused, cleaned, scrapped, saved, removed, fitted."""

from __future__ import annotations

from collections.abc import Sequence
from typing import cast

from extract.entry_drafts import NoteDraft, PartDraft
from extract.heard import Heard
from extract.idle_actions import idle
from extract.measured_parts import judges_value
from extract.number_words import ONES, TEENS
from extract.numbers import is_number_word
from extract.part_names import NamedPart
from extract.part_talk import PartTalk
from extract.predicates import Predicate
from extract.spelled_codes import code_after
from extract.word_sets import word_set
from shared.job_sheet import JobSheet
from shared.record import Action, Candidate
from shared.sheet_entries import words_of

_BESIDE_COUNT = word_set("decisions.beside_count")
_KEEPING = word_set("decisions.keeping")
_SHOWN_TO = word_set("decisions.shown_to")
_REASON_REACH = 14
_PUT_BACK = word_set("decisions.put_back")
_OF_OLD = word_set("decisions.of_old")
_CALLS = frozenset({"hey", "oi", "yo", "ey", "hoy"})
#: Not all of them are new where the others go back.
_OF_THE_REST = frozenset({"rest", "other", "others", "remaining", "remainder", "same", "one", "ones"})
_PIECES = word_set("decisions.pieces")
#: A shorter one may be the parking lot.
_LEAST_LOT = 3
_LOT = (("lot", "number"), ("batch", "number"), ("lot", "no"), ("batch", "no"))


def read_decisions(heard: Heard, talk: PartTalk, sheet: JobSheet | None = None) -> list[PartDraft]:
    """Return the part actions that an utterance states; planned, denied and asked ones make none.

    Args:
        heard: the utterance.
        talk: which part each of its predicates is about.
        sheet: where it is known, it tells whether a part put back is a decision.
    """
    drafts: list[PartDraft] = []
    for predicate, part in talk.said:
        if predicate.kind != "action" or predicate.denied or predicate.mood != "stated":
            continue
        if (
            judges_value(heard, predicate)
            or idle(heard, predicate, part)
            or (part.unlisted and _calls_somebody(heard))
        ):
            continue
        for name in part.parts:
            draft = PartDraft(
                name,
                "fitted" if _only_placed(heard, predicate, sheet, name) else _action(heard, predicate),
                _quantity(heard, predicate, part),
                None,
                part.unlisted,
                predicate.start,
                _rule(predicate, part),
                repairs=(*part.repairs, *predicate.repairs),
                goes_back=_only_goes_back(heard, predicate),
            )
            _doubt(draft, predicate, part)
            twins = [d for d in drafts if d.part == name and d.action == draft.action]
            if twins and twins[0].doubts.reasons and not draft.doubts.reasons:
                # "He says keep it, so the sleeve gets used again": what is sure stands.
                draft.quantity = draft.quantity or twins[0].quantity
                drafts.remove(twins[0])
            elif twins:
                if predicate.hedged and not twins[0].doubts.reasons:
                    _doubt(twins[0], predicate, part)
                twins[0].quantity = twins[0].quantity or draft.quantity
                continue
            drafts.append(draft)
    drafts = _without_shadows(drafts)
    _give_serial(heard, drafts)
    return drafts


def _calls_somebody(heard: Heard) -> bool:
    """Whether a mate is called to do it ("hey jim, cut that fan off")."""
    return bool(heard.tokens) and heard.tokens[0].norm in _CALLS


def _action(heard: Heard, predicate: Predicate) -> Action:
    """Return what was done; what is kept for somebody to see is saved, not fitted again."""
    if predicate.key == "reused" and predicate.form.split()[0] in _KEEPING:
        behind = heard.norms(predicate.end, predicate.end + _REASON_REACH)
        if any(word in ("for", "show") and _SHOWN_TO & set(behind[n:]) for n, word in enumerate(behind)):
            return "saved"
    return cast(Action, predicate.key)


def _only_goes_back(heard: Heard, predicate: Predicate) -> bool:
    """Whether it is only said that a part goes back on or in, not that it is the old one."""
    around = heard.norms(predicate.clause.start, predicate.clause.end)
    back = predicate.key == "reused" and "back" in predicate.form.split()
    return back and _OF_OLD.isdisjoint(around) and _OF_THE_REST.isdisjoint(around)


def _only_placed(heard: Heard, predicate: Predicate, sheet: JobSheet | None, name: str) -> bool:
    """Whether "putting the casing back on" only says how far the pump's work is.

    It decides where the sheet wants a decision ("putting the impeller back on") or a policy of its own hangs
    on it. What "goes back on" was looked at and is told of: that decides everywhere.
    """
    wanted = sheet.part_names.get(name) if sheet is not None else None
    if wanted is None or wanted.decide or wanted.policy != "inspect" or predicate.key != "reused":
        return False
    form = predicate.form.split()
    around = heard.norms(predicate.clause.start, predicate.clause.end)
    putting = form[0] in ("put", "putting") and "back" in form and set(form[1:]) <= _PUT_BACK
    return putting and not _OF_OLD & set(around)


def _quantity(heard: Heard, predicate: Predicate, part: NamedPart) -> int | None:
    if len(part.parts) != 1:
        return None
    if _single(heard, predicate, part):
        return 1
    return (
        _count_beside(heard, predicate, part)
        or part.quantity
        or _of_them(heard, predicate)
        or _pieces_behind(heard, part)
    )


def _single(heard: Heard, predicate: Predicate, part: NamedPart) -> bool:
    """Whether only one piece of several is meant ("one's rusted, replaced that one")."""
    behind = heard.norms(predicate.end, predicate.end + 4)
    one = behind[:2] in (["that", "one"], ["this", "one"]) or behind[:3] == ["just", "the", "one"]
    several = part.parts[0].endswith("s") and not part.parts[0].endswith("ss")
    return one and several and behind[2:3] not in (["of"],)


def _pieces_behind(heard: Heard, part: NamedPart) -> int | None:
    """Return the count in "lip seals, four pieces", "lantern rings two numbers" behind the part."""
    at = part.end
    while heard.norms(at, at + 1) in ([","], ["all"], ["-"]):
        at += 1
    count = _count(heard, at)
    told = heard.norms(at + 1, at + 2)
    return count if count and count > 1 and told and told[0] in _PIECES else None


def _count_beside(heard: Heard, predicate: Predicate, part: NamedPart) -> int | None:
    """Return the count right beside what was done ("five reused", "one new one", "new, two pieces")."""
    end = predicate.split[1] if predicate.split else predicate.end
    start = predicate.start
    while start > 0 and heard.tokens[start - 1].norm in _BESIDE_COUNT:
        start -= 1
    ahead = _count(heard, start - 1)
    lone = part.start <= start - 1 < part.end or heard.norms(start - 2, start - 1) in (["number"], ["point"])
    # "Ninety five reused" is no five of them.
    lone = lone or (start > 1 and is_number_word(heard.tokens[start - 2]))
    if part.end == start - 1:
        # "Impellers five reused" counts, "impeller five reused" names.
        lone = lone or not heard.tokens[part.end - 1].norm.endswith("s")
    if ahead is not None and not lone and (ahead > 1 or predicate.form == "new"):
        return ahead
    at = end
    while at < len(heard.tokens) and heard.tokens[at].norm in (",", "all", "-", "just", "only"):
        at += 1
    behind = _count(heard, at)
    if behind is None or behind < 2:
        return None
    following = heard.norms(at + 1, at + 2)
    if following in (["pieces"], ["piece"], ["off"], ["pcs"], ["total"]):
        return behind
    if heard.norms(at - 1, at) == ["all"] and (not following or following[0] in ("of", "and", ",", ".")):
        return behind
    active = predicate.form.endswith(("ed", "ing")) and heard.norms(at - 2, at - 1) in (["i"], ["we"])
    return behind if active and (not following or following[0] in ("and", ",", ".", "but")) else None


def _count(heard: Heard, at: int) -> int | None:
    if at < 0 or at >= len(heard.tokens) or at in heard.walls:
        return None
    norm = heard.tokens[at].norm
    if norm.isdecimal() and len(norm) <= 2:
        return int(norm)
    return ONES.get(norm) or TEENS.get(norm)


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
    """Give a spoken serial or lot number to the part that was renewed or fitted in the same breath."""
    fitted = [d for d in drafts if d.action in ("renewed", "fitted")]
    if len(fitted) != 1:
        return
    serial = code_after(heard.tokens, ("serial",))
    if serial is not None:
        fitted[0].serial = serial
        return
    for noun in _LOT:
        lot = code_after(heard.tokens, noun)
        if lot is not None:
            # The contract has one field for what a new part is known by; a lot says that it is one.
            fitted[0].serial = f"lot {lot}"
            return


def lone_lots(heard: Heard, talk: PartTalk, drafts: Sequence[PartDraft]) -> list[NoteDraft]:
    """Return the lot that belongs to no part action of its utterance, as a note."""
    if any(draft.serial is not None for draft in drafts):
        return []
    lot = next((code for noun in _LOT if (code := code_after(heard.tokens, noun)) is not None), None)
    if lot is None or len(lot) < _LEAST_LOT:
        return []
    named = list(dict.fromkeys(name for part in talk.parts for name in part.parts))
    if len(named) == 1:
        return [NoteDraft(f"{words_of(named[0])}: lot {lot}", 0, "lot said by itself")]
    doubt = "more than one part was named with it" if named else "no part was named with it"
    return [NoteDraft(f"lot {lot}", 0, "lot said by itself", doubt)]
