"""Pictures of a bench: taken by its browser or the server's camera, judged at once, shown with the record."""

from __future__ import annotations

import asyncio
import json
from typing import Annotated, Any, Literal

from fastapi import APIRouter, Depends, File, Form, Request, UploadFile, WebSocket, WebSocketDisconnect
from fastapi.responses import JSONResponse, Response

from api.archive.picture_places import past_picture
from api.face_drawings import annotated_name, strip_name
from api.live.picture_desk import MOST_PICTURE_BYTES, MOST_PICTURES, PictureWanted, Taking, Told
from api.live.picture_words import Judged, title_of
from api.store.archive_tables import ArchivedEntry, ArchivedRecord
from api.store.job_pictures import picture_rows
from api.store.jobs import job_of
from api.store.web_sessions import SignedIn
from api.web.forms import Line, RowNumber
from api.web.guard import Reader, Worker, over_socket, shop_of
from api.web.routes_bench import desk_of
from shared.errors import NotKept
from shared.record import Stage

router = APIRouter(default_response_class=Response)
_Shown = Literal["whole", "small", "face", "strip"]
_Burst = Annotated[list[UploadFile], File(min_length=1, max_length=MOST_PICTURES)]
_Age = Annotated[float, Form(ge=0, le=7 * 24 * 3600, allow_inf_nan=False)]


@router.post("/bench/{job_id}/pictures")
def take(
    request: Request,
    who: Worker,
    job_id: str,
    burst: _Burst,
    of: Line = "",
    stage: Annotated[Stage, Form()] = "either",
    asked: Line = "",
    again: Line = "",
    age_s: _Age = 0.0,
    chosen: bool = Form(default=False),
) -> Response:
    """Keep the sharpest picture of a burst; answer what was judged of it."""
    wanted = PictureWanted(of or None, stage, asked=asked or None, again=again or None)
    # One byte more than is allowed tells that there is more; the rest is never read.
    pictures = [one.file.read(MOST_PICTURE_BYTES + 1) for one in burst]
    judged = desk_of(request).pictures.take(
        job_id, wanted, pictures, by=who.account, source="file" if chosen else "browser", age_s=age_s
    )
    return JSONResponse(judged.model_dump(mode="json"), 201)


@router.post("/bench/{job_id}/server-camera")
def take_by_server(
    request: Request,
    who: Worker,
    job_id: str,
    of: Line = "",
    stage: Annotated[Stage, Form()] = "either",
    asked: Line = "",
    again: Line = "",
) -> Response:
    """Take a picture with the server's camera; answer what was judged of it."""
    wanted = PictureWanted(of or None, stage, asked=asked or None, again=again or None)
    judged = desk_of(request).pictures.take_by_server(job_id, wanted, by=who.account)
    return JSONResponse(judged.model_dump(mode="json"), 201)


@router.get("/bench/{job_id}/pictures/{picture}/{shown}")
def picture_at_the_bench(
    request: Request, _who: Worker, job_id: str, picture: str, shown: _Shown
) -> Response:
    """Return a picture of a job to its bench, where a badge alone may be what signed in."""
    return _picture(request, job_id, picture, shown)


@router.get("/office/{job_id}/pictures/{picture}/{shown}")
def picture_in_the_office(
    request: Request, _who: Reader, job_id: str, picture: str, shown: _Shown
) -> Response:
    """Return a picture of a job to whoever reads its record."""
    return _picture(request, job_id, picture, shown)


def _picture(request: Request, job_id: str, picture: str, shown: _Shown) -> Response:
    """Return a picture: the whole, a small one, or the drawing of the seal face in it."""
    shop = shop_of(request)
    with shop.database.reading() as session:
        rows = picture_rows(session, job_of(session, job_id).id)
    # By its row, never by a name that came in.
    row = next((one for one in rows if one.stem == picture), None)
    if row is None:
        raise NotKept(f"this job has no picture {picture!r}")
    name = {
        "whole": row.picture, "small": row.thumbnail, "face": annotated_name(row.picture),
        "strip": strip_name(row.picture),
    }[shown]  # fmt: skip
    path = shop.folder / "jobs" / job_id / name
    if not path.is_file():
        raise NotKept(f"there is no such view of picture {picture!r}")
    return Response(path.read_bytes(), media_type="image/jpeg", headers={"content-disposition": "inline"})


@router.get("/past-pictures/{record_id}/{entry_id}/{shown}")
def picture_from_before(
    request: Request, _who: Reader, record_id: RowNumber, entry_id: RowNumber,
    shown: Literal["whole", "small"],
) -> Response:  # fmt: skip
    """Return a picture of a recording from before to whoever reads records."""
    shop = shop_of(request)
    with shop.database.reading() as session:
        entry, record = session.get(ArchivedEntry, entry_id), session.get(ArchivedRecord, record_id)
    if entry is None or record is None or entry.record_id != record.id or not entry.picture:
        raise NotKept("there is no such picture in the archive")
    path = past_picture(shop.folder, record.source, entry.picture, small=shown == "small")
    if path is None:
        raise NotKept("this picture is not kept here")
    kind = "image/png" if path.suffix.lower() == ".png" else "image/jpeg"
    return Response(path.read_bytes(), media_type=kind, headers={"content-disposition": "inline"})


@router.websocket("/bench/{job_id}/look")
async def look(
    socket: WebSocket, job_id: str, who: Annotated[SignedIn, Depends(over_socket("work"))]
) -> None:
    """Tell a bench's browser which pictures are asked for and what was judged of those taken."""
    await socket.accept()
    loop, out = asyncio.get_running_loop(), asyncio.Queue[dict[str, Any]]()

    def tell(message: Told) -> None:
        loop.call_soon_threadsafe(out.put_nowait, _told(message))

    leave = desk_of(socket).pictures.look_on(job_id, tell)
    sending = asyncio.create_task(_send(socket, out))
    try:
        while True:
            await socket.receive_text()  # It has nothing to say; it only goes away some time.
    except (WebSocketDisconnect, KeyError, RuntimeError):
        pass
    finally:
        leave()
        sending.cancel()


async def _send(socket: WebSocket, out: asyncio.Queue[dict[str, Any]]) -> None:
    while True:
        await socket.send_text(json.dumps(await out.get(), ensure_ascii=False))


def _told(message: Told) -> dict[str, Any]:
    match message:
        case PictureWanted():
            return {"type": "take", "trouble": message.trouble, **_what(message)}
        case Taking():
            return {"type": "taking", **_what(message.wanted)}
        case Judged():
            return {"type": "judged", **message.model_dump(mode="json")}


def _what(wanted: PictureWanted) -> dict[str, Any]:
    title = title_of(wanted.of, wanted.stage)
    return {"of": wanted.of, "stage": wanted.stage, "asked": wanted.asked, "title": title}
