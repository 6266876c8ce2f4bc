"""Search over everything that was said, measured, decided and photographed."""

from __future__ import annotations

from dataclasses import fields
from functools import partial
from typing import Annotated, Literal

from fastapi import APIRouter, Query, Request
from fastapi.responses import Response

from api.archive.facets import LOOKED_AT, also_of, facets_of
from api.archive.hit_words import clip_address, entry_words
from api.archive.picture_told import picture_title, rebuild_address, shown_of, sound_around
from api.archive.pictures import LOOKED_AT as PICTURES_LOOKED_AT
from api.archive.pictures import PICTURES, STRIP, pictures_found
from api.archive.search_words import synonyms_shown
from api.archive.searching import Search, search
from api.lessons.heard_outside import folder_to_hear
from api.office.clips import LONGEST_S, clip_samples, wav_bytes
from api.web.forms import RowNumber
from api.web.guard import Learner, shop_of
from api.web.pages import page

router = APIRouter(default_response_class=Response)
_Name = Annotated[str, Query(max_length=200)]
_Seconds = Annotated[float, Query(ge=0, le=1e6, allow_inf_nan=False)]
_Month = Annotated[str, Query(max_length=7, pattern=r"^(\d{4}-\d{2})?$")]


@router.get("/search")
def search_page(
    request: Request, who: Learner, q: _Name = "", pump_type: _Name = "", pump_tag: _Name = "",
    part: _Name = "", item: _Name = "", condition: _Name = "", action: _Name = "", deviation: _Name = "",
    stage: _Name = "", technician: _Name = "", since: _Month = "", until: _Month = "",
    before: Annotated[int | None, Query(ge=1, le=2**31 - 1)] = None, show: Literal["", "pictures"] = "",
) -> Response:  # fmt: skip
    """Show what was said and photographed that meets the words and what it is narrowed by."""
    wanted = Search(
        q, pump_type, pump_tag, part, item, condition, action, deviation, stage, technician, since, until
    )
    shop, alone = shop_of(request), show == "pictures"
    with shop.database.reading() as session:
        found = search(session, wanted, before=None if alone else before, look_at=LOOKED_AT)
        # What was said is paged by itself: the pictures stand above its first page.
        pictures = pictures_found(
            session, wanted, before=before if alone else None, page=PICTURES if alone else STRIP,
            look_at=PICTURES_LOOKED_AT,
        )  # fmt: skip
        return page(
            request, "search", who=who, wanted=wanted, found=found, pictures=pictures, alone=alone,
            pictures_looked_at=PICTURES_LOOKED_AT,
            facets=also_of(facets_of(session, wanted, found), pictures.newest), looked_at=LOOKED_AT,
            synonyms=synonyms_shown(found.terms), entry_words=entry_words,
            clip=partial(clip_address, data_folder=shop.folder),
            shown=partial(shown_of, data_folder=shop.folder), picture_title=picture_title,
            around=partial(sound_around, data_folder=shop.folder),
            rebuild=partial(rebuild_address, reviews="review" in who.rights), given=_given(wanted),
            later=before is not None,
        )  # fmt: skip


@router.get("/search/{record_id}/sound.wav")
def sound_to_learn_from(
    request: Request, _who: Learner, record_id: RowNumber, start: _Seconds, end: _Seconds,
    recording: _Name = "",
) -> Response:  # fmt: skip
    """Return a stretch of a record's sound as a WAV file, at most a minute, where all in it agreed."""
    shop = shop_of(request)
    with shop.database.reading() as session:
        until = min(end, start + LONGEST_S)
        folder = folder_to_hear(session, shop.folder, record_id, recording, start, until)
    return Response(wav_bytes(clip_samples(folder, start, end)), media_type="audio/wav")


def _given(wanted: Search) -> dict[str, str]:
    """Return what was asked for as an address has it."""
    named = {("q" if one.name == "words" else one.name): getattr(wanted, one.name) for one in fields(wanted)}
    return {name: value for name, value in named.items() if value}
