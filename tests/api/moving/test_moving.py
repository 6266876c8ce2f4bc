"""A shop moves to PostgreSQL and to a media store with nothing lost, doubled or half done."""

from __future__ import annotations

import json
import shutil
from dataclasses import asdict
from datetime import UTC, datetime
from pathlib import Path

import pytest
from sqlalchemy import func, select, text

from api.cli import run
from api.data_folder import MARK
from api.failure import DONE, NOT_DONE
from api.moving import rows
from api.moving.files import MovedFile, fetch_files, move_files
from api.store.accounts import all_accounts, make_account
from api.store.archive_tables import ArchivedEntry, ArchivedRecord
from api.store.database import Database, database_url
from api.store.media import MediaStore
from api.store.task_tables import Task
from api.work.ordering import order
from api.work_folder import held_folder
from shared.errors import MediaDamaged, MediaUnusable, StoreUnusable
from tests.api.processing import SHEET

NOW = datetime(2026, 3, 4, 12, 0, tzinfo=UTC)


@pytest.fixture(scope="module")
def one_shop(tmp_path_factory: pytest.TempPathFactory, talk: Path, script: Path) -> Path:
    """A shop with an account, a recording from before that was filed, and work that waits."""
    place = tmp_path_factory.mktemp("shop")
    archive, data = place / "archive", place / "data"
    archive.mkdir()
    shutil.copy(talk, archive / "a.wav")
    wanted = ["process", str(archive), "--sheet", SHEET, "--data", str(data)]
    assert run([*wanted, "--engine", "scripted", "--model", str(script)]) == DONE
    database = Database(database_url(data, None))
    with database.writing() as session:
        make_account(session, name="b", shown_name="Bé ☂", roles=["stores"], secret=None, now=NOW)
        order(session, "process_recording", {"none": None}, key="waits")
    database.close()
    (data / "jobs" / "1").mkdir(parents=True)
    (data / "jobs" / "1" / "sound.journal").write_bytes(b"\0\1sound" * 1000)
    return data


@pytest.fixture
def folder(one_shop: Path, tmp_path: Path) -> Path:
    """A copy of it that is the test's own."""
    return shutil.copytree(one_shop, tmp_path / "data")


@pytest.mark.long
def test_all_rows_move_and_the_new_database_counts_on(
    folder: Path, postgresql_url: str, capsys: pytest.CaptureFixture[str]
) -> None:
    capsys.readouterr()
    wanted = ["move", "--to-database", postgresql_url, "--data", str(folder), "--json"]
    assert run(wanted) == DONE
    told = json.loads(capsys.readouterr().out)["tables"]
    assert (told["accounts"]["rows"], told["tasks"]["rows"], told["archived_records"]["rows"]) == (1, 2, 1)
    new = Database(postgresql_url)
    with new.writing() as session:
        assert [one.shown_name for one in all_accounts(session)] == ["Bé ☂"]
        entries = session.scalar(select(func.count()).select_from(ArchivedEntry))
        assert entries == told["archived_entries"]["rows"] > 0
        # Numbers go on after those that were copied, and the queue knows of the work that waits.
        made = make_account(session, name="c", shown_name="C", roles=["stores"], secret=None, now=NOW)
        assert made.id > all_accounts(session)[0].id
        waiting = session.scalar(select(Task.id).where(Task.state == "waiting"))
        assert session.scalars(text("select (args->>'task_id')::int from procrastinate_jobs")).all() == [
            waiting
        ]
        # The words can be searched there.
        vector = text(
            "select count(*) from archived_utterances where words_vector @@ to_tsquery('clearance')"
        )
        assert session.scalar(vector)
    new.close()


def test_moving_again_changes_nothing_and_another_shops_database_is_left_alone(
    folder: Path, postgresql_url: str, capsys: pytest.CaptureFixture[str]
) -> None:
    wanted = ["move", "--to-database", postgresql_url, "--data", str(folder)]
    assert run(wanted) == DONE
    assert run(wanted) == DONE
    new = Database(postgresql_url)
    with new.writing() as session:
        make_account(session, name="other", shown_name="O", roles=["stores"], secret=None, now=NOW)
    assert run(wanted) == NOT_DONE
    assert "holds other rows already" in capsys.readouterr().err
    with new.reading() as session:
        assert len(all_accounts(session)) == 2
    new.close()


def test_a_move_that_breaks_off_has_kept_nothing(
    folder: Path, postgresql_url: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    old, new = Database(database_url(folder, None)), Database(postgresql_url)
    copy = rows._copy

    def broken_off(source: object, target: object, table: object) -> None:
        if table.name == ArchivedRecord.__tablename__:  # type: ignore[attr-defined]
            raise KeyboardInterrupt
        copy(source, target, table)  # type: ignore[arg-type]

    monkeypatch.setattr(rows, "_copy", broken_off)
    with pytest.raises(KeyboardInterrupt):
        rows.move_rows(old, new, lambda *_: None)
    with new.reading() as session:
        assert all_accounts(session) == []
    # What comes back otherwise than it was put there is not kept either.
    monkeypatch.setattr(rows, "_copy", lambda *_: None)
    with pytest.raises(StoreUnusable, match="something else than was put there"):
        rows.move_rows(old, new, lambda *_: None)
    monkeypatch.undo()
    assert rows.move_rows(old, new, lambda *_: None)["accounts"].rows == 1
    old.close()
    new.close()


@pytest.mark.parametrize("place", ["folder", "s3"])
def test_files_go_to_the_store_and_come_back_on_another_machine(
    request: pytest.FixtureRequest, place: str, folder: Path, tmp_path: Path
) -> None:
    url = str(tmp_path / "media") if place == "folder" else request.getfixturevalue("s3_url")
    (folder / "keys.pem").write_text("secret")
    assert run(["move", "--to-media", url, "--data", str(folder)]) == DONE
    assert not [name for name in MediaStore(url).names() if "keys" in name or "sqlite" in name]
    elsewhere = tmp_path / "elsewhere"
    for _ in range(2):  # broken off, it goes on
        assert run(["move", "--from-media", url, "--data", str(elsewhere)]) == DONE
    with held_folder(elsewhere, MARK):
        pass  # and the server takes the folder

    def files(of: Path) -> dict[str, bytes]:
        found = [*(of / "jobs").rglob("*"), *(of / "past").rglob("*")]
        return {
            str(file.relative_to(of)): file.read_bytes()
            for file in found
            if file.is_file() and not file.name.startswith(".")
        }

    assert files(elsewhere) == files(folder)
    assert any(name.endswith("record.json") for name in files(elsewhere))


def test_a_move_of_files_goes_on_where_it_stopped(
    folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    media = MediaStore(str(tmp_path / "media"))
    put: list[str] = []

    def counted(name: str, file: Path) -> str:
        if len(put) == 2:
            raise KeyboardInterrupt
        put.append(name)
        return MediaStore.put(media, name, file)

    monkeypatch.setattr(media, "put", counted)
    with pytest.raises(KeyboardInterrupt):
        move_files(folder, media, lambda *_: None)
    first = list(put)
    put.clear()
    monkeypatch.setattr(
        media, "put", lambda name, file: put.append(name) or MediaStore.put(media, name, file)
    )
    moved = move_files(folder, media, lambda *_: None)
    assert not set(first) & set(put)
    assert {one.name for one in moved} == {*first, *put} - {"manifest.json"}


def test_another_store_is_given_every_file_too(folder: Path, tmp_path: Path) -> None:
    first, other = (MediaStore(str(tmp_path / name)) for name in ("first", "other"))
    move_files(folder, first, lambda *_: None)
    moved = move_files(folder, other, lambda *_: None)
    assert moved
    assert first.names() == other.names()


def test_a_list_of_files_may_not_reach_the_database_or_a_key(tmp_path: Path) -> None:
    media, elsewhere, file = MediaStore(str(tmp_path / "media")), tmp_path / "elsewhere", tmp_path / "file"
    file.write_text("theirs")
    for name in ("witnessmark.sqlite", "past/../keys.pem", "../keys.pem"):
        listed = MovedFile(name, 6, 0, "0" * 64)
        file.write_text(json.dumps([asdict(listed)]))
        media.put("manifest.json", file)
        with pytest.raises(MediaUnusable, match="no recording's"):
            fetch_files(elsewhere, media, lambda *_: None)


def test_a_store_that_gives_back_something_else_is_told(
    folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    media = MediaStore(str(tmp_path / "media"))
    monkeypatch.setattr(media, "sha256_of", lambda _: "0" * 64)
    with pytest.raises(MediaDamaged, match="not what was put there"):
        move_files(folder, media, lambda *_: None)


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        ([], "name --to-database, --to-media or --from-media"),
        (["--from-media", "x", "--to-media", "y"], "by itself"),
        (["--to-media", "y"], "there is no shop to be moved"),
        (["--to-database", "sqlite:///x"], "there is no shop to be moved"),
    ],
)
def test_what_cannot_be_moved_is_told_in_one_line(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], arguments: list[str], told: str
) -> None:
    assert run(["move", *arguments, "--data", str(tmp_path / "d")]) == NOT_DONE
    assert told in capsys.readouterr().err
