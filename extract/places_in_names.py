"""Places that are only part of the name of another item: "output journal" says no place of the runout."""

from __future__ import annotations

from extract.mentions import Mentions
from extract.placings import Item
from extract.position_spans import PositionSpan
from extract.sheet_phrases import WEAK
from shared.job_sheet import JobSheet


def names_other_item(span: PositionSpan, mentions: Mentions, sheet: JobSheet) -> bool:
    """Whether a place's words stand inside the longer full name of items that are not measured there."""
    if span.style != "named":
        return False
    measured: dict[str, Item] = sheet.measured
    return any(
        m.cost < WEAK
        and m.start <= span.start
        and span.end <= m.end
        and m.end - m.start > span.end - span.start
        and not any(set(span.keys) & set(measured[key].positions or ()) for key in m.keys)
        for m in mentions.of("item")
    )
