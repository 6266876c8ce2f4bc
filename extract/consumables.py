"""Consumables: what was used, and on which part."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import cast

from extract.both_parts import both_named
from extract.entry_drafts import ConsumableDraft
from extract.heard import Heard
from extract.mentions import Mention
from extract.part_names import NamedPart, goes_with, parts_in
from extract.part_places import behind_preposition
from extract.part_talk import PartTalk
from extract.quantity_arcs import longest_quantity
from extract.reference import with_pair
from extract.state_sense import COPULAS
from extract.talk_context import TalkContext
from extract.word_sets import phrase_set, word_set
from shared.job_sheet import JobSheet
from shared.record import ConsumableName

_USED_BEFORE = word_set("consumables.used_before")
_USED_AFTER = word_set("consumables.used_after")
_NOT_USED_BEFORE = word_set("consumables.not_used_before")
_NOT_USED_PHRASES = (
    ("all", "over"),
    ("there", "was"),
    ("there", "was", "some"),
    ("full", "of"),
    ("covered", "in"),
    ("ran", "out", "of"),
    ("run", "out", "of"),
    ("out", "of"),
    ("thick", "with"),
    ("caked", "in"),
    ("bit", "of", "old"),
    ("stealing", "some"),
    ("the", "wrong"),
    ("where", "'s", "the"),
    ("wrong",),
    ("dirty",),
    ("milky",),
    ("left", "of", "the"),
    ("up", "to", "my", "elbows", "in"),
)
_NOT_USED_AFTER = word_set("consumables.not_used_after")
_APPLIED = word_set("consumables.applied")
_AUXILIARIES = word_set("consumables.auxiliaries")
_WENT = word_set("consumables.went")
#: How well something came clean.
_HOW = frozenset({"up", "nice", "nicely", "lovely", "well", "good", "great", "off", "right", "fine", "the"})
_ON = (["on"], ["in"], ["round"], ["into"], ["onto"], ["under"])
_VERB_REACH = 6
#: What may stand between it and the torque in a terse line, and what tells a torque without a figure.
_BEFORE_TORQUE = word_set("consumables.before_torque")
_TIGHTENED = word_set("consumables.tightened")
_ENDS_LINE = frozenset({",", ".", "and", "then", "next", "on", "done"})
_BEFORE_FIGURE = word_set("part_names.to_figure")
#: "… and the same in the other", "and ten grams in the oil seal", "on the rings as well".
_ONCE_MORE = word_set("consumables.once_more")
_AS_WELL = (["too"], ["also"], ["likewise"], ["as", "well"], ["the", "same"], ["ditto"], ["both"])
_SOAKED = word_set("consumables.soaked")
_WASHED = word_set("consumables.washed")
_VERBAL = phrase_set("consumables.verbs")
_ALL_OVER = frozenset(tuple(phrase.split()) for phrase in phrase_set("consumables.all_over"))
#: "A smear of grease" tells of its use.
_PORTIONS = frozenset({"smear", "dab", "packed", "fresh"})
_TARGET_REACH = 6
_VERB_REACH = 5
#: What others used before is no consumable of this rebuild.
_OTHERS = frozenset({"somebody", "someone", "whoever", "who", "they'd"})


def read_consumables(
    sheet: JobSheet, heard: Heard, talk: PartTalk, context: TalkContext
) -> list[ConsumableDraft]:
    """Return the consumables that an utterance says were used."""
    drafts: list[ConsumableDraft] = []
    fastened = {f.item: f.part for f in sheet.fasteners if f.part is not None}
    for mention in heard.mentions.of("consumable"):
        if mention.within(heard.mentions.of("item", "position")):
            # "Pad six", "pad thickness".
            continue
        instead = bool(drafts) and _instead(heard, mention)
        used = "" if instead else _used(heard, mention, talk)
        if not instead and not used:
            continue
        target = _of_fastener(heard, fastened, _target(sheet, heard, mention, talk, context))
        if target is not None and not target.called:
            clause = heard.clause_at(mention.start)
            target = with_pair(sheet, heard.norms(clause.start, mention.start), target)
        if target is not None:
            lead = heard.norms(heard.clause_at(mention.start).start, mention.start + 1)
            target = both_named(sheet, lead, mention, talk, target)
        targets: tuple[str | None, ...] = (None,)
        if target is not None:
            targets = (*target.parts, *_and_on(sheet, heard, talk, mention, target))
        if instead and not any(part.start >= mention.end for part in talk.parts):
            targets = (drafts[-1].applied_to,)
        for applied_to in targets:
            drafts.append(
                ConsumableDraft(
                    cast(ConsumableName, mention.key),
                    applied_to,
                    mention.start,
                    _rule(mention, target, used or "told in place of another"),
                    repairs=mention.repairs,
                )
            )
            if target is not None and target.unlisted:
                drafts[-1].applied_to = applied_to
    return _distinct(drafts)


def _instead(heard: Heard, mention: Mention) -> bool:
    """Whether it is told in place of another ("put never seize on the bolts, no, I mean thread locker")."""
    at = mention.start
    while at and heard.tokens[at - 1].norm in ("the", "some", "it", "was", "'s", ",", "with"):
        at -= 1
    cues = [m for m in heard.mentions.cues("correction") if m.end == at]
    return bool(cues) or any(m.end == at and "strike_last" in m.keys for m in heard.mentions.of("command"))


def _of_fastener(heard: Heard, fastened: Mapping[str, str], target: NamedPart | None) -> NamedPart | None:
    """Return the part that bolts hold where the sheet lists them by their torque only ("gland bolts")."""
    if target is None or not target.unlisted:
        return target
    for mention in heard.mentions.of("item"):
        if mention.start <= target.start and target.end <= mention.end and mention.key in fastened:
            return NamedPart((fastened[mention.key],), target.start, target.end)
    return target


def _distinct(drafts: list[ConsumableDraft]) -> list[ConsumableDraft]:
    seen: dict[tuple[str, str | None], ConsumableDraft] = {}
    for draft in drafts:
        seen.setdefault((draft.name, draft.applied_to), draft)
    named = {name for name, applied in seen if applied is not None}
    return [d for d in seen.values() if d.applied_to is not None or d.name not in named]


def _used(heard: Heard, mention: Mention, talk: PartTalk) -> str:
    """Return what tells that it was used; empty where nothing does."""
    clause = heard.clause_at(mention.start)
    if clause.mood in ("question", "conditional", "elsewhere") or _planned(heard, mention):
        return ""
    if _OTHERS & set(heard.norms(clause.start, mention.start)):
        return ""
    before = heard.norms(max(clause.start, mention.start - 4), mention.start)
    if any(
        m.start >= clause.start and m.end <= mention.start and mention.start - m.end <= 3
        for m in heard.mentions.cues("negation")
    ):
        return ""
    if any(tuple(before[-len(words) :]) == words for words in _NOT_USED_PHRASES):
        return ""
    if before and before[-1] in ("old", "somebody", "someone", "who"):
        return ""
    after = heard.norms(mention.end, mention.end + 1)
    if mention.form in _VERBAL or mention.form.split()[0] in _PORTIONS:
        return "its own words say so"
    if _said_used(heard, mention):
        return "a verb behind it"
    if _in_terse_line(heard, mention):
        return "between bolts and torque"
    if _behind_torque(heard, mention):
        return "behind bolts and torque"
    washed = _SOAKED | _WASHED if mention.key == "solvent" else _SOAKED
    if before[-1:] == ["in"] and washed & set(_without_how(before[:-1])):
        return "soaked or washed in it"
    target_behind = bool(after) and after[0] in _USED_AFTER
    if target_behind and (parts_in(talk.parts, mention.end, clause.end) or _pronoun_behind(heard, mention)):
        return "what it went on stands behind it"
    whole = heard.norms(mention.end, len(heard.tokens))
    if tuple(whole[:1]) in _ALL_OVER or tuple(whole[:2]) in _ALL_OVER or tuple(whole[:3]) in _ALL_OVER:
        return "on all of them"
    if after and after[0] == "on" and parts_in(talk.parts, clause.start, mention.start):
        return "on the part before it"
    if after and after[0] in _NOT_USED_AFTER:
        return ""
    if before and before[-1] in ("the", "had", "have"):
        before = before[:-1] if before[-1] == "the" else before
    if before and (before[-1] in _USED_BEFORE or mention.start == clause.start):
        return "a word of use before it" if before[-1] != "of" or len(before) > 1 else ""
    return "what it went on stands behind it" if mention.start == clause.start and target_behind else ""


def _rule(mention: Mention, target: NamedPart | None, used: str) -> str:
    of = "" if target is None else f"; on {target.called}" if target.called else "; its part by the talk"
    return f"consumable: {mention.form!r}, {used}{of}"


def _without_how(before: Sequence[str]) -> Sequence[str]:
    """Return the last word before "in", over how well it went ("cleaned up lovely in solvent")."""
    at = len(before)
    while at and before[at - 1] in _HOW:
        at -= 1
    return before[max(0, at - 1) : at]


def _said_used(heard: Heard, mention: Mention) -> bool:
    """Whether a verb right behind it says so ("thread locker applied on the rod bolts")."""
    return _verb_behind(heard, mention) > mention.end


def _verb_behind(heard: Heard, mention: Mention) -> int:
    """Return the token behind the verb that says it was used ("is filled", "went"); else behind its name."""
    at = mention.end
    while (
        heard.norms(at, at + 1)[:1]
        and heard.tokens[at].norm in _AUXILIARIES
        and at < mention.end + _VERB_REACH
    ):
        at += 1
    word = (heard.norms(at, at + 1) or [""])[0]
    if word in _WENT:
        # "Thread locker went on the rods".
        return at + 1 if heard.norms(at + 1, at + 2) in _ON else mention.end
    if word not in _APPLIED:
        return mention.end
    at += 1
    while heard.norms(at, at + 1) in (["well"], ["right"], ["all"], ["up"]):
        at += 1
    return at


def _in_terse_line(heard: Heard, mention: Mention) -> bool:
    """Whether it stands between what is bolted and its torque ("cover bolts, thread locker, thirty")."""
    named = [
        m
        for m in heard.mentions.of("part", "other_part", "item")
        if m.end <= mention.start and all(word == "," for word in heard.norms(m.end, mention.start))
    ]
    at = mention.end
    while heard.norms(at, at + 1)[:1] and heard.tokens[at].norm in _BEFORE_TORQUE:
        at += 1
    torqued = at > mention.end and heard.norms(at - 1, at)[0] in _TIGHTENED
    return bool(named) and (torqued or longest_quantity(heard.tokens, at) is not None)


def _behind_torque(heard: Heard, mention: Mention) -> bool:
    """Whether it ends a line of bolts and their torque ("hub bolts fifty, thread locker")."""
    behind = heard.norms(mention.end, mention.end + 1)
    if behind and behind[0] not in _ENDS_LINE:
        return False
    fastened = [
        m
        for m in heard.mentions.of("item")
        if m.end < mention.start and any("torque" in key for key in m.keys)
    ]
    if not fastened:
        return False
    at = max(m.end for m in fastened)
    while at < mention.start and heard.tokens[at].norm in _BEFORE_FIGURE:
        at += 1
    amount = longest_quantity(heard.tokens, at)
    end = amount.end if amount is not None else at
    return amount is not None and all(word in (",", ".", "and") for word in heard.norms(end, mention.start))


def _planned(heard: Heard, mention: Mention) -> bool:
    clause = heard.clause_at(mention.start)
    return any(clause.holds(cue) and cue.start < mention.start for cue in heard.mentions.cues("future"))


def _pronoun_behind(heard: Heard, mention: Mention) -> bool:
    return any(
        word in ("it", "them", "that", "those", "these", "this")
        for word in heard.norms(mention.end, mention.end + 3)
    )


def _target(
    sheet: JobSheet, heard: Heard, mention: Mention, talk: PartTalk, context: TalkContext
) -> NamedPart | None:
    """Return the part that it went on: behind "on", else the part of the clause or the breath."""
    clause = heard.clause_at(mention.start)
    verb = _verb_behind(heard, mention)
    behind = heard.norms(verb, verb + _TARGET_REACH)
    end = _sentence_end(heard, mention.end)
    right = [p for p in parts_in(talk.parts, mention.end, end) if p.start - verb <= _TARGET_REACH]
    joined = behind and (behind[0] in _USED_AFTER or behind[0] in ("threads", "along"))
    goes_on = heard.norms(mention.end, mention.end + 1) in (["and"], [","], ["."])
    if mention.form in _VERBAL and right and right[0].start - mention.end <= 3 and not goes_on:
        return right[0]
    if joined and right and not _pronoun_first(heard, mention, right[0]):
        return right[0]
    bolted = _bolted(sheet, heard, mention, talk)
    if bolted is not None:
        return bolted
    said = [part for predicate, part in talk.said if predicate.kind == "action" and not predicate.denied]
    if joined and _pronoun_behind(heard, mention):
        return _latest(heard, talk, mention) or _focus(context)
    left = parts_in(talk.parts, clause.start, mention.start)
    verb_between = left and (
        (goes_on and left[-1].end == mention.start)
        or any(
            word in COPULAS or word in ("with", "had", "have", "gets", "got", "get")
            for word in heard.norms(left[-1].end, mention.start)
        )
    )
    if left and (verb_between or not right):
        own = [part for part in left if not behind_preposition(heard, part)]
        return (own or left)[-1]
    if said:
        return said[-1]
    if right and right[0].start - mention.end <= 3:
        return right[0]
    latest = _latest(heard, talk, mention)
    if latest is not None:
        return latest
    listed = next((c.for_ for c in sheet.consumables if c.name == mention.key), [])
    focus = _focus(context)
    if focus is not None and focus.parts[0] in listed:
        return focus
    return NamedPart((listed[0],), 0, 0) if len(listed) == 1 else None


def _sentence_end(heard: Heard, at: int) -> int:
    """Return where the sentence of a token ends: "grease on the lips. Springs face in" greases no spring."""
    return next(
        (i for i in range(at, len(heard.tokens)) if heard.tokens[i].norm in (".", "?", "!", ";")),
        len(heard.tokens),
    )


def _twins_by_place(sheet: JobSheet, heard: Heard, target: NamedPart) -> Iterator[NamedPart]:
    """Yield the twins of a part that a place alone names ("… and the same in the right")."""
    nouns = {name.split("_")[-1] for name in target.parts}
    for place in heard.mentions.of("position"):
        ends = heard.norms(place.end, place.end + 1) in ([], ["."], [","], ["too"], ["as"], ["also"])
        if place.start < target.end or not ends:
            continue
        twins = [
            name
            for name in sheet.part_names
            if name.split("_")[-1] in nouns and any(goes_with(name, key) for key in place.keys)
        ]
        if len(twins) == 1:
            yield NamedPart((twins[0],), place.start, place.end)


def _and_on(
    sheet: JobSheet, heard: Heard, talk: PartTalk, mention: Mention, target: NamedPart
) -> Iterator[str]:
    """Yield the parts that the same went on as well ("… and the same in the oil seal")."""
    last = target
    if not mention.end <= target.start:
        return
    others = [*talk.parts, *_twins_by_place(sheet, heard, target)]
    for part in sorted(others, key=lambda other: other.start):
        if part.start < last.end:
            continue
        between = heard.norms(last.end, part.start)
        counted = {
            i - last.end
            for at in range(last.end, part.start)
            if (amount := longest_quantity(heard.tokens, at)) is not None
            for i in range(amount.start, amount.end)
        }
        joined = all(word in _ONCE_MORE or n in counted for n, word in enumerate(between))
        own = {"on", "in", "to", "under", "round", "into", "onto", "same", "likewise"} & set(between)
        as_well = any(heard.norms(part.end, part.end + len(words)) == words for words in _AS_WELL)
        if not between or not joined or not (own or as_well) or part.unlisted:
            return
        yield from part.parts
        last = part


def _bolted(sheet: JobSheet, heard: Heard, mention: Mention, talk: PartTalk) -> NamedPart | None:
    """Return the part of the fastener whose torque was said just before ("forty one inch pounds with …")."""
    fastened = {f.item: f.part for f in sheet.fasteners if f.part is not None}
    items = [
        m for m in heard.mentions.of("item") if m.end <= mention.start and m.key in fastened and m.cost < 1
    ]
    if not items or any(p.start >= items[-1].end and p.end <= mention.start for p in talk.parts):
        return None
    valued = any(longest_quantity(heard.tokens, i) is not None for i in range(items[-1].end, mention.start))
    return NamedPart((fastened[items[-1].key],), items[-1].start, items[-1].end) if valued else None


def _pronoun_first(heard: Heard, mention: Mention, right: NamedPart) -> bool:
    return any(word in ("it", "them", "that", "those") for word in heard.norms(mention.end, right.start))


def _latest(heard: Heard, talk: PartTalk, mention: Mention) -> NamedPart | None:
    earlier = [part for part in talk.parts if part.end <= mention.start]
    own = [part for part in earlier if not behind_preposition(heard, part)] or earlier
    if own:
        return own[-1]
    spoken = [part for predicate, part in talk.said if predicate.start < mention.start]
    return spoken[-1] if spoken else None


def _focus(context: TalkContext) -> NamedPart | None:
    focus = context.focus()
    return NamedPart(focus[0], 0, 0, focus[1]) if focus is not None else None
