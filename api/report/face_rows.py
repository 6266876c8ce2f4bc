"""Seal faces as the report shows them: drawings, numbers, marks, what it may come from."""

from __future__ import annotations

from api.face_drawings import annotated_name, strip_name
from api.report.view import FaceView, Fact, Highlight, MarkRow
from api.report.wording import STAGE_WORDS, heard_at, item_words
from extract.shop.causes import causes_of
from extract.shop.wear_advice import pictured_conditions
from shared.face_words import (
    advice_words,
    is_damage,
    listed,
    more_words,
    size_words,
    track_words,
    verdict_words,
)
from shared.photo import FaceDefect, FaceReport
from shared.record import PhotoEntry, RebuildRecord
from shared.sheet_entries import words_of


def face_views(record: RebuildRecord) -> list[FaceView]:
    """Return every seal face that a picture was inspected of."""
    return [
        _view(record, photo, photo.face_report)
        for photo in record.photos
        if photo.standing and photo.face_report is not None
    ]


def face_highlights(record: RebuildRecord) -> list[Highlight]:
    """Return one line for all faces that their pictures do not let judge."""
    unjudged = [
        f"{item_words(photo.of)} ({', '.join(map(words_of, photo.face_report.reasons))})"
        for photo in record.photos
        if photo.standing and photo.face_report is not None and not photo.face_report.usable
        # What is wrong with the whole picture stands with the pictures already.
        if photo.quality is None or photo.quality.usable
    ]
    return [Highlight("!", "picture", f"seal face not judged: {', '.join(unjudged)}")] if unjudged else []


def _view(record: RebuildRecord, photo: PhotoEntry, report: FaceReport) -> FaceView:
    shown, more = listed(report.defects)
    facts = [Fact("Size", size_words(report))] if report.usable else []
    if report.track is not None:
        facts.append(Fact("Wear track", track_words(report.track)))
    if more:
        facts.append(Fact("Marks not listed, less sure", more_words(more)))
    return FaceView(
        title=item_words(photo.of),
        stage=STAGE_WORDS[photo.stage],
        file=photo.picture,
        when=heard_at(record, photo.evidence).when if photo.evidence.words else "",
        symbol="✓" if report.usable else "✗",
        verdict=f"picture {verdict_words(report)}",
        annotated=annotated_name(photo.picture),
        strip=strip_name(photo.picture) if report.usable else "",
        facts=facts,
        marks=[_mark(number, defect) for number, defect in shown],
        advice=advice_words(report),
        causes=_causes(report),
        asked=[
            q.text
            for q in record.questions
            if q.answered_by is None and q.evidence.rule.endswith(f": {photo.picture}")
        ],
    )


def _mark(number: int, defect: FaceDefect) -> MarkRow:
    def length(*values: float | None) -> str:
        return " to ".join(f"{value:.2f}" for value in values if value is not None) or "–"

    return MarkRow(
        number=str(number),
        kind=words_of(defect.kind),
        nature="damage" if is_damage(defect) else "may clean off",
        angle=f"{defect.angle_deg:.0f}°",
        arc=f"{defect.arc_deg:.0f}°",
        radius=length(defect.r_in_mm, defect.r_out_mm),
        size=length(defect.size_mm),
        score=f"{defect.score:.2f}",
    )


def _causes(report: FaceReport) -> list[Fact]:
    """Return what the wear and the marks may come from, each cause once; sources stand with the advice."""
    found: list[Fact] = []
    for condition, location in dict.fromkeys(pictured_conditions(report)):
        evidence = causes_of(condition, location)
        causes = dict.fromkeys(cause.cause for each in evidence for cause in each.causes)
        where = f", {location}" if location else ""
        if causes:
            disputed = [each.disputed for each in evidence if each.disputed]
            text = "; ".join([*causes, *disputed])
            found.append(Fact(f"{words_of(condition).capitalize()}{where}", text))
    return found
