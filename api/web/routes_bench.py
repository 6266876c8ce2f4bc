"""The bench: its screen, the sound of its browser."""

from __future__ import annotations

import asyncio
import json
from typing import Annotated, Any

from fastapi import APIRouter, Depends, Request, WebSocket, WebSocketDisconnect
from fastapi.responses import RedirectResponse, Response

from api.live.board import Board
from api.live.desk import AtWork, Desk
from api.live.ear_process import Ended, Failed, Heard, Ready, Seen
from api.live.frames import frame_from
from api.live.picture_words import choices_of
from api.store import web_sessions
from api.store.job_events import note
from api.store.jobs import job_of, turn_to
from api.store.sheets import sheet_from
from api.store.web_sessions import SignedIn
from api.web.guard import InUse, Worker, over_socket, shop_of
from api.web.pages import page
from api.web.routes_notice import notice_first
from shared.errors import EngineFailed, OutOfTurn, RebuildError
from shared.face_words import CAUTION

router = APIRouter(default_response_class=Response)
#: Seconds that handing over waits for the ear to hear the last words.
_LAST_WORDS_S = 60.0
#: Closing codes of our own (RFC 6455, section 7.4.2: 4000 to 4999 are free).
_ENDED, _REFUSED = 4000, 4403


def desk_of(connection: Request | WebSocket) -> Desk:
    """Return the desk of the shop."""
    desk: Desk = connection.app.state.desk
    return desk


@router.get("/bench/{job_id}")
def job_page(request: Request, who: Worker, job_id: str) -> Response:
    """Show the bench's screen of a job."""
    if (notice := notice_first(request, who)) is not None:
        return notice
    with shop_of(request).database.reading() as session:
        job = job_of(session, job_id)
        sheet = sheet_from(job.sheet)
        return page(
            request,
            "bench",
            who=who,
            job=job,
            sheet=sheet,
            pictures=choices_of(sheet),
            picture_caution=CAUTION,
        )


@router.post("/bench/{job_id}/hand-over")
def hand_over(request: Request, who: Worker, job_id: str) -> Response:
    """End the recording and hand the job over to the office."""
    shop, desk = shop_of(request), desk_of(request)
    at_work = desk.end(job_id, who)
    if at_work is not None and isinstance(failed := at_work.recording.latest, Failed):
        raise EngineFailed(failed.line, remedy="the sound is kept; start the server again and hand over then")
    if at_work is not None and not at_work.done.wait(_LAST_WORDS_S):
        raise OutOfTurn("the last words are still being heard", remedy="wait a little, then hand over again")
    desk.complete(job_id, who)
    with shop.database.writing() as session:
        job = job_of(session, job_id)
        turn_to(job, "handed_over", seen=job.turn)
        note(session, job.id, "handed_over", {}, by=who.account, now=shop.now())
        web_sessions.end_by_badge(session, who)  # a shared bench is free for the next one
    return RedirectResponse("/bench", 303)


@router.websocket("/bench/{job_id}/listen")
async def listen(
    socket: WebSocket, job_id: str, who: Annotated[SignedIn, Depends(over_socket("work"))]
) -> None:
    """Take in the sound of a bench's browser; tell it what is safe and what was heard."""
    await socket.accept()
    desk, loop = desk_of(socket), asyncio.get_running_loop()
    try:
        started = await socket.receive_json()
        at_work = await asyncio.to_thread(desk.listen, job_id, who, _settings(started))
    except (RebuildError, ValueError) as exc:
        await socket.send_json({"type": "refused", "line": str(exc)})
        await socket.close(_REFUSED)
        return
    except WebSocketDisconnect:
        return
    out: asyncio.Queue[dict[str, Any]] = asyncio.Queue()
    leave = desk.look_on(job_id, lambda message: _put(loop, out, told(message)))
    # Written through first: what the browser is not asked for again it forgets.
    wanted = await asyncio.to_thread(at_work.recording.flush)
    out.put_nowait({"type": "recording", "number": at_work.number, "next": wanted})
    if at_work.recording.latest is not None:
        out.put_nowait(told(at_work.recording.latest, again=True))
    sending = asyncio.create_task(_send(socket, out))
    try:
        await _take_in(socket, at_work, out, InUse(shop_of(socket), who))
    except (WebSocketDisconnect, RuntimeError):
        pass  # Gone; its frames stay in the browser until it is back.
    finally:
        leave()
        sending.cancel()


async def _take_in(
    socket: WebSocket, at_work: AtWork, out: asyncio.Queue[dict[str, Any]], in_use: InUse
) -> None:
    while True:
        message = await socket.receive()
        if message["type"] == "websocket.disconnect":
            return
        if (data := message.get("bytes")) is not None:
            try:
                safe = await asyncio.to_thread(at_work.recording.take, frame_from(data))
            except RebuildError as exc:
                out.put_nowait({"type": "not_recording", "line": str(exc)})
                continue
            if safe is not None:
                out.put_nowait({"type": "safe", "next": safe})
                await asyncio.to_thread(in_use.note)
        elif message.get("text") == "flush":
            out.put_nowait({"type": "safe", "next": await asyncio.to_thread(at_work.recording.flush)})


async def _send(socket: WebSocket, out: asyncio.Queue[dict[str, Any]]) -> None:
    while True:
        message = await out.get()
        await socket.send_text(json.dumps(message, ensure_ascii=False))
        if message["type"] == "ended":
            await socket.close(_ENDED)
            return


def told(message: Ready | Heard | Seen | Ended | Failed, *, again: bool = False) -> dict[str, Any]:
    """Return what a browser is told; ``again`` leaves out what is said and sounded once only."""
    match message:
        case Ready():
            return {"type": "ready", "engine": message.engine, "board": _board(message.board)}
        case Heard():
            answer = None if again else message.answer.model_dump()
            return {
                "type": "heard", "text": message.text, "ended_s": message.ended_s, "answer": answer,
                "board": _board(message.board),
            }  # fmt: skip
        case Seen():
            return {"type": "seen", "board": _board(message.board)}
        case Ended():
            return {"type": "ended", "board": _board(message.board)}
        case Failed():
            return {"type": "failed", "line": message.line}


def _board(board: Board) -> dict[str, Any]:
    return board.model_dump(mode="json")


def _put(
    loop: asyncio.AbstractEventLoop, out: asyncio.Queue[dict[str, Any]], message: dict[str, Any]
) -> None:
    loop.call_soon_threadsafe(out.put_nowait, message)


def _settings(started: Any) -> dict[str, object]:
    """Return the microphone's settings as far as they are plain and few."""
    given = started.get("settings", {}) if isinstance(started, dict) else {}
    if not isinstance(given, dict):
        raise ValueError("expected the microphone's settings as an object")
    return {str(k)[:40]: v for k, v in list(given.items())[:40] if isinstance(v, bool | int | float | str)}
