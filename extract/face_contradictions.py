"""What was said of a seal face against what its picture shows: where the two exclude each other, a question.

Only clear contradictions are asked about. A picture resolves neither hairline cracks nor fine scratches,
so these are not missed in it; a mark that is as likely noise contradicts nobody; and a picture of the part
that went in says nothing of the one that came out.
"""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import PurePosixPath

from extract.denied_marks import Denial
from extract.word_sets import word_set
from shared.job_sheet import JobSheet
from shared.photo import CONDITION_OF_DEFECT, DefectKind, FaceDefect, FaceReport, WearTrack
from shared.record import (
    Candidate,
    ConditionEntry,
    Entry,
    Evidence,
    PartEntry,
    PhotoEntry,
    Question,
    StepEntry,
)
from shared.sheet_entries import words_of

#: From this score on a mark is there; and of the face so much must be seen before a mark is missed in it.
_SURE, _JUDGED = 0.7, 0.8
#: Letters of what was said that a question repeats.
_QUOTED = 90
_KIND_OF: dict[str, DefectKind] = {condition: kind for kind, condition in CONDITION_OF_DEFECT.items()}
#: What nobody calls good; a scratch or a pit may be small enough to be.
_NOT_GOOD: frozenset[DefectKind] = frozenset({"chip", "crack", "heat_check", "score", "blister"})
#: What a condition may look like in a picture: where none of it is seen, the picture shows it not.
#: Cracks and scratches are left out, see above; deposits wipe off between a word and a picture.
_LOOKS: dict[str, frozenset[DefectKind]] = {
    "chipped": frozenset({"chip", "crack"}),
    "scored": frozenset({"score", "scratch"}),
    "heat_checked": frozenset({"heat_check", "crack", "scratch"}),
    "blistered": frozenset({"blister", "pit", "deposit"}),
    "pitted": frozenset({"pit", "blister", "deposit", "chip"}),
}


@dataclass(frozen=True)
class _Saying:
    part: str
    condition: str
    denied: bool
    evidence: Evidence
    entry: str | None


@dataclass(frozen=True)
class _Shown:
    """What a picture shows instead."""

    picture: PhotoEntry
    text: str
    answer: Candidate


def face_questions(
    sheet: JobSheet,
    entries: Sequence[Entry],
    denials: Sequence[Denial],
    photos: Sequence[PhotoEntry],
    number: int,
) -> list[Question]:
    """Return one question for each thing said of a face that a usable picture of it excludes.

    Args:
        sheet: the job sheet, which says what a renewed part takes with it.
        entries: all that was said of parts and steps; only what stands and is sure counts. Pictures before
            and after a renewal show two things.
        denials: what was said not to be there.
        photos: pictures, seal faces with their report.
        number: of the first question.
    """
    found: list[Question] = []
    conditions = [entry for entry in entries if isinstance(entry, ConditionEntry)]
    parts = [entry for entry in entries if isinstance(entry, PartEntry)]
    for step in entries:
        if isinstance(step, StepEntry) and _cleaned_faces(sheet, step):
            found += [
                _question(*pair, number + n) for n, pair in enumerate(_unclean(step, photos), len(found))
            ]
    for saying in _sayings(conditions, denials):
        shown = _against(saying, _pictures(sheet, saying, parts, photos))
        if shown is not None:
            found.append(_question(saying, shown, number + len(found)))
    return found


def _cleaned_faces(sheet: JobSheet, step: StepEntry) -> bool:
    """Whether a step was done that cleans the faces of the seal, by what the sheet calls it."""
    wanted = next((each for each in sheet.steps if each.step == step.step), None)
    if wanted is None or not step.done or not step.standing or step.needs_review:
        return False
    words = set(words_of(step.step).split()).union(*(spoken.split() for spoken in wanted.spoken))
    return bool(
        words & word_set("face_contradictions.faces") and words & word_set("face_contradictions.clean")
    )


def _unclean(step: StepEntry, photos: Sequence[PhotoEntry]) -> Iterator[tuple[_Saying, _Shown]]:
    """Yield each part whose picture as left shows a deposit, though the faces were said to be clean."""
    left = [photo for photo in photos if photo.standing and photo.stage == "as_left" and photo.of is not None]
    for part in dict.fromkeys(photo.of for photo in left if photo.of is not None):
        shown = _damage(_reports([photo for photo in left if photo.of == part]), frozenset({"deposit"}))
        if shown is not None:
            yield _Saying(part, "deposits", True, step.evidence, step.id), shown


def _reports(photos: Sequence[PhotoEntry]) -> list[tuple[PhotoEntry, FaceReport]]:
    """Return the pictures that could be judged, with their reports."""
    return [(p, p.face_report) for p in photos if p.face_report is not None and p.face_report.usable]


def _sayings(conditions: Sequence[ConditionEntry], denials: Sequence[Denial]) -> Iterator[_Saying]:
    standing = [entry for entry in conditions if entry.standing and not entry.needs_review]
    for entry in standing:
        yield _Saying(entry.part, entry.condition, False, entry.evidence, entry.id)
    found = {(entry.part, entry.condition) for entry in standing}
    for denial in denials:
        # "No chips … wait, there is one": what was found stands.
        if (denial.part, denial.condition) not in found:
            yield _Saying(denial.part, denial.condition, True, denial.evidence, None)


def _pictures(
    sheet: JobSheet, saying: _Saying, parts: Sequence[PartEntry], photos: Sequence[PhotoEntry]
) -> list[PhotoEntry]:
    """Return the pictures of the very part that the saying is about."""
    renewed = [
        entry.evidence
        for entry in parts
        if entry.standing
        and entry.action == "renewed"
        and saying.part in (entry.part, *sheet.covered_by(entry.part))
    ]
    new = any(evidence.utterance < saying.evidence.utterance for evidence in renewed)
    return [
        photo
        for photo in photos
        if photo.of == saying.part
        and photo.standing
        and (photo.stage == "as_left" if new else _of_old(photo, renewed))
    ]


def _of_old(photo: PhotoEntry, renewed: Sequence[Evidence]) -> bool:
    taken_s = photo.evidence.start_s
    later = any(0 < evidence.start_s < taken_s for evidence in renewed)
    return photo.stage == "as_found" or (photo.stage == "either" and not later)


def _against(saying: _Saying, photos: Sequence[PhotoEntry]) -> _Shown | None:
    reports = _reports(photos)
    if saying.condition in ("even_wear", "uneven_wear"):
        return None if saying.denied else _other_wear(saying.condition, reports)
    if saying.condition == "good" and not saying.denied:
        return _damage(reports, _NOT_GOOD) or _uneven(reports)
    kind = _KIND_OF.get(saying.condition)
    if kind is None:
        return None
    if saying.denied:
        return _damage(reports, frozenset({kind}))
    return _unseen(saying.condition, reports)


def _other_wear(said: str, reports: Sequence[tuple[PhotoEntry, FaceReport]]) -> _Shown | None:
    """Return the picture that shows the other wear, where none shows what was said."""
    shown = {report.track.evenness for _, report in reports if report.track is not None}
    if said.removesuffix("_wear") in shown:
        return None
    return _uneven(reports) if said == "even_wear" else _track(reports, "even")


def _uneven(reports: Sequence[tuple[PhotoEntry, FaceReport]]) -> _Shown | None:
    return _track(reports, "uneven")


def _track(reports: Sequence[tuple[PhotoEntry, FaceReport]], evenness: str) -> _Shown | None:
    for photo, report in reports:
        track = report.track
        if track is not None and track.evenness == evenness:
            text = f"an {evenness} wear track{_track_numbers(track)}"
            return _Shown(photo, text, Candidate(condition=f"{evenness}_wear"))
    return None


def _track_numbers(track: WearTrack) -> str:
    said = ""
    if track.width_min_mm is not None and track.width_max_mm is not None:
        said += f", {track.width_min_mm:.1f} to {track.width_max_mm:.1f} mm wide"
    if track.offset_mm is not None:
        said += f", {track.offset_mm:.2f} mm off centre"
    return said


def _damage(reports: Sequence[tuple[PhotoEntry, FaceReport]], kinds: frozenset[DefectKind]) -> _Shown | None:
    """Return the surest mark of these kinds, if one is sure."""
    marks = [(mark, photo) for photo, report in reports for mark in report.defects if mark.kind in kinds]
    sure = [(mark, photo) for mark, photo in marks if mark.score >= _SURE]
    if not sure:
        return None
    mark, photo = max(sure, key=lambda pair: pair[0].score)
    return _Shown(photo, _mark_words(mark), Candidate(condition=CONDITION_OF_DEFECT[mark.kind]))


def _unseen(said: str, reports: Sequence[tuple[PhotoEntry, FaceReport]]) -> _Shown | None:
    """Return the picture that judges most of the face, where no picture shows anything like what was said."""
    looks = _LOOKS.get(said)
    if looks is None or any(mark.kind in looks for _, report in reports for mark in report.defects):
        return None
    judged = [(report.track.judged_share, photo) for photo, report in reports if report.track is not None]
    share, photo = max(judged, key=lambda pair: pair[0], default=(0.0, None))
    if photo is None or share < _JUDGED:
        return None
    none = f"no {words_of(_KIND_OF[said])}"
    return _Shown(photo, f"{none}, {share:.0%} of the face judged", Candidate(words=none))


def _mark_words(mark: FaceDefect) -> str:
    size = f", {mark.size_mm:.1f} mm" if mark.size_mm is not None else ""
    return f"a {words_of(mark.kind)} at {mark.angle_deg:.0f}°{size}"


def _question(saying: _Saying, shown: _Shown, number: int) -> Question:
    words = textwrap.shorten(saying.evidence.words, _QUOTED, placeholder=" …")
    minute, second = divmod(int(saying.evidence.start_s), 60)
    path = shown.picture.picture
    name = PurePosixPath(path).name
    said = f"no {words_of(_KIND_OF[saying.condition])}" if saying.denied else None
    answer = Candidate(words=said) if said else Candidate(condition=saying.condition)
    return Question(
        id=f"q{number}",
        text=f"{words_of(saying.part)}: said “{words}” at {minute}:{second:02d}, but the"
        f" picture {name} shows {shown.text}; which is right?",
        about=saying.entry,
        candidates=[answer, shown.answer],
        evidence=saying.evidence.model_copy(update={"rule": f"picture against words: {path}"}),
    )
