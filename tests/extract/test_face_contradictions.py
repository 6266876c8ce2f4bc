"""What was said of a seal face against its picture: only what excludes each other is asked about."""

from __future__ import annotations

import pytest

from extract.record_builder import RecordBuilder
from shared.job_sheet import load_job_sheet
from shared.photo import DefectKind, FaceDefect, FaceReport, Photo, WearTrack
from shared.record import Question
from shared.speech import Utterance

SHEET = load_job_sheet("wash-water-end-suction")


def mark(kind: DefectKind, score: float = 0.9) -> FaceDefect:
    return FaceDefect(kind=kind, angle_deg=30.4, arc_deg=6, size_mm=2.24, score=score)


def report(*marks: FaceDefect, evenness: str = "even", judged: float = 0.95) -> FaceReport:
    track = WearTrack.model_validate(
        {
            "present": evenness != "none", "evenness": evenness, "judged_share": judged,
            "width_min_mm": 2.0, "width_max_mm": 3.3,
        }
    )  # fmt: skip
    return FaceReport(usable=True, track=track, defects=list(marks))


UNUSABLE = FaceReport(usable=False, reasons=["glare"], advice="Move the lamp.")


def photo(face: FaceReport | None, of: str = "rotating_face", **more: object) -> Photo:
    fields: dict[str, object] = {"of": of, "stage": "as_found", "picture": "pictures/carbon.jpg"}
    return Photo.model_validate({**fields, **more, "face_report": face})


def asked(said: str | list[str], *photos: Photo) -> list[Question]:
    builder = RecordBuilder(SHEET)
    for number, text in enumerate([said] if isinstance(said, str) else said):
        builder.hear(Utterance(text, 60.0 + 30 * number, 62.0 + 30 * number))
    for each in photos:
        builder.see(each)
    return [q for q in builder.record().questions if "picture" in q.evidence.rule]


@pytest.mark.parametrize(
    ("said", "face", "shown", "answers"),
    [
        (
            "wear on the carbon is even all the way around", report(evenness="uneven"),
            "an uneven wear track, 2.0 to 3.3 mm wide", ["even_wear", "uneven_wear"],
        ),
        (
            "the carbon is worn uneven", report(),
            "an even wear track, 2.0 to 3.3 mm wide", ["uneven_wear", "even_wear"],
        ),
        ("carbon's in good shape", report(mark("chip")), "a chip at 30°, 2.2 mm", ["good", "chipped"]),
        ("carbon's good", report(evenness="uneven"), "an uneven wear track", ["good", "uneven_wear"]),
        ("carbon's chipped", report(), "no chip, 95% of the face judged", ["chipped", "no chip"]),
        ("carbon is pitted", report(mark("scratch")), "no pit, 95%", ["pitted", "no pit"]),
        ("no chips on the carbon", report(mark("chip")), "a chip at 30°", ["no chip", "chipped"]),
        ("carbon isn't cracked", report(mark("crack")), "a crack at 30°", ["no crack", "cracked"]),
    ],
)  # fmt: skip
def test_what_excludes_each_other_is_asked_about(
    said: str, face: FaceReport, shown: str, answers: list[str]
) -> None:
    (question,) = asked(said, photo(face))
    assert f"said “{said}” at 1:00, but the picture carbon.jpg shows {shown}" in question.text
    assert [c.condition or c.words for c in question.candidates] == answers
    assert question.evidence.start_s == 60.0


@pytest.mark.parametrize(
    ("said", "face"),
    [
        ("wear on the carbon is even all the way around", report()),
        ("wear on the carbon is even all the way around", report(evenness="undecided")),
        ("wear on the carbon is even all the way around", report(evenness="none")),
        ("carbon's good", report()),
        ("carbon's good", report(mark("deposit"), mark("scratch"))),
        # A mark that is as likely noise.
        ("carbon's good", report(mark("chip", score=0.5))),
        ("no chips on the carbon", report(mark("chip", score=0.5))),
        ("no chips on the carbon", report(mark("scratch"))),
        ("carbon's chipped", report(mark("chip", score=0.3))),
        # Too little of the face was seen to miss a chip in it.
        ("carbon's chipped", report(judged=0.7)),
        ("carbon's chipped", UNUSABLE),
        ("carbon's chipped", None),
        # Finer than a picture resolves.
        ("carbon is cracked", report()),
        ("carbon is scratched", report()),
        # Of another part.
        ("the seat is chipped", report()),
        ("carbon is heat checked", report(mark("crack"))),
        # Not sure, and asked about anyhow.
        ("carbon might be chipped", report()),
        ("is the carbon chipped", report()),
    ],
)  # fmt: skip
def test_what_may_both_be_true_is_not_asked_about(said: str, face: FaceReport | None) -> None:
    assert asked(said, photo(face)) == []


def test_a_second_picture_that_shows_it_settles_it() -> None:
    other = photo(report(mark("chip")), picture="pictures/carbon_2.jpg")
    assert asked("carbon's chipped", photo(report())) != []
    assert asked("carbon's chipped", photo(report()), other) == []


def test_a_denial_that_is_taken_back_is_none() -> None:
    assert asked(["no chips on the carbon", "wait carbon's chipped"], photo(report(mark("chip")))) == []


@pytest.mark.parametrize(
    ("stage", "time_s", "count"), [("as_found", None, 0), ("as_left", None, 1), ("either", None, 0)]
)
def test_what_is_said_of_a_new_part_is_compared_with_pictures_of_it(
    stage: str, time_s: float | None, count: int
) -> None:
    seen = photo(report(mark("chip")), stage=stage, time_s=time_s)
    assert len(asked(["put in a new seal", "carbon's good"], seen)) == count


@pytest.mark.parametrize(("time_s", "count"), [(62.0, 1), (200.0, 0)])
def test_a_picture_taken_after_the_renewal_shows_another_part(time_s: float, count: int) -> None:
    seen = photo(report(), stage="either", time_s=time_s, of="spring")
    said = ["the spring is chipped", "put in a new spring"]
    assert len(asked(said, seen)) == count


@pytest.mark.parametrize(
    ("said", "stage", "face", "count"),
    [
        ("the faces are wiped clean", "as_left", report(mark("deposit")), 1),
        ("the faces are wiped clean", "as_found", report(mark("deposit")), 0),
        ("the faces are wiped clean", "as_left", report(mark("deposit", score=0.5)), 0),
        ("the faces are wiped clean", "as_left", report(mark("scratch")), 0),
        ("turns freely no rub", "as_left", report(mark("deposit")), 0),
    ],
)
def test_faces_said_to_be_clean_show_no_deposit(said: str, stage: str, face: FaceReport, count: int) -> None:
    questions = asked(said, photo(face, stage=stage))
    assert len(questions) == count
    for question in questions:
        assert "a deposit at 30°, 2.2 mm; which is right?" in question.text
        assert [c.condition or c.words for c in question.candidates] == ["no deposit", "deposits"]


def test_a_photo_seen_again_takes_its_own_place() -> None:
    builder = RecordBuilder(SHEET)
    first, second = photo(None), photo(None, picture="pictures/seat.jpg", of="stationary_seat")
    for each in (first, second, first.model_copy(update={"face_report": report()})):
        builder.see(each)
    photos = builder.record().photos
    assert [(p.picture, p.face_report is not None) for p in photos] == [
        ("pictures/carbon.jpg", True), ("pictures/seat.jpg", False)
    ]  # fmt: skip


def test_questions_are_numbered_on() -> None:
    builder = RecordBuilder(SHEET)
    builder.hear(Utterance("chamber face runout is a thou and a half or two", 10.0, 12.0))
    builder.hear(Utterance("carbon's chipped", 20.0, 22.0))
    builder.see(photo(report()))
    record = builder.record()
    assert [q.id for q in record.questions] == ["q1", "q2"]
    assert record.questions[1].about in {c.id for c in record.conditions}
