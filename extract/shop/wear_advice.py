"""Advice on wear: what the state of a seal face may come from, with sources and conflicts."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from extract.shop.advice import Advice
from extract.shop.causes import METHOD, WearEvidence, causes_of, is_seal_face
from extract.shop.method import FLAG_WORDS
from shared.job_sheet import JobSheet
from shared.photo import CONDITION_OF_DEFECT, FaceDefect, FaceReport
from shared.record import RebuildRecord
from shared.sheet_entries import words_of


@dataclass(frozen=True)
class _Seen:
    part: str
    condition: str
    location: str | None
    entry: str
    in_picture: bool = False


def wear_advice(sheet: JobSheet, record: RebuildRecord) -> list[Advice]:
    """Return the candidate causes of every condition on a seal face, said or seen, once each."""
    found: dict[tuple[str, str, tuple[str, ...]], Advice] = {}
    for seen in [*_said(sheet, record), *_pictured(record)]:
        evidence = causes_of(seen.condition, seen.location)
        key = (seen.part, seen.condition, tuple(e.id for e in evidence))
        if not evidence or key in found:
            continue
        where = f", {seen.location}" if seen.location else ""
        how = " in the picture" if seen.in_picture else ""
        text = (
            f"{words_of(seen.condition).capitalize()}{how}{where}. May come from: {_causes_words(evidence)}."
        )
        text += "".join(f" {e.disputed[:1].upper()}{e.disputed[1:]}." for e in evidence if e.disputed)
        found[key] = Advice(seen.part, f"{text} Candidates, not a verdict.", METHOD, (seen.entry,))
    return list(found.values())


def _said(sheet: JobSheet, record: RebuildRecord) -> Iterator[_Seen]:
    for entry in record.conditions:
        part = sheet.part_names.get(entry.part)
        names = (entry.part, *(part.spoken if part else ()))
        if entry.standing and not entry.needs_review and is_seal_face(names):
            yield _Seen(entry.part, entry.condition, entry.location, entry.id)


def _pictured(record: RebuildRecord) -> Iterator[_Seen]:
    for photo in record.photos:
        report = photo.face_report
        if photo.standing and photo.of is not None and report is not None and report.usable:
            for condition, location in dict.fromkeys(pictured_conditions(report)):
                yield _Seen(photo.of, condition, location, photo.id, in_picture=True)


def pictured_conditions(report: FaceReport) -> Iterator[tuple[str, str | None]]:
    """Yield what a picture of a face shows as the record names it, and where."""
    if report.track is not None and report.track.evenness in ("even", "uneven"):
        yield f"{report.track.evenness}_wear", None
    for defect in report.defects:
        yield CONDITION_OF_DEFECT[defect.kind], _edge(report, defect) if defect.kind == "chip" else None


def _edge(report: FaceReport, defect: FaceDefect) -> str | None:
    """Say at which edge a defect lies; None where the picture has no scale."""
    lengths = (defect.r_in_mm, defect.r_out_mm, report.inner_diameter_mm, report.outer_diameter_mm)
    if any(length is None for length in lengths):
        return None
    inner, outer, bore, rim = (float(length or 0) for length in lengths)
    return "outer edge" if (inner + outer) / 2 > (bore + rim) / 4 else "inner edge"


def _causes_words(evidence: Iterable[WearEvidence]) -> str:
    said: dict[str, str] = {}
    for each in evidence:
        for cause in each.causes:
            flag = f", {FLAG_WORDS['MEM']}" if cause.source.flag == "MEM" else ""
            said.setdefault(cause.cause, f"{cause.cause} ({cause.source.text}{flag})")
    return "; ".join(said.values())
