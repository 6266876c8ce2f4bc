"""Lessons put together of clips, their sound and captions; and everybody's own answer on being heard."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Form, Request
from fastapi.responses import RedirectResponse, Response

from api.lessons.lesson_book import (
    ChosenClip,
    add_clip,
    change_clip,
    lesson_of,
    make_lesson,
    open_lessons,
)
from api.lessons.lesson_sound import Joined, heard_clips, joined
from api.lessons.speakers import lesson_notice, notice_sha256
from api.office.clips import wav_bytes
from api.store.accounts import account_of
from api.store.consents import answer_of, keep_answer
from api.web.forms import Line, RowNumber, Text
from api.web.guard import Anybody, Learner, Owner, shop_of
from api.web.pages import page
from shared.errors import OutOfTurn

router = APIRouter(default_response_class=Response)
_Place = Annotated[float, Form(ge=0, le=1e6, allow_inf_nan=False)]
_Number = Annotated[int, Form(ge=0, le=2**31 - 1)]


@router.get("/lesson-book")
def book_page(request: Request, who: Learner) -> Response:
    """Show all lessons."""
    with shop_of(request).database.reading() as session:
        lessons = [(one, len(one.clips)) for one in open_lessons(session)]
    return page(request, "lesson_book", who=who, lessons=lessons)


@router.post("/lesson-book")
def begin_lesson(request: Request, who: Learner, title: Line) -> Response:
    """Begin a lesson."""
    shop = shop_of(request)
    with shop.database.writing() as session:
        made = make_lesson(session, title, by=account_of(session, who.account.id), now=shop.now())
    return RedirectResponse(f"/lesson-book/{made.id}", 303)


@router.post("/lesson-book/clips")
def take_clip(
    request: Request,
    who: Learner,
    job_id: Line,
    recording: Line,
    start_s: _Place,
    end_s: _Place,
    good: Annotated[bool, Form()] = False,
    lesson_id: _Number = 0,
) -> Response:
    """Take a clip into a lesson; into a new one where none is named."""
    shop = shop_of(request)
    with shop.database.writing() as session:
        by = account_of(session, who.account.id)
        if lesson_id:
            lesson = lesson_of(session, lesson_id)
        else:
            lesson = make_lesson(session, f"Lesson of {shop.now():%Y-%m-%d}", by=by, now=shop.now())
        chosen = ChosenClip(job_id, recording, start_s, end_s, good)
        add_clip(session, lesson, chosen, by=by, now=shop.now())
    return RedirectResponse(f"/lesson-book/{lesson.id}", 303)


@router.get("/lesson-book/{lesson_id}")
def lesson_page(request: Request, who: Learner, lesson_id: RowNumber) -> Response:
    """Show a lesson: its clips, what can be heard of them, and its sound."""
    shop = shop_of(request)
    with shop.database.reading() as session:
        lesson = lesson_of(session, lesson_id)
        clips = heard_clips(session, shop.folder, lesson)
    return page(
        request, "lesson", who=who, lesson=lesson, clips=clips, any_heard=any(not c.refusal for c in clips)
    )


@router.post("/lesson-book/{lesson_id}")
def keep_lesson(
    request: Request, _who: Learner, lesson_id: RowNumber, title: Line, notes: Text = ""
) -> Response:
    """Keep a lesson's title and notes."""
    with shop_of(request).database.writing() as session:
        lesson = lesson_of(session, lesson_id)
        lesson.title, lesson.notes = title.strip() or lesson.title, notes.strip()
    return RedirectResponse(f"/lesson-book/{lesson_id}", 303)


@router.post("/lesson-book/{lesson_id}/close")
def put_away(request: Request, _who: Learner, lesson_id: RowNumber) -> Response:
    """Put a lesson away."""
    shop = shop_of(request)
    with shop.database.writing() as session:
        lesson_of(session, lesson_id).closed_at = shop.now()
    return RedirectResponse("/lesson-book", 303)


@router.post("/lesson-book/{lesson_id}/clips/{clip_id}")
def keep_clip(
    request: Request,
    _who: Learner,
    lesson_id: RowNumber,
    clip_id: RowNumber,
    act: Line,
    note: Text = "",
    good: Annotated[bool, Form()] = False,
) -> Response:
    """Keep a clip's note, move it or take it out."""
    with shop_of(request).database.writing() as session:
        change_clip(session, lesson_of(session, lesson_id), clip_id, act=act, note=note, good=good)
    return RedirectResponse(f"/lesson-book/{lesson_id}#clip-{clip_id}", 303)


@router.get("/lesson-book/{lesson_id}/sound.wav")
def lesson_sound(request: Request, _who: Learner, lesson_id: RowNumber) -> Response:
    """Return a lesson as one WAV file."""
    headers = {
        "content-disposition": f'inline; filename="lesson-{lesson_id}.wav"',
        "cache-control": "no-store",
    }
    return Response(wav_bytes(_joined(request, lesson_id).samples), media_type="audio/wav", headers=headers)


@router.get("/lesson-book/{lesson_id}/captions.vtt")
def lesson_captions(request: Request, _who: Learner, lesson_id: RowNumber) -> Response:
    """Return the captions of a lesson's sound, as WebVTT."""
    return Response(_joined(request, lesson_id).captions, media_type="text/vtt")


@router.get("/heard-in-lessons")
def heard_page(request: Request, who: Anybody) -> Response:
    """Show somebody what being heard in lessons means, and his answer."""
    with shop_of(request).database.reading() as session:
        answer = answer_of(session, who.account.id, notice_sha256())
    return page(
        request, "heard_in_lessons", who=who, paragraphs=lesson_notice().split("\n\n"), answer=answer,
        sha256=notice_sha256(),
    )  # fmt: skip


@router.post("/heard-in-lessons")
def answer_heard(request: Request, who: Owner, notice: Line, answer: Line) -> Response:
    """Keep somebody's answer."""
    if notice != notice_sha256():
        raise OutOfTurn("the text changed meanwhile", remedy="load the page again and read it")
    if answer not in ("agree", "decline"):
        raise OutOfTurn(f"the answer {answer!r}", expected="agree or decline")
    shop = shop_of(request)
    with shop.database.writing() as session:
        account, agreed = account_of(session, who.account.id), answer == "agree"
        keep_answer(session, account, notice=lesson_notice(), agreed=agreed, now=shop.now())
    return RedirectResponse("/heard-in-lessons", 303)


def _joined(request: Request, lesson_id: int) -> Joined:
    shop = shop_of(request)
    with shop.database.reading() as session:
        return joined(heard_clips(session, shop.folder, lesson_of(session, lesson_id)))
