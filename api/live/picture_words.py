"""What the bench says of its pictures: which can be taken, what was judged, what to do when one is no use."""

from __future__ import annotations

from collections.abc import Iterator

from pydantic import BaseModel

from api.live.picture_files import Judgement
from api.report.wording import STAGE_WORDS, item_words
from api.store.job_pictures import PictureRow
from shared.face_words import advice_words, is_damage, track_words, verdict_words
from shared.job_sheet import JobSheet
from shared.record import Stage
from shared.sheet_entries import words_of


class PictureChoice(BaseModel):
    """Something that a picture can be taken of."""

    of: str
    stage: Stage
    title: str
    wanted: bool
    """The sheet asks for it."""


class Judged(BaseModel):
    """A picture that was taken, as the bench shows it."""

    picture: str
    """What its files are called by."""
    sha256: str
    of: str | None
    stage: Stage
    title: str
    usable: bool
    verdict: str
    face: bool
    """There is a drawing of a seal face."""
    found: list[str]
    """What a usable picture of a seal face shows."""
    advice: str
    """What to do; empty where there is nothing."""
    asked: str | None
    say: str
    """To be read out."""


def choices_of(sheet: JobSheet) -> list[PictureChoice]:
    """Return what pictures can be taken of: what the sheet wants, then its parts."""
    wanted = [
        PictureChoice(of=one.of, stage=one.stage, title=title_of(one.of, one.stage), wanted=True)
        for one in sheet.photos
    ]
    named = {one.of for one in sheet.photos}
    others = [
        PictureChoice(of=part, stage="either", title=title_of(part), wanted=False)
        for part in sheet.part_names
        if part not in named
    ]
    return [*wanted, *others]


def title_of(of: str | None, stage: Stage = "either") -> str:
    """Return what a picture shows, in words."""
    part = item_words(of) or "Part not said"
    return part if stage == "either" else f"{part}, {STAGE_WORDS[stage]}"


def judged_words(row: PictureRow, judged: Judgement) -> Judged:
    """Return a judged picture in words."""
    face, quality = judged.face_report, judged.quality
    # A face has a judge of its own, who knows what matters in it.
    usable = quality.usable if face is None else face.usable
    verdict = verdict_words(face) if face is not None else "usable" if usable else _why_not(judged)
    advice = " ".join(advice_words(face)) if face is not None else quality.advice
    title = title_of(row.of, row.stage)
    return Judged(
        picture=row.stem,
        sha256=row.sha256,
        of=row.of,
        stage=row.stage,
        title=title,
        usable=usable,
        verdict=verdict,
        face=face is not None,
        found=list(_found(judged)),
        advice=advice,
        asked=row.asked,
        say=_said(title, usable, advice, judged),
    )


def _why_not(judged: Judgement) -> str:
    return "not usable: " + ", ".join(words_of(reason) for reason in judged.quality.reasons)


def _found(judged: Judgement) -> Iterator[str]:
    face = judged.face_report
    if face is None or not face.usable:
        return
    if face.track is not None:
        yield track_words(face.track)
    kinds = list(dict.fromkeys(words_of(mark.kind) for mark in face.defects if is_damage(mark)))
    yield f"marks: {', '.join(kinds)}" if kinds else "no damage seen"


def _said(title: str, usable: bool, advice: str, judged: Judgement) -> str:
    """Return what is read out: short, since whoever hears it has work to do."""
    if not usable:
        return f"{title}: not usable. {advice.partition('. ')[0]}"
    marks = [one for one in _found(judged) if one.startswith("marks")]
    return ". ".join([f"{title}: usable", *marks])
