"""A face report for people: a few plain lines a picture."""

from __future__ import annotations

from collections.abc import Iterator

from api.screen import columns, wrapped
from extract.shop.causes import causes_of
from extract.shop.wear_advice import pictured_conditions
from shared.face_words import (
    advice_words,
    listed,
    mark_words,
    more_words,
    size_words,
    track_words,
    verdict_words,
)
from shared.photo import FaceReport


def face_lines(name: str, report: FaceReport, what: str, width: int) -> Iterator[str]:
    """Yield what a picture shows.

    Args:
        name: of the picture.
        report: what was found.
        what: the thing in the picture, in words.
        width: of the screen, columns.
    """
    verdict = verdict_words(report)
    kind = f" ({what})" if what not in verdict and not report.usable else ""
    sign = "✓ a seal face," if report.usable else "✗"
    yield from wrapped(f"{name}: {sign} {verdict}{kind}", width)
    yield from columns(list(_rows(report)), width) if report.usable or report.advice else ()


def _rows(report: FaceReport) -> Iterator[tuple[str, ...]]:
    if report.usable:
        yield "size", size_words(report)
        if report.track is not None:
            yield "track", track_words(report.track)
        shown, more = listed(report.defects)
        for number, defect in shown:
            yield f"mark {number}", mark_words(defect)
        if more:
            yield "more", f"{more_words(more)}, less sure"
        if not report.defects:
            yield "marks", "none found"
    for text in advice_words(report):
        yield "advice", text
    conditions = dict.fromkeys(condition for condition, _ in pictured_conditions(report))
    explained = [condition for condition in conditions if causes_of(condition, None)]
    if explained:
        yield "causes", f"witnessmark calc causes NAME says what it may come from: {', '.join(explained)}"
