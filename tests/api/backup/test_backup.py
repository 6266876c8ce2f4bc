"""Backups: consistent while somebody works, compared by hash, refused where something is not whole."""

from __future__ import annotations

import errno
import json
import os
from collections.abc import Callable
from pathlib import Path

import pytest
from sqlalchemy import text

from api.backup import taking
from api.backup.chest import Chest
from api.backup.database_copy import Copied, copy_database
from api.backup.manifest import Manifest, names_in, read_manifest
from api.backup.restoring import check_backup, restore
from api.backup.taking import Taken, take_backup
from api.cli import run
from api.listening import HEARD_JOURNAL, SOUND_JOURNAL
from api.people.sound_sum import sound_sum
from api.signing.chain import first_break
from api.store.database import Database, database_url
from api.store.job_events import chain_of
from api.store.jobs import jobs_in
from api.store.migrating import migrate
from capture.sound_journal import SoundJournal
from shared.errors import (
    BackupDamaged,
    NotKept,
    OutputForeign,
    OutputUnwritable,
    SettingError,
    StoreUnusable,
)
from shared.settings import Settings
from tests.api.backup.conftest import KEY, AtIt, SmallShop, contents

BackUp = Callable[..., Taken]


def jobs_are_whole(folder: Path, url: str | None = None) -> int:
    """Look at every job of a shop that was brought back; return how many recordings had ended."""
    database = Database(database_url(folder, url))
    migrate(database)  # as the server does when it starts
    ended, known = 0, set()
    with database.reading() as session:
        for job in jobs_in(session):
            chain = chain_of(session, job.id)
            assert first_break(chain) is None
            known |= {folder / one.folder for one in job.recordings}
            sums = [link.payload for link in chain if link.kind == "recording_ended"]
            for one in job.recordings:
                if one.ended_at is not None:
                    # The sound that the chain speaks of, to the last sample.
                    found = sound_sum(folder / one.folder).sound_sha256
                    assert found is not None
                    assert found == sums[one.number - 1]["sound_sha256"]
                    assert (folder / one.folder / HEARD_JOURNAL).exists()
                    assert (folder / "jobs" / job.id / "pictures" / "seat.jpg").exists()
                    ended += 1
    database.close()
    # And no sound of what the database does not know of yet: a new recording would be mixed with it.
    assert {path.parent for path in folder.rglob(SOUND_JOURNAL)} <= known
    return ended


def test_backups_taken_while_somebody_works_are_each_of_one_moment(
    shop: SmallShop, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    at_it = AtIt(shop)

    def copied_then_work_goes_on(url: str, to: Path) -> Copied:
        found = copy_database(url, to)
        at_it.wait_for(2)  # jobs that the copy does not know, and sound that it has no end of
        return found

    monkeypatch.setattr(taking, "copy_database", copied_then_work_goes_on)
    to, done = tmp_path / "backups", []
    for _ in range(3):
        done.append(shop.made)
        take_backup(shop.settings, shop.folder, to)
        at_it.wait_for(1)
    at_it.stop()
    full = shop.growing.resume_at_sample
    shop.close()
    ended = []
    for number, name in enumerate(names_in(to)):
        folder = tmp_path / f"back-{number}"
        restore(Settings(), to, folder, name)
        ended.append(jobs_are_whole(folder))
        # What was in the midst of being recorded can be gone on with.
        (place,) = {path.parent for path in folder.rglob(SOUND_JOURNAL)} - {
            path.parent for path in folder.rglob(HEARD_JOURNAL)
        }
        journal = SoundJournal.open(place / SOUND_JOURNAL)
        assert 0 < journal.resume_at_sample < full
        journal.abandon()
    assert all(before <= found for before, found in zip(done, ended, strict=True))
    assert ended == sorted(set(ended))
    assert ended[-1] < shop.made


def test_what_comes_back_is_what_was_there_to_the_byte(
    shop: SmallShop, back_up: BackUp, tmp_path: Path
) -> None:
    taken = back_up()
    restore(Settings(), tmp_path / "backups", tmp_path / "back")
    assert contents(tmp_path / "back") == contents(shop.folder)
    assert (tmp_path / "back" / "signing-key.pem").read_bytes() == KEY
    assert (tmp_path / "back" / "signing-key.pem").stat().st_mode & 0o777 == 0o600
    assert (tmp_path / "backups").stat().st_mode & 0o777 == 0o700
    assert (taken.manifest.jobs, taken.manifest.revisions) == (2, 1)
    assert jobs_are_whole(tmp_path / "back") == 1
    assert [path.name for path in tmp_path.iterdir() if path.name.startswith(".")] == []


def test_what_did_not_change_is_neither_read_nor_kept_again(
    shop: SmallShop, back_up: BackUp, monkeypatch: pytest.MonkeyPatch
) -> None:
    back_up()
    read: list[str] = []
    put = Chest.put
    monkeypatch.setattr(Chest, "put", lambda chest, path: read.append(path.name) or put(chest, path))
    (shop.folder / "tls" / "authority.pem").write_text("another certificate")
    second = back_up()
    assert read == ["database", "authority.pem"]
    assert second.new_bytes == second.manifest.database.bytes + len("another certificate")


def test_only_the_newest_stay_and_what_no_backup_has_any_more_goes(
    shop: SmallShop, back_up: BackUp, tmp_path: Path
) -> None:
    secret = shop.folder / "notice.txt"
    secret.write_text("only in the first")
    first = back_up()
    secret.unlink()
    back_up()
    third = back_up(keep=2)
    assert third.dropped == (first.manifest.name,)
    to = tmp_path / "backups"
    assert len(names_in(to)) == 2
    kept = {path.name for path in (to / "objects").rglob("*") if path.is_file()}
    assert kept == {digest for name in names_in(to) for digest in read_manifest(to, name).hashes}
    assert not any(b"only in the first" in path.read_bytes() for path in (to / "objects").glob("*/*"))
    check_backup(to, names_in(to)[0])


def damage_content(to: Path, manifest: Manifest) -> None:
    path = next(path for path in (to / "objects").glob("*/*") if path.name == manifest.files[-1].sha256)
    data = bytearray(path.read_bytes())
    data[len(data) // 2] ^= 1
    path.write_bytes(data)


def lose_content(to: Path, manifest: Manifest) -> None:
    (to / "objects" / manifest.database.sha256[:2] / manifest.database.sha256).unlink()


def cut_manifest(to: Path, manifest: Manifest) -> None:
    path = to / "manifests" / f"{manifest.name}.json"
    path.write_bytes(path.read_bytes()[:-20])


def lead_manifest_out(to: Path, manifest: Manifest) -> None:
    path = to / "manifests" / f"{manifest.name}.json"
    told = json.loads(path.read_text())
    told["files"][0]["path"] = "../outside"
    path.write_text(json.dumps(told))


@pytest.mark.parametrize("damage", [damage_content, lose_content, cut_manifest, lead_manifest_out])
def test_a_backup_that_is_not_whole_is_told_and_brings_nothing_back(
    damage: Callable[[Path, Manifest], None], back_up: BackUp, tmp_path: Path
) -> None:
    to = tmp_path / "backups"
    damage(to, back_up().manifest)
    with pytest.raises(BackupDamaged):
        check_backup(to)
    with pytest.raises(BackupDamaged):
        restore(Settings(), to, tmp_path / "back")
    assert not (tmp_path / "back").exists()
    assert [path.name for path in tmp_path.iterdir() if path.name.startswith(".")] == []


@pytest.mark.parametrize(
    "change",
    [
        "UPDATE job_events SET by = 'Somebody Else' WHERE number = 2",
        "DELETE FROM job_events WHERE number = 2",
        "UPDATE revisions SET signed = x'00'",
    ],
)
def test_a_shop_that_is_not_whole_is_told_before_older_backups_are_given_up(
    change: str, shop: SmallShop, back_up: BackUp, tmp_path: Path
) -> None:
    back_up()
    with shop.database.writing() as session:
        session.execute(text(change))
    with pytest.raises(BackupDamaged):
        back_up(keep=1)
    assert len(names_in(tmp_path / "backups")) == 1
    check_backup(tmp_path / "backups")


def test_a_full_disk_leaves_the_earlier_backups_whole(
    shop: SmallShop, back_up: BackUp, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    back_up()
    with monkeypatch.context() as patch:

        def full(handle: int) -> None:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

        patch.setattr(os, "fsync", full)
        with pytest.raises(OutputUnwritable, match="No space left"):
            back_up()
    to = tmp_path / "backups"
    assert len(names_in(to)) == 1
    check_backup(to)
    assert not list(to.glob("objects/.taking-*"))
    back_up()


def test_folders_that_are_another_s_are_left_alone(shop: SmallShop, back_up: BackUp, tmp_path: Path) -> None:
    back_up()
    to = tmp_path / "backups"
    other = tmp_path / "other"
    other.mkdir()
    (other / "letter.txt").write_text("mine")
    for take in (
        lambda: take_backup(shop.settings, shop.folder, other),
        lambda: take_backup(shop.settings, other, tmp_path / "new"),
        lambda: take_backup(shop.settings, shop.folder, shop.folder / "backups"),
        lambda: restore(Settings(), to, other),
        lambda: restore(Settings(), other, tmp_path / "new"),
    ):
        with pytest.raises(OutputForeign):
            take()
    assert [path.name for path in other.iterdir()] == ["letter.txt"]
    with pytest.raises(NotKept):
        restore(Settings(), to, tmp_path / "new", "20200101T000000Z")
    with pytest.raises(SettingError):
        restore(Settings(database_url="postgresql://localhost/x"), to, tmp_path / "new")


def test_the_commands_say_what_they_did(
    shop: SmallShop, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    to = str(tmp_path / "backups")
    assert run(["backup", "--to", to, "--data", str(shop.folder), "--json"]) == 0
    taken = json.loads(capsys.readouterr().out)
    assert (taken["jobs"], taken["signed"], taken["given_up"]) == (2, 1, [])
    assert run(["backup", "--to", to, "--check"]) == 0
    assert capsys.readouterr().out.startswith(f"{taken['taken']}: 2 jobs, 1 signed records, ")
    assert run(["restore", "--from", to, "--data", str(tmp_path / "back"), "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["files"] == taken["files"]
    assert run(["restore", "--from", to, "--data", str(tmp_path / "back")]) == 2
    assert "[output-foreign]" in capsys.readouterr().err


def test_a_shop_on_postgresql_comes_back_with_its_media(
    postgresql_url: str, postgresql: object, tmp_path: Path
) -> None:
    shop = SmallShop(tmp_path / "shop", postgresql_url)
    shop.work()
    at_it = AtIt(shop)
    to = tmp_path / "backups"
    taken = take_backup(shop.settings, shop.folder, to)
    at_it.wait_for(1)
    at_it.stop()
    shop.close()
    assert taken.manifest.database.kind == "postgresql"
    check_backup(to)
    with pytest.raises(StoreUnusable, match="not empty"):
        restore(shop.settings, to, tmp_path / "back")
    with pytest.raises(SettingError):
        restore(Settings(), to, tmp_path / "back")
    empty = postgresql.make("brought_back")  # type: ignore[attr-defined]
    restore(Settings(database_url=empty), to, tmp_path / "back")
    assert jobs_are_whole(tmp_path / "back", empty) == taken.manifest.revisions
