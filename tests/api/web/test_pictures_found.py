"""The search page shows what was photographed, and so does the command; a pump's faces stand side by side."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from html import unescape
from pathlib import Path

import pytest
from fastapi.testclient import TestClient

from api.archive.filing import file_record
from api.archive.picture_told import rebuild_address
from api.archive.pictures import pictures_found
from api.archive.searching import Search
from api.cli import run
from api.data_folder import mark_folder
from api.past.reading import past_folder
from api.store.accounts import by_secret
from api.web.shop import Shop
from extract.record_builder import RecordBuilder
from shared.photo import Photo
from shared.record import Job
from tests.api.web.conftest import SECRET
from tests.api.web.pictured_job import SHEET, pictured_job

HERE = Path(__file__).parents[3] / "fixtures"
FACE, OTHER_FACE = ((HERE / "faces" / f"{name}.jpg").read_bytes() for name in ("0001", "0003"))
IMPELLER = (HERE / "pictures" / "impeller_sharp.jpg").read_bytes()
JPEG = b"\xff\xd8\xff"


@pytest.fixture
def job(shop: Shop, people: None) -> str:
    """Its pictures were taken by presses: nobody said a word of them."""
    with shop.database.reading() as session:
        technician = by_secret(session, "technician", SECRET)
    assert technician is not None
    return pictured_job(
        shop, technician, [("rotating_face", "as_found", FACE), ("impeller", "as_found", IMPELLER)]
    )


@pytest.mark.long
def test_a_picture_that_nobody_asked_for_aloud_is_found_shown_and_leads_to_its_rebuild(
    as_role: Callable[[str], TestClient], shop: Shop, job: str, capsys: pytest.CaptureFixture[str]
) -> None:
    trainer = as_role("trainer")
    shown = trainer.get("/search", params={"q": "crazed carbon"}).text
    assert "One thing said, one picture" in shown
    (small,) = re.findall(r'<img src="([^"]+)"', shown)
    assert small.startswith(f"/office/{job}/pictures/rotating_face-")
    assert trainer.get(small).content.startswith(JPEG)
    (there,) = re.findall(r'href="(/pumps/P-101#rebuild-\d+)"', shown)
    assert f'id="{there.partition("#")[2]}"' in trainer.get(there).text
    assert "at 0:20" in shown  # its sound is nobody's to hear until he agrees
    # By part, stage and pump alone, and of what nobody spoke.
    for asked in ({"q": "wheel"}, {"part": "impeller", "stage": "as_found", "pump_tag": "P-101"}):
        found = trainer.get("/search", params=asked).text
        assert "0 things said, one picture" in found
        assert "there are pictures of it" in found
    assert '<option value="impeller" selected>' in found
    assert "no pictures" in trainer.get("/search", params={"part": "seal"}).text
    alone = trainer.get("/search", params={"pump_tag": "P-101", "show": "pictures"}).text
    assert len(re.findall(r'<img src="', alone)) == 2
    assert "heat checked</" not in alone
    assert trainer.get("/search", params={"q": "x", "show": "films"}).status_code == 422
    # Who reviews as well is led to the entry itself, where its second is played.
    with shop.database.reading() as session:
        (hit,) = pictures_found(session, Search("wheel")).hits
    entry = rebuild_address(hit, reviews=True)
    assert entry == f"/office/{job}#entry-{hit.entry.entry_id}"
    assert as_role("reviewer").get("/search", params={"q": "wheel"}).status_code == 403

    mark_folder(shop.folder)
    assert run(["search", "wheel", "--data", str(shop.folder), "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    (picture,) = told["pictures"]
    assert (told["hits"], told["more_pictures"]) == ([], False)
    assert (picture["of"], picture["stage"], picture["job"], picture["at_s"]) == (
        "impeller", "as_found", job, 30.0,
    )  # fmt: skip
    assert trainer.get(picture["picture"]).content.startswith(JPEG)
    assert run(["search", "--part", "impeller", "--data", str(shop.folder)]) == 0
    assert "[picture] Impeller, as found at 0:30  /office/" in capsys.readouterr().out


def test_a_frame_of_a_video_from_before_is_shown_where_it_is_kept(
    as_role: Callable[[str], TestClient], shop: Shop
) -> None:
    source = "file:" + "d" * 64
    builder = RecordBuilder(SHEET, Job(pump_tag="P-7"))
    name = "impeller_003.jpg"
    builder.see(Photo(of="impeller", stage="as_found", picture=f"pictures/{name}", time_s=4.0))
    builder.see(Photo(of="casing", stage="as_left", picture="pictures/../../secret.jpg", time_s=5.0))
    with shop.database.writing() as session:
        file_record(session, builder.record(), source=source, sheet=SHEET)
    trainer = as_role("trainer")
    shown = trainer.get("/search", params={"pump_tag": "P-7"}).text
    assert shown.count("not in this shop&#39;s folder") + shown.count("not in this shop's folder") == 2
    folder = past_folder(shop.folder, "d" * 64, "first")
    (folder / "pictures").mkdir(parents=True)
    (folder / "pictures" / name).write_bytes(IMPELLER)
    (shop.folder / "past" / "secret.jpg").write_bytes(IMPELLER)
    shown = trainer.get("/search", params={"pump_tag": "P-7"}).text
    (small,) = re.findall(r'<img src="([^"]+)"', shown)
    assert trainer.get(unescape(small)).content == IMPELLER
    assert trainer.get(small.replace("small", "whole")).headers["content-type"] == "image/jpeg"
    assert as_role("stores").get(small).status_code == 403
    # A name that leads elsewhere is none, nor is an entry of another record.
    entry = int(small.split("/")[3])
    assert trainer.get(small.replace(f"/{entry}/", f"/{entry + 1}/")).status_code == 404
    assert trainer.get(re.sub(r"past-pictures/\d+", "past-pictures/999", small)).status_code == 404
    # The pump's own page shows it, too.
    assert small in trainer.get("/pumps/P-7").text


@pytest.mark.long
def test_faces_of_a_pump_stand_side_by_side_oldest_first(
    as_role: Callable[[str], TestClient], shop: Shop, job: str
) -> None:
    with shop.database.reading() as session:
        technician = by_secret(session, "technician", SECRET)
    assert technician is not None
    later = pictured_job(
        shop, technician, [("rotating_face", "as_found", OTHER_FACE)], days=90, work_order="WO 44",
        said="the carbon is chipped",
    )  # fmt: skip
    shown = as_role("technician").get("/pumps/P-101").text
    row = shown[shown.index("Pictures of rotating face") :]
    row = row[: row.index("</ul>")]
    pictures = re.findall(r'href="([^"]+)"><img src="([^"]+)"[^>]*alt="([^"]+)"', row)
    assert [one.split("/")[2] for one, _, _ in pictures] == [job, later]
    assert [told for _, _, told in pictures] == [
        "rotating face of 2026-03-01, as found", "rotating face of 2026-05-30, as found",
    ]  # fmt: skip
    # The drawing of each face, and what was said of it in its rebuild.
    assert all(small.endswith("/face") for _, small, _ in pictures)
    drawn = [as_role("technician").get(small).content for _, small, _ in pictures]
    assert all(one.startswith(JPEG) for one in drawn)
    assert drawn[0] != drawn[1]
    assert row.index("heat checked") < row.index("chipped")
