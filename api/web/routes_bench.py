"""The bench: its screen, the sound of its browser."""

from __future__ import annotations

import asyncio
import json
from collections.abc import Callable
from functools import partial
from typing import Annotated, Any

from fastapi import APIRouter, Depends, Request, WebSocket, WebSocketDisconnect
from fastapi.responses import RedirectResponse, Response

from api.history.last_time import last_time
from api.live.board import Board
from api.live.desk import AtWork, Desk
from api.live.ear_process import Ended, Failed, Heard, HeardTo, Ready, Seen
from api.live.early_reading import Early
from api.live.frames import frame_from
from api.live.picture_words import choices_of
from api.live.presses import press_from
from api.live.senders import Sender
from api.live.server_listening import MicrophoneHeard
from api.store import web_sessions
from api.store.job_events import note
from api.store.jobs import job_of, turn_to
from api.store.sheets import sheet_from
from api.store.web_sessions import SignedIn
from api.web.guard import InUse, Worker, over_socket, shop_of
from api.web.pages import page
from api.web.routes_notice import notice_first
from capture.server_camera import shown_source
from shared.errors import EngineFailed, OutOfTurn, RebuildError
from shared.face_words import CAUTION

router = APIRouter(default_response_class=Response)
#: Seconds that handing over waits for the ear to hear the last words.
_LAST_WORDS_S = 60.0
#: Seconds between two looks whether it gave up meanwhile.
_LOOK_S = 0.25
#: Closing codes of our own (RFC 6455, section 7.4.2: 4000 to 4999 are free).
_ENDED, _REFUSED, _ELSEWHERE = 4000, 4403, 4409


#: After these nothing more is told.
_LAST = {"ended": _ENDED, "taken_over": _ELSEWHERE}
#: Said by a browser whose bench has its microphone at the server, while it speaks itself.
_MASKS = {"mask": True, "unmask": False}
_Out = asyncio.Queue[dict[str, Any]]


def desk_of(connection: Request | WebSocket) -> Desk:
    """Return the desk of the shop."""
    desk: Desk = connection.app.state.desk
    return desk


@router.get("/bench/{job_id}")
def job_page(request: Request, who: Worker, job_id: str) -> Response:
    """Show the bench's screen of a job."""
    source, microphone = desk_of(request).pictures.source(job_id), desk_of(request).microphone_of(job_id)
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
            server_camera=shown_source(source) if source else "",
            server_microphone=microphone or "",
            by_server=bool(microphone) and request.query_params.get("microphone") != "browser",
            last=last_time(session, job, sheet),
        )


@router.post("/bench/{job_id}/hand-over")
def hand_over(request: Request, who: Worker, job_id: str) -> Response:
    """End the recording and hand the job over to the office."""
    shop, desk = shop_of(request), desk_of(request)
    last_words(desk, job_id, who)
    desk.complete(job_id, who)
    with shop.database.writing() as session:
        job = job_of(session, job_id)
        turn_to(job, "handed_over", seen=job.turn)
        note(session, job.id, "handed_over", {}, by=who.account, now=shop.now())
        web_sessions.end_by_badge(session, who)  # a shared bench is free for the next one
    return RedirectResponse("/bench", 303)


def last_words(desk: Desk, job_id: str, who: SignedIn) -> None:
    """End the recording that a job makes, and wait until its ear has heard it all.

    Raises:
        EngineFailed: the ear gave up, and so did another one.
        OutOfTurn: it takes long; what was said is safe.
    """
    at_work = desk.end(job_id, who)
    if at_work is None:
        return
    for _ in range(round(_LAST_WORDS_S / _LOOK_S)):
        if at_work.done.wait(_LOOK_S):
            return
        if isinstance(failed := at_work.recording.latest, Failed):
            raise EngineFailed(failed.line, remedy="the sound is kept; try again, it is then heard anew")
    raise OutOfTurn("the last words are still being heard", remedy="wait a little, then try again")


@router.websocket("/bench/{job_id}/listen")
async def listen(
    socket: WebSocket, job_id: str, who: Annotated[SignedIn, Depends(over_socket("work"))]
) -> None:
    """Take in the sound of a bench's browser; tell it what is safe and what was heard."""
    await socket.accept()
    desk, loop = desk_of(socket), asyncio.get_running_loop()
    out: _Out = asyncio.Queue()
    try:
        started = await socket.receive_json()
        sender = _sender(started, who, partial(_put, loop, out))
        before = desk.senders.claim(job_id, sender, take_over=_takes_over(started))
        if before is not None:
            await socket.send_json({"type": "busy", "by": before.name})
            await socket.close(_ELSEWHERE)
            return
    except ValueError as exc:
        await _refuse(socket, exc)
        return
    except WebSocketDisconnect:
        return
    try:
        await _listen(socket, job_id, who, started, sender, out)
    finally:
        desk.senders.release(job_id, sender)


async def _listen(
    socket: WebSocket, job_id: str, who: SignedIn, started: Any, sender: Sender, out: _Out
) -> None:
    desk, loop = desk_of(socket), asyncio.get_running_loop()
    try:
        settings = _settings(started)
        by_server = settings.get("microphone") == "server"
        begin = partial(desk.listen, job_id, who, settings, by_server=by_server)
        at_work = await asyncio.to_thread(begin)
    except (RebuildError, ValueError) as exc:
        await _refuse(socket, exc)
        return
    leave = desk.look_on(job_id, lambda message: _put(loop, out, told(message)))
    # Written through first: what the browser is not asked for again it forgets.
    wanted = await asyncio.to_thread(at_work.recording.flush)
    out.put_nowait({"type": "recording", "number": at_work.number, "next": wanted})
    if at_work.recording.latest is not None:
        out.put_nowait(told(at_work.recording.latest, again=True))
    sending = asyncio.create_task(_send(socket, out))
    try:
        still_sends = partial(desk.senders.sends, job_id, sender)
        pressed = partial(_pressed, desk, job_id, who)
        await _take_in(socket, at_work, out, InUse(shop_of(socket), who), still_sends, pressed)
    except (WebSocketDisconnect, RuntimeError):
        pass  # Gone; its frames stay in the browser until it is back.
    finally:
        leave()
        sending.cancel()


async def _refuse(socket: WebSocket, why: Exception) -> None:
    await socket.send_json({"type": "refused", "line": str(why)})
    await socket.close(_REFUSED)


async def _take_in(
    socket: WebSocket,
    at_work: AtWork,
    out: _Out,
    in_use: InUse,
    still_sends: Callable[[], bool],
    pressed: Callable[[str], bool],
) -> None:
    while True:
        message = await socket.receive()
        if message["type"] == "websocket.disconnect" or not still_sends():
            return
        if (data := message.get("bytes")) is not None:
            if at_work.microphone is not None:
                line = "the server's microphone listens at this bench; load this page again"
                out.put_nowait({"type": "not_recording", "line": line})
                continue
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
        elif (text := message.get("text")) in _MASKS:
            if at_work.microphone is not None:
                at_work.microphone.mask(_MASKS[text])
        elif text is not None:
            taken = await asyncio.to_thread(pressed, text)
            out.put_nowait({"type": "pressed", "taken": taken})


def _pressed(desk: Desk, job_id: str, who: SignedIn, text: str) -> bool:
    press = press_from(text)
    return press is not None and desk.press(job_id, who, press)


def _sender(started: Any, who: SignedIn, put: Callable[[dict[str, Any]], None]) -> Sender:
    """Return the browser that wants to send; it is told when another takes over."""
    client = started.get("client") if isinstance(started, dict) else None
    known = client[:80] if isinstance(client, str) else ""
    return Sender(known, who.account.shown_name, lambda by: put({"type": "taken_over", "by": by}))


def _takes_over(started: Any) -> bool:
    return isinstance(started, dict) and started.get("take_over") is True


async def _send(socket: WebSocket, out: _Out) -> None:
    while True:
        message = await out.get()
        await socket.send_text(json.dumps(message, ensure_ascii=False))
        if message["type"] in _LAST:
            await socket.close(_LAST[message["type"]])
            return


def told(
    message: Ready | Heard | HeardTo | Seen | Ended | Failed | Early | MicrophoneHeard, *, again: bool = False
) -> dict[str, Any]:
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
        case HeardTo():
            return {"type": "heard_to", "place_s": message.known.place_s}
        case Seen():
            return {"type": "seen", "board": _board(message.board)}
        case Ended():
            return {"type": "ended", "board": _board(message.board)}
        case Early():
            lines = [line.model_dump(mode="json") for line in message.lines]
            return {"type": "early", "ended_s": message.ended_s, "lines": lines}
        case MicrophoneHeard():
            return {"type": "microphone", "peak": message.peak, "line": message.line}
        case Failed():
            return {"type": "failed", "line": message.line}


def _board(board: Board) -> dict[str, Any]:
    return board.model_dump(mode="json")


def _put(loop: asyncio.AbstractEventLoop, out: _Out, message: dict[str, Any]) -> None:
    loop.call_soon_threadsafe(out.put_nowait, message)


def _settings(started: Any) -> dict[str, object]:
    """Return the microphone's settings as far as they are plain and few."""
    given = started.get("settings", {}) if isinstance(started, dict) else {}
    if not isinstance(given, dict):
        raise ValueError("expected the microphone's settings as an object")
    return {str(k)[:40]: v for k, v in list(given.items())[:40] if isinstance(v, bool | int | float | str)}
