"""Parts told by what was measured of them: "shaft at the seal … keeping it", "24 mil, going back in"."""

from __future__ import annotations

from itertools import pairwise

from extract.heard import Heard
from extract.part_names import NamedPart
from extract.predicates import Predicate
from extract.quantity_arcs import longest_quantity, quantities_ending_at
from extract.sheet_phrases import STEM, item_parts
from extract.state_sense import COPULAS
from extract.talk_context import TalkContext
from shared.job_sheet import JobSheet


def of_measurement(heard: Heard, predicate: Predicate, measured_last: bool) -> bool:
    """Whether "so it's okay" judges the value just measured or the limit just recited, not a part."""
    recited = any(barred.reason.startswith("a limit") for barred in heard.barred)
    return predicate.key == "good" and (measured_last or recited)


def judges_value(heard: Heard, predicate: Predicate) -> bool:
    """Whether a value right before is judged, not a part ("foot bolts at two hundred, good to go")."""
    if predicate.key != "good" and predicate.form != "good to go":
        return False
    at = predicate.start
    while at and heard.tokens[at - 1].norm in _LINKS:
        at -= 1
    values = quantities_ending_at(heard.tokens, at)
    if not values or any(m.end == at and m.end - m.start > 1 for m in heard.mentions.of("position", "part")):
        return False
    start = min(q.start for q in values)
    counts = heard.norms(start - 1, start)[:1] in (
        ["all"],
        ["both"],
        ["other"],
        ["the"],
        ["these"],
        ["those"],
    )
    return not counts and any(m.end <= start and m.cost < 1 for m in heard.mentions.of("item"))


def measured_part(sheet: JobSheet, heard: Heard, predicate: Predicate) -> NamedPart | None:
    """Return the part whose item was named before in the same breath ("shaft at the seal … keeping it")."""
    items = [m for m in heard.mentions.of("item") if m.end <= predicate.start and m.cost < 1]
    part = item_parts(sheet).get(items[-1].key) if items else None
    return NamedPart((part,), 0, 0) if part is not None else None


def measured_goes_back(sheet: JobSheet, heard: Heard, predicate: Predicate) -> NamedPart | None:
    """Return the part that was measured and goes back in one breath ("liner thickness 24, going back in")."""
    items = [m for m in heard.mentions.of("item") if predicate.clause.holds(m) and m.end <= predicate.start]
    if predicate.kind != "action" or predicate.key != "reused" or "back" not in predicate.form or not items:
        return None
    end = predicate.split[1] if predicate.split else predicate.end
    ends = heard.norms(end, end + 1) in ([], [","], ["."], ["and"], ["with"], ["then"])
    between_two = not _BETWEEN_PARTS.isdisjoint(heard.norms(items[-1].start, items[-1].end))
    if not ends or between_two:
        # "… going back in the box"; a clearance belongs to two parts.
        return None
    value = any(
        (q := longest_quantity(heard.tokens, i)) is not None
        and not set(heard.norms(q.end, predicate.start)) - {",", "and"}
        for i in range(items[-1].end, predicate.start)
    )
    part = item_parts(sheet).get(items[-1].key) if value and items[-1].cost < 1 else None
    return NamedPart((part,), 0, 0) if part is not None else None


def measured_elsewhere(heard: Heard, predicate: Predicate) -> bool:
    """Whether a pronoun means the item just named, not a part of before ("register's three … it's in")."""
    return any(m.end <= predicate.start and m.cost < 1 for m in heard.mentions.of("item"))


def of_item(heard: Heard, predicate: Predicate) -> bool:
    """Whether the subject of the clause is something measured ("gap at the flange even all round")."""
    clause = predicate.clause
    return any(
        clause.start <= m.start and m.end <= predicate.start and m.cost < STEM
        for m in heard.mentions.of("item")
    )


def measured_before(
    sheet: JobSheet, heard: Heard, predicate: Predicate, context: TalkContext
) -> NamedPart | None:
    """Return the part that a finding right behind its measurement is of ("… sleeve 45.1", "it's scored")."""
    behind = heard.norms(predicate.end, predicate.end + 2)
    if predicate.kind != "condition" or not context.measured_last or behind[1:] == ["the"]:
        return None
    said = heard.norms(predicate.clause.start, predicate.start)
    # "No, I had the feeler in crooked" tells of no part.
    if said and not any(a in _PRONOUNS and b in COPULAS for a, b in pairwise(said)):
        return None
    part = item_parts(sheet).get(context.item or "")
    return NamedPart((part,), 0, 0) if part is not None else None


_BETWEEN_PARTS = frozenset({"clearance", "clearances", "gap", "play", "float", "runout", "backlash", "lift"})
#: Between a value and the word that judges it.
_LINKS = frozenset(
    {"which", "is", "'s", "that", "so", "and", "looks", "look", ",", "all", "now", "nice", "still"}
)
_PRONOUNS = frozenset({"it", "that", "they", "this", "these", "those", "he", "she"})
