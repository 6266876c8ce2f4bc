"""Bench talk for one job sheet: templates and natural lines, their slots filled with its words."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from capture.vocabulary.natural_text import TEXT_DIR
from capture.vocabulary.slots import Measured, SheetWords
from shared.errors import VocabularyError

_SLOT = re.compile(r"\{(\w+)\}")
_SLOT_NAMES = frozenset(
    [
        "item",
        "pos",
        "pos2",
        "v",
        "w",
        "u",
        "part",
        "part2",
        "parts",
        "cond",
        "act",
        "actd",
        "cons",
        "step",
        "photo",
        "cmd",
        "gauge",
        "n",
        "num",
    ]
)


@dataclass(frozen=True)
class TemplateGroup:
    """Templates that are drawn from evenly; ``weight`` is how many lines the group gives to a hundred."""

    name: str
    weight: float
    lines: tuple[str, ...]


@cache
def template_groups(path: Path = TEXT_DIR / "templates.txt") -> tuple[TemplateGroup, ...]:
    """Read the templates.

    Raises:
        VocabularyError: a line outside a group, or a slot that nothing fills.
    """
    groups: list[TemplateGroup] = []
    for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), 1):
        where = f"{path.name}:{number}"
        if line.startswith("## "):
            name, weight = line[3:].split()
            groups.append(TemplateGroup(name, float(weight), ()))
        elif line.strip() and not line.startswith("#"):
            unknown = set(_SLOT.findall(line)) - _SLOT_NAMES
            if unknown or not groups:
                raise VocabularyError(f"unknown slot {sorted(unknown)} or no group", where=where)
            last = groups[-1]
            groups[-1] = TemplateGroup(last.name, last.weight, (*last.lines, line.strip()))
    return tuple(groups)


def template_lines(words: SheetWords, count: int) -> Iterator[str]:
    """Yield about ``count`` lines of generated narration; every sheet phrase stands in at least a few."""
    groups = [group for group in template_groups() if _fits(group.name, words)]
    total = sum(group.weight for group in groups)
    for group in groups:
        for _ in range(round(count * group.weight / total)):
            yield fill(words.rng.choice(group.lines), words, _item_for(group.name, words))
    yield from _every_phrase(words)


def _every_phrase(words: SheetWords) -> Iterator[str]:
    """Yield each spoken form of the sheet alone and at work, so that none is left to chance."""
    for entry in words.items:
        for form in entry.spoken:
            yield form
            for template in ("{item} {v}", "{item} is {v} {u}", "{item} {v} {u}"):
                yield fill(template.replace("{item}", form), words, entry)
    for form in words.parts + words.photos + words.steps + words.commands + words.consumables[:40]:
        yield form
    for entry in words.placed:
        for position in entry.positions:
            for form in words.sheet.spoken_positions(position):
                yield fill(f"{form} {{v}}", words, entry)
                yield fill(f"{{item}} {form} {{v}} {{u}}", words, entry)


def _fits(group: str, words: SheetWords) -> bool:
    needs = {"torque": words.torques, "reading_position": words.placed, "reading": words.items,
             "correction": words.items, "step": words.items}  # fmt: skip
    return bool(needs.get(group, True))


def _item_for(group: str, words: SheetWords) -> Measured | None:
    pool = {"torque": words.torques, "reading_position": words.placed}.get(group, words.items)
    return words.rng.choice(pool) if pool else None


def fill(template: str, words: SheetWords, entry: Measured | None) -> str:
    """Fill the slots of a template with words of the sheet; values are those of ``entry``."""
    rng = words.rng

    def one(match: re.Match[str]) -> str:
        slot = match.group(1)
        if entry is not None:
            if slot in ("v", "w"):
                return words.value(entry)
            if slot == "u":
                return words.unit(entry)
            if slot == "item":
                return rng.choice(entry.spoken)
            if slot in ("pos", "pos2"):
                return words.position(entry)
        if slot == "cond":
            return rng.choice(words.conditions)
        if slot in ("act", "actd"):
            return rng.choice(words.actions)
        return _plain_slot(slot, words)

    return " ".join(_SLOT.sub(one, template).split())


def _plain_slot(slot: str, words: SheetWords) -> str:
    draw = {
        "part": words.one_part, "part2": words.one_part, "parts": words.many_parts, "cons": words.consumables,
        "step": words.steps, "photo": words.photos, "cmd": words.commands,
    }.get(slot)  # fmt: skip
    if draw:
        return words.rng.choice(draw)
    if slot == "num":
        return words.identifier()
    return words.gauge() if slot == "gauge" else words.small_count()
