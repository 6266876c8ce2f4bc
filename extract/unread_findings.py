"""What was said of parts, consumables and steps and makes no entry, with the reason."""

from __future__ import annotations

from collections.abc import Iterator

from extract.heard import Heard
from extract.idle_actions import idle
from extract.part_names import NamedPart
from extract.part_talk import PartTalk
from extract.predicates import Predicate
from extract.utterance_findings import Findings
from shared.sheet_entries import words_of

_MOODS = {
    "question": "asked, not stated",
    "conditional": "only supposed",
    "future": "yet to be done",
    "elsewhere": "of another machine or time",
}


def unread_findings(heard: Heard, parts: PartTalk, findings: Findings) -> Iterator[tuple[str, str]]:
    """Yield (words, why) of everything that names a finding, a consumable or a step and is not filed."""
    filed = {(d.part, d.start) for d in findings.conditions} | {(d.part, d.start) for d in findings.parts}
    read: list[Predicate] = [*parts.orphans]
    for predicate, part in parts.said:
        read.append(predicate)
        if not any((name, predicate.start) in filed for name in part.parts):
            yield _told(heard, predicate, part), _why(heard, predicate, part)
    for orphan in parts.orphans:
        yield heard.words(orphan.start, orphan.end), "nothing said which part"
    for mention in heard.mentions.of("condition", "action"):
        if not any(p.start < mention.end and mention.start < _end(p) for p in read):
            yield heard.words(mention.start, mention.end), f"not meant as {words_of(mention.key)} here"
    used = {d.start for d in findings.consumables}
    for mention in heard.mentions.of("consumable"):
        if mention.start not in used:
            yield heard.words(mention.start, mention.end), "not said to be used, or said twice"
    steps = {d.step for d in findings.steps}
    for mention in heard.mentions.of("step"):
        if not steps & set(mention.keys):
            yield heard.words(mention.start, mention.end), "not said to be done"


def _told(heard: Heard, predicate: Predicate, part: NamedPart) -> str:
    said = heard.words(predicate.start, predicate.end)
    return f"{said} ({', '.join(words_of(name) for name in part.parts)})"


def _end(predicate: Predicate) -> int:
    return predicate.split[1] if predicate.split else predicate.end


def _why(heard: Heard, predicate: Predicate, part: NamedPart) -> str:
    if predicate.denied:
        return "denied"
    if predicate.mood != "stated":
        return _MOODS.get(predicate.mood, predicate.mood)
    if predicate.kind == "action" and idle(heard, predicate, part):
        return "it decides nothing on the part"
    return "covered by what is filed, or taken back"
