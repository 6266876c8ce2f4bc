"""What goes wrong in a shop: full disk, locked database, clock set back, two at once, tricks."""

from __future__ import annotations

import errno
import io
import json
import subprocess
import threading
import zipfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient
from sqlalchemy import event, text

from api.live import desk as desk_room
from api.office.signing_off import MEANINGS
from api.signing.chain import first_break
from api.store.accounts import by_secret, make_account
from api.store.drafts import newest_draft
from api.store.job_events import chain_of
from api.store.jobs import job_of
from api.store.revisions import revisions_of
from api.web.shop import Shop
from capture import journal
from shared.errors import StoreBusy
from shared.job_sheet import JobSheet
from tests.api.live.bench_sound import frames, script_file, spoken
from tests.api.web import signed_job
from tests.api.web.conftest import SECRET, Clock, browser
from tests.api.web.signed_job import SHEET, decide, handed_over, sign, turn
from tests.api.web.test_bench import opened, send, until
from tests.conftest import need_program

FULL = OSError(errno.ENOSPC, "No space left on device")
JSON = {"accept": "application/json"}


@pytest.fixture
def bench(
    as_role: Callable[[str], TestClient], shop: Shop, app: FastAPI, tmp_path: Path
) -> Iterator[TestClient]:
    script = str(script_file(tmp_path))
    shop.settings = shop.settings.model_copy(update={"engine": "scripted", "model": script})
    yield as_role("technician")
    app.state.desk.close()


@pytest.fixture
def reviewer(as_role: Callable[[str], TestClient]) -> TestClient:
    return as_role("reviewer")


@contextmanager
def full_database(shop: Shop) -> Iterator[None]:
    """SQLite itself says that it is full: it may take no page more."""

    def limit(connection: Any, *_: object) -> None:
        (pages,) = connection.execute("PRAGMA page_count").fetchone()
        connection.execute(f"PRAGMA max_page_count={pages}").close()

    def free(connection: Any, *_: object) -> None:
        connection.execute("PRAGMA max_page_count=1000000").close()

    event.listen(shop.database.engine, "checkout", limit)
    try:
        yield
    finally:
        event.remove(shop.database.engine, "checkout", limit)
        event.listen(shop.database.engine, "checkout", free)


def test_a_full_disk_at_the_bench_is_told_and_loses_nothing(
    bench: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*_: object) -> None:
        raise FULL

    job, some = opened(bench), list(frames(spoken(1)))
    with bench.websocket_connect(f"/bench/{job}/listen") as socket:
        socket.send_json({"type": "start"})
        until(socket, "recording")
        send(socket, some[:5])
        assert until(socket, "safe")["next"] == 5
        with monkeypatch.context() as disk:
            disk.setattr(journal, "_write_all", full)
            send(socket, some[5:7])
            assert "disk" in until(socket, "not_recording")["line"]
        # Room was made: the browser sends again what was never said to be safe.
        send(socket, some[5:])
        socket.send_text("flush")
        while until(socket, "safe")["next"] < len(some):
            pass


def test_a_full_disk_takes_no_picture_and_leaves_no_half_of_one(
    bench: TestClient, shop: Shop, monkeypatch: pytest.MonkeyPatch
) -> None:
    from tests.api.web.test_pictures import SHARP, post

    def full(_: int) -> None:
        raise FULL

    job = opened(bench)
    with monkeypatch.context() as disk:
        disk.setattr("api.work_folder.os.fsync", full)
        answer = post(bench, job, SHARP, of="impeller")
    assert answer.status_code == 507
    assert "disk is full" in answer.text
    assert not [path for path in (shop.folder / "jobs").rglob("*.jpg") if not path.name.startswith(".")]
    assert post(bench, job, SHARP, of="impeller").status_code == 201


@pytest.mark.sqlite
def test_a_full_disk_signs_nothing_and_then_it_can_be_signed(shop: Shop, reviewer: TestClient) -> None:
    job = handed_over(shop)
    decide(reviewer, shop, job)
    fields = {"seen": turn(shop, job), "secret": SECRET, "meaning": MEANINGS[0]}
    with full_database(shop):
        answer = reviewer.post(f"/office/{job}/sign", data=fields)
        assert answer.status_code == 507
        assert "disk is full" in answer.text
    with shop.database.reading() as session:
        assert revisions_of(session, job) == []
        assert job_of(session, job).state == "handed_over"
        assert first_break(list(chain_of(session, job))) is None
    assert reviewer.post(f"/office/{job}/sign", data=fields).status_code == 303


@pytest.mark.sqlite
def test_a_locked_database_is_told_as_such(shop: Shop, reviewer: TestClient, tmp_path: Path) -> None:
    job = handed_over(shop)
    other = shop.database.engine.connect()
    other.exec_driver_sql("ROLLBACK")
    other.exec_driver_sql("BEGIN IMMEDIATE")
    with shop.database.reading() as session:
        session.execute(text("select 1"))

    def impatient(connection: Any, *_: object) -> None:
        connection.execute("PRAGMA busy_timeout=50").close()

    event.listen(shop.database.engine, "checkout", impatient)
    fields = {"seen": turn(shop, job), "remark": "measure again"}
    answer = reviewer.post(f"/office/{job}/return", data=fields, headers=JSON)
    assert answer.status_code == 503
    assert answer.json()["error"]["code"] == "store-busy"
    other.exec_driver_sql("ROLLBACK")
    other.close()
    assert reviewer.post(f"/office/{job}/return", data=fields).status_code == 303


def test_a_record_that_could_not_be_kept_is_heard_again(
    bench: TestClient, shop: Shop, monkeypatch: pytest.MonkeyPatch
) -> None:
    keep, tried = desk_room.keep_draft, []

    def locked_once(*args: Any, **more: Any) -> Any:
        tried.append(1)
        if len(tried) == 1:
            raise StoreBusy("another process holds the database")
        return keep(*args, **more)

    monkeypatch.setattr(desk_room, "keep_draft", locked_once)
    job, some = opened(bench), list(frames(spoken(2)))
    with bench.websocket_connect(f"/bench/{job}/listen") as socket:
        socket.send_json({"type": "start"})
        send(socket, some)
        socket.send_text("flush")
        while until(socket, "safe")["next"] < len(some):
            pass
    refused = bench.post(f"/bench/{job}/hand-over", headers=JSON)
    assert "could not be kept" in refused.json()["error"]["what"]
    assert bench.post(f"/bench/{job}/hand-over").status_code == 303
    with shop.database.reading() as session:
        draft = newest_draft(session, job)
        kinds = [link.kind for link in chain_of(session, job)]
    assert draft is not None
    assert '"0.018"' in draft.record
    assert kinds.count("recording_ended") == 1


def test_a_clock_set_back_is_noted_and_the_chain_goes_on_in_order(
    shop: Shop, people: None, as_role: Callable[[str], TestClient], clock: Clock
) -> None:
    job = handed_over(shop)
    clock.now -= timedelta(days=40)
    reviewer = as_role("reviewer")
    sign(reviewer, shop, job)
    with shop.database.reading() as session:
        links = list(chain_of(session, job))
    assert first_break(links) is None
    assert [link.number for link in links] == list(range(1, len(links) + 1))
    back = [link for link in links if link.kind == "clock_set_back"]
    assert [link.payload for link in back] == [{"seconds": 40 * 86_400}]
    assert links[-1].kind == "signed"
    # A browser that signed in "later" than now is let in no longer than a shift.
    clock.now -= timedelta(days=1)
    assert reviewer.get("/office").status_code == 303


def test_of_two_reviewers_who_sign_in_the_same_moment_one_does(
    shop: Shop, app: FastAPI, reviewer: TestClient
) -> None:
    job = handed_over(shop)
    decide(reviewer, shop, job)
    with shop.database.writing() as session:
        make_account(
            session, name="second", shown_name="Second", roles=["reviewer"], secret=SECRET, now=shop.now()
        )
    second = browser(app)
    second.post("/sign-in", data={"name": "second", "secret": SECRET})
    page = second.get(f"/office/{job}").text
    second.headers["x-form-token"] = page.partition('name="form_token" value="')[2].partition('"')[0]
    fields = {"seen": turn(shop, job), "secret": SECRET, "meaning": MEANINGS[0]}
    together, statuses = threading.Barrier(2), []

    def press(client: TestClient) -> None:
        together.wait()
        statuses.append(client.post(f"/office/{job}/sign", data=fields).status_code)

    threads = [threading.Thread(target=press, args=(client,)) for client in (reviewer, second)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sorted(statuses) == [303, 409]
    with shop.database.reading() as session:
        assert [one.number for one in revisions_of(session, job)] == [1]
        assert [link.kind for link in chain_of(session, job)].count("signed") == 1


def test_a_form_that_a_reload_sends_twice_counts_once(bench: TestClient, shop: Shop) -> None:
    first, again = opened(bench), opened(bench)
    assert first == again
    assert bench.post(f"/bench/{first}/hand-over").status_code == 303
    assert bench.post(f"/bench/{first}/hand-over").status_code == 409
    with shop.database.reading() as session:
        assert [link.kind for link in chain_of(session, first)].count("handed_over") == 1


def zipped() -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        archive.writestr("sound.wav", b"RIFF")
    return out.getvalue()


@pytest.mark.parametrize("name", ["talk.wav", "talk.m4a", "../../talk.wav"])
def test_a_zip_named_like_a_recording_or_a_picture_is_refused(
    bench: TestClient, tmp_path: Path, capsys: pytest.CaptureFixture[str], name: str
) -> None:
    from api.cli import run

    path = tmp_path / Path(name).name
    path.write_bytes(zipped())
    assert run(["process", str(path), "--sheet", SHEET.id, "--out", str(tmp_path / "out")]) == 2
    assert "sound-unreadable" in capsys.readouterr().err
    files = [("burst", (name, zipped(), "image/jpeg"))]
    answer = bench.post(f"/bench/{opened(bench)}/pictures", files=files, headers=JSON)
    assert answer.status_code == 422
    assert answer.json()["error"]["code"] == "picture-unreadable"


@pytest.mark.parametrize(
    "trick", ["../../etc/passwd", "..\\..\\x", "/etc/passwd", "a\x00b", "%2e%2e%2f", "x" * 200]
)
def test_a_name_that_tricks_makes_no_file_and_reads_none(
    bench: TestClient, as_role: Callable[[str], TestClient], shop: Shop, trick: str
) -> None:
    before = {path for path in shop.folder.rglob("*") if path.is_file()}
    fields = {"work_order": trick, "pump_tag": trick, "sheet": SHEET.id}
    answer = bench.post("/bench/jobs", data=fields)
    assert answer.status_code < 500
    assert bench.post("/bench/jobs", data={"work_order": "1", "sheet": trick}).status_code in (404, 422)
    office = as_role("reviewer")
    quoted = trick.replace("/", "%2f").replace("\x00", "%00").replace("\\", "%5c")
    for path in (
        "/bench/{}",
        "/office/{}",
        "/office/{}/sound/001.wav?start=0&end=1",
        "/office/{}/pictures/1/whole",
    ):
        client = bench if path.startswith("/bench") else office
        assert client.get(path.format(quoted)).status_code == 404, path
    made = {path for path in shop.folder.rglob("*") if path.is_file()} - before
    assert {path.parent for path in made} <= {shop.folder}


EVIL = "<script>alert(1)</script><img src=x onerror=alert(2)> #set page(width: 9pt) $x$ *b* {{ 1234567*8 }}"


def test_markup_in_talk_and_sheet_is_text_on_every_page_and_in_the_pdf(
    shop: Shop, reviewer: TestClient, as_role: Callable[[str], TestClient], monkeypatch: pytest.MonkeyPatch,
    tmp_path: Path,
) -> None:  # fmt: skip
    plain = SHEET.model_dump(mode="json", by_alias=True)
    sheet = JobSheet.model_validate(
        {**plain, "title": EVIL, "cautions": [{**plain["cautions"][0], "text": EVIL}]}
    )
    monkeypatch.setattr(signed_job, "SHEET", sheet)
    job = handed_over(
        shop, work_order=EVIL, said=(f"note that the customer wants {EVIL}", "vane one eighteen thou")
    )
    with shop.database.writing() as session:
        account = by_secret(session, "technician", SECRET)
        assert account is not None
        session.add(account)
        account.shown_name = EVIL
    bench, admin = as_role("technician"), as_role("admin")
    sign(reviewer, shop, job)
    pages = {
        path: client.get(path).text
        for client, path in [
            (bench, "/"), (bench, "/bench"), (bench, f"/bench/{job}"), (bench, "/own-recordings"),
            (reviewer, "/office"), (reviewer, f"/office/{job}"), (reviewer, "/tags"), (admin, "/accounts"),
            (admin, f"/accounts/{account.id}/recordings"),
        ]
    }  # fmt: skip
    for path, shown in pages.items():
        assert "<script>alert" not in shown, path
        assert "<img src=x" not in shown, path
        assert "9876536" not in shown, path
    for path in ("/", f"/bench/{job}", f"/office/{job}", "/accounts"):
        assert "&lt;script&gt;alert(1)" in pages[path], path
    document = tmp_path / "signed.pdf"
    document.write_bytes(reviewer.get(f"/office/{job}/revisions/1.pdf").content)
    seen = subprocess.run(
        [need_program("pdftotext"), "-layout", str(document), "-"], capture_output=True, check=True, text=True
    ).stdout
    assert "<script>alert(1)" in seen.replace("\n", "")
    assert "#set page" in " ".join(seen.split())
    told = json.loads(reviewer.get(f"/office/{job}/revisions/1.json").content)
    assert told["record"]["job"]["work_order"] == " ".join(EVIL.split())


@pytest.mark.parametrize("role", ["trainer", "stores", "reviewer", "technician"])
def test_a_stolen_cookie_of_another_role_erases_signs_and_hears_nothing(
    shop: Shop, as_role: Callable[[str], TestClient], role: str
) -> None:
    job = handed_over(shop)
    thief = TestClient(as_role(role).app, cookies=dict(as_role(role).cookies), follow_redirects=False)
    for path in (f"/office/{job}/sign", "/accounts/1/recordings/erase", "/accounts/1/recordings/export"):
        assert (
            thief.post(path, data={"seen": "2", "secret": SECRET, "meaning": MEANINGS[0]}).status_code == 403
        )
    status = thief.get(f"/office/{job}/sound/001.wav?start=0&end=1").status_code
    assert status == (403 if role == "stores" else 200)
