"""The QA office: records under review, their sound, decisions about them."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Form, Query, Request
from fastapi.responses import JSONResponse, RedirectResponse, Response
from sqlalchemy.orm import Session

from api.live.facts_shown import facts_shown
from api.office.clips import clip_samples, peaks, wav_bytes
from api.office.newer_sheet import newer_sheet_of
from api.office.reviewing import checked, under_review
from api.office.signing_off import MEANINGS, what_is_undecided
from api.store.accounts import account_of
from api.store.job_events import note, who
from api.store.jobs import job_of, jobs_in, turn_to
from api.store.reviews import decide as keep_decision
from api.store.revisions import revisions_of
from api.web.forms import Text
from api.web.guard import Reader, Reviewer, shop_of
from api.web.pages import page
from extract.reviewing import CORRECTABLE
from shared.errors import DecisionRefused, NotKept

router = APIRouter(default_response_class=Response)
_FIELDS = frozenset(name for names in CORRECTABLE.values() for name in names)
_Seen = Annotated[int, Form()]
_Seconds = Annotated[float, Query(ge=0, le=1e6, allow_inf_nan=False)]


@router.get("/office")
def office_page(request: Request, who_: Reviewer) -> Response:
    """Show what waits for the office."""
    with shop_of(request).database.reading() as session:
        jobs = jobs_in(session, "handed_over", "returned", "signed")
        return page(request, "office", who=who_, jobs=jobs)


@router.get("/office/{job_id}")
def review_page(request: Request, who_: Reviewer, job_id: str) -> Response:
    """Show a record beside its evidence."""
    with shop_of(request).database.reading() as session:
        it = under_review(session, job_id)
        return page(
            request,
            "review",
            who=who_,
            it=it,
            undecided=what_is_undecided(it),
            meanings=MEANINGS,
            revisions=revisions_of(session, job_id),
            gone={f"{one.number:03d}": one.sound_gone_at for one in it.job.recordings if one.sound_gone_at},
            bench=facts_shown(it.facts, it.sheet),
            newer_sheet=newer_sheet_of(session, shop_of(request).folder, it.job),
        )


@router.post("/office/{job_id}/decisions")
async def decide(request: Request, who_: Reviewer, job_id: str) -> Response:
    """Keep a decision about an entry or a deviation."""
    form = await request.form(max_fields=40)
    given = {key: value for key, value in form.items() if isinstance(value, str)}
    shop = shop_of(request)
    with shop.database.writing() as session:
        _keep(session, job_id, given, account_id=who_.account.id, now=shop.now())
    return RedirectResponse(f"/office/{job_id}", 303)


def _keep(session: Session, job_id: str, given: dict[str, str], *, account_id: int, now: Any) -> None:
    kind, entry = _decided(given)
    if kind not in ("accepted", "corrected", "struck", "disposed"):
        raise DecisionRefused(
            f"there is no decision {kind!r}", expected="accepted, corrected, struck or disposed"
        )
    before, by = under_review(session, job_id), account_of(session, account_id)
    remark = given.get("remark", "").strip()[:4000] or None
    fields = _fields(given, kind, remark)
    checked(before, kind, entry, fields, by=who(by), at=now.isoformat(timespec="seconds"))  # type: ignore[arg-type]
    was = next((one.model_dump(mode="json") for one in before.extracted.entries() if one.id == entry), None)
    decision: Any = kind
    seen = given.get("seen", "")
    keep_decision(
        session, before.job, before.draft, entry=entry, decision=decision, was=was, now_is=fields,
        remark=remark, by=by, now=now, seen=int(seen) if seen.isdigit() else -1,
    )  # fmt: skip


def _decided(given: dict[str, str]) -> tuple[str, str]:
    """Return a decision and about what.

    Accepting and striking are the buttons of one form for all entries: ``accepted=ENTRY``. A correction
    and a disposition are forms of their own: ``decision=corrected`` and ``entry=ENTRY``.
    """
    pressed = ((kind, given[kind]) for kind in ("accepted", "struck") if kind in given)
    return next(pressed, (given.get("decision", ""), given.get("entry", "")))


def _fields(given: dict[str, str], kind: str, remark: str | None) -> dict[str, Any]:
    if kind == "disposed":
        if remark is None:
            raise DecisionRefused("a disposition without a reason", expected="why")
        return {"disposition": given.get("disposition"), "why": remark}
    if kind != "corrected":
        return {}
    fields: dict[str, Any] = {
        name: value.strip() or None
        for key, value in given.items()
        if (name := key.removeprefix("field.")) in _FIELDS and key != name
    }
    if "done" in fields:
        fields["done"] = fields["done"] in ("True", "true", "yes")
    return fields


@router.post("/office/{job_id}/return")
def send_back(request: Request, who_: Reviewer, job_id: str, seen: _Seen, remark: Text) -> Response:
    """Return a job to the bench, with what is wanted."""
    if not remark.strip():
        raise DecisionRefused("a job was returned without a word", expected="what the bench is to do")
    shop = shop_of(request)
    with shop.database.writing() as session:
        job = job_of(session, job_id)
        turn_to(job, "returned", seen=seen)
        note(session, job_id, "returned", {"remark": remark.strip()}, by=who_.account, now=shop.now())
    return RedirectResponse("/office", 303)


@router.get("/office/{job_id}/sound/{recording}.wav")
def sound(
    request: Request, _who: Reader, job_id: str, recording: str, start: _Seconds, end: _Seconds
) -> Response:
    """Return a stretch of a recording as a WAV file, at most a minute of it."""
    samples = clip_samples(_folder(request, job_id, recording), start, end)
    return Response(wav_bytes(samples), media_type="audio/wav")


@router.get("/office/{job_id}/peaks/{recording}")
def sound_peaks(
    request: Request, _who: Reader, job_id: str, recording: str, start: _Seconds, end: _Seconds
) -> Response:
    """Return the peaks of a stretch of a recording, to be drawn."""
    return JSONResponse(peaks(clip_samples(_folder(request, job_id, recording), start, end)))


def _folder(request: Request, job_id: str, recording: str) -> Any:
    """Return the folder of a recording of a job: by its row, never by a name that came in."""
    shop = shop_of(request)
    with shop.database.reading() as session:
        for row in job_of(session, job_id).recordings:
            if f"{row.number:03d}" == recording:
                return shop.folder / row.folder
    raise NotKept(f"this job has no recording {recording!r}")
