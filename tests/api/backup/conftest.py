"""A small shop by hand, and somebody who goes on working in it while it is backed up."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from hashlib import sha256
from pathlib import Path

import numpy as np
import pytest

from api.backup.taking import Taken, take_backup
from api.data_folder import MARK
from api.listening import HEARD_JOURNAL, SOUND_JOURNAL
from api.people.sound_sum import sound_sum
from api.private_file import write_private
from api.signing.canonical import canonical_bytes
from api.store.accounts import make_account
from api.store.database import Database, database_url
from api.store.job_events import note
from api.store.jobs import begin_recording, open_job, turn_to
from api.store.revisions import keep_revision
from api.store.tables import Account
from capture.sound_journal import SoundJournal
from shared.job_sheet import load_job_sheet
from shared.settings import Settings
from tests.present_shape import lay_present_shape

SHEET = load_job_sheet("wash-water-end-suction")
KEY = b"not a real key, but nobody else's business"


class SmallShop:
    """A data folder with its database; jobs are made by one thread after another."""

    def __init__(self, folder: Path, url: str | None = None) -> None:
        self.folder, self.settings = folder, Settings(database_url=url)
        folder.mkdir()
        (folder / MARK).write_text("a shop")
        (folder / ".lock").write_text("")
        write_private(folder / "signing-key.pem", KEY)
        (folder / "tls").mkdir()
        (folder / "tls" / "authority.pem").write_text("a certificate")
        if url is None:
            lay_present_shape(folder)
        self.database = Database(database_url(folder, url))
        with self.database.writing() as session:
            self.worker: Account = make_account(
                session, name="worker", shown_name="Some Worker", roles=["technician"], secret=None, now=now()
            )
        self.made = 0
        self.growing = SoundJournal.create(self._begun("open") / SOUND_JOURNAL)

    def work(self) -> None:
        """Do a whole job: sound, a picture, a signed record; and another second of the one that goes on."""
        self.growing.append(noise(self.made, 1600))
        self.growing.sync()
        place = self._begun(f"WO {self.made}")
        (place / HEARD_JOURNAL).write_bytes(b"heard")
        with SoundJournal.create(place / SOUND_JOURNAL) as journal:
            journal.append(noise(self.made, 800))
        (place.parent / "pictures").mkdir()
        (place.parent / "pictures" / "seat.jpg").write_bytes(f"picture {self.made}".encode())
        signed = canonical_bytes({"record": self.made})
        with self.database.writing() as session:
            job = open_job(session, SHEET, work_order=f"WO {self.made}", by=self.worker, now=now())
            job.recordings[0].ended_at = now()
            payload = {"recording": 1, **sound_sum(place).payload()}
            note(session, job.id, "recording_ended", payload, by=None, now=now())
            turn_to(job, "handed_over", seen=job.turn)
            keep_revision(session, job, signed=signed, document=b"pdf", by=self.worker, now=now())
        self.made += 1

    def close(self) -> None:
        self.growing.abandon()
        self.database.close()

    def _begun(self, work_order: str) -> Path:
        with self.database.writing() as session:
            job = open_job(session, SHEET, work_order=work_order, by=self.worker, now=now())
            row = begin_recording(session, job, by=self.worker, source="browser", settings={}, now=now())
            place = self.folder / row.folder
        place.mkdir(parents=True)
        return place


class AtIt:
    """Somebody who works in a shop without a pause, in a thread of his own."""

    def __init__(self, shop: SmallShop) -> None:
        self._shop, self._stop, self.failed = shop, threading.Event(), None
        self._thread = threading.Thread(target=self._run)
        self._thread.start()

    def wait_for(self, more: int) -> None:
        """Wait until he has done so many more jobs."""
        wanted, give_up = self._shop.made + more, time.monotonic() + 60
        while self._shop.made < wanted:
            assert self.failed is None, self.failed
            assert time.monotonic() < give_up, "no job was done for a minute"
            self._stop.wait(0.01)

    def stop(self) -> None:
        self._stop.set()
        self._thread.join()
        assert self.failed is None, self.failed

    def _run(self) -> None:
        while not self._stop.is_set():
            try:
                self._shop.work()
            except Exception as exc:
                self.failed = exc
                return


def now() -> datetime:
    return datetime.now(UTC)


def noise(seed: int, samples: int) -> np.ndarray:
    return np.random.default_rng(seed).integers(-900, 900, samples, dtype=np.int16)


def contents(folder: Path) -> dict[str, str]:
    """SHA-256 of every file that counts, by its path."""
    return {
        path.relative_to(folder).as_posix(): sha256(path.read_bytes()).hexdigest()
        for path in folder.rglob("*")
        if path.is_file() and not path.name.startswith((".", "witnessmark.sqlite"))
    }


@pytest.fixture
def shop(tmp_path: Path) -> Iterator[SmallShop]:
    made = SmallShop(tmp_path / "shop")
    made.work()
    yield made
    made.close()


@pytest.fixture
def back_up(shop: SmallShop, tmp_path: Path) -> Callable[..., Taken]:
    return lambda **more: take_backup(shop.settings, shop.folder, tmp_path / "backups", **more)
