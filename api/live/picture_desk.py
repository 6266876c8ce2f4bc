"""Pictures of the shop's benches: asked for, taken, judged at once, kept, told to whoever looks on.

What is asked for stays asked for until it is taken, so that a browser that comes later can still take it.
"""

from __future__ import annotations

import hashlib
import threading
import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace

from api.inspection_folder import jpeg
from api.live.picture_files import PictureFiles
from api.live.picture_words import Judged, choices_of, judged_words
from api.live.pictures_asked import PictureAsked
from api.store.accounts import account_of
from api.store.job_pictures import PictureRow, Source, keep_picture_row, picture_rows
from api.store.jobs import job_of
from api.store.sheets import sheet_from
from api.store.tables import Account, BenchJob
from api.web.shop import Shop
from capture.burst import sharpest
from capture.picture_quality import Picture
from capture.pictures import read_picture_bytes
from capture.server_camera import bench_source, burst_of
from shared.errors import (
    CameraFailed,
    OutOfTurn,
    PictureError,
    PictureNotFound,
    PictureUnreadable,
    RebuildError,
)
from shared.job_sheet import JobSheet
from shared.photo import Photo
from shared.record import Stage

#: Pictures of a burst that are looked at, and bytes of each: what a phone's camera makes at its best.
MOST_PICTURES, MOST_PICTURE_BYTES = 8, 24 * 2**20
#: Seconds after which nobody waits for a picture any more that was asked for.
_WAITED_FOR_S = 600.0


@dataclass(frozen=True)
class PictureWanted:
    """A picture that is to be taken."""

    of: str | None
    stage: Stage = "either"
    asked: str | None = None
    """By which command; None where it was by hand."""
    recording: str = ""
    at_s: float | None = None
    """Seconds from that recording's beginning."""
    again: str | None = None
    """SHA-256 of the picture that it is taken again for."""
    trouble: str = ""
    """Why the server's camera did not take it, so that somebody has to."""


@dataclass(frozen=True)
class Taking:
    """The server's camera is taking a picture now."""

    wanted: PictureWanted


Told = PictureWanted | Taking | Judged
Onlooker = Callable[[Told], None]
"""Told what is asked for, what the server's camera takes and what was judged; called from other threads."""


def wanted_by(asked: PictureAsked) -> PictureWanted:
    """Return the picture that a command asks for."""
    return PictureWanted(asked.of, asked.stage, asked.asked, asked.recording, asked.at_s)


class PictureDesk:
    """All pictures of the benches; thread-safe.

    Args:
        shop: whose they are.
        see: is given each new picture of a job, for its ear.
        now: gives the recording that a job makes now and the second of it.
    """

    def __init__(
        self,
        shop: Shop,
        see: Callable[[str, Photo], None],
        now: Callable[[str], tuple[str, float | None]],
    ) -> None:
        self._shop, self._see, self._now = shop, see, now
        self._lock = threading.Lock()
        # One at a time: looking at a face takes a core and some memory, and the benches are heard meanwhile.
        self._looking = threading.Lock()
        self._onlookers: dict[str, list[Onlooker]] = {}
        self._wanted: dict[str, dict[str, tuple[float, PictureWanted]]] = {}

    def ask(self, job_id: str, wanted: PictureWanted, account_id: int) -> None:
        """Have a picture taken that somebody asked for aloud, by the server's camera where the bench has one.

        Args:
            job_id: of the job.
            wanted: what it is to show.
            account_id: of who is signed in at the bench.
        """
        assert wanted.asked is not None
        with self._lock:
            self._wanted.setdefault(job_id, {})[wanted.asked] = time.monotonic(), wanted
        if self.source(job_id) is None:
            self._tell(job_id, wanted)
        else:
            taking = threading.Thread(target=self._take_asked, args=(job_id, wanted, account_id), daemon=True)
            taking.start()

    def source(self, job_id: str) -> str | None:
        """Return the server's camera at the bench of a job, None where its browser takes the pictures."""
        if not self._shop.settings.bench_camera:
            return None
        with self._shop.database.reading() as session:
            return bench_source(self._shop.settings.bench_camera, job_of(session, job_id).bench)

    def take_by_server(self, job_id: str, wanted: PictureWanted, *, by: Account) -> Judged:
        """Take a picture with the server's camera, keep the sharpest of a burst and judge it.

        Raises:
            CameraFailed: there is none, or it gives no picture. Nothing is lost; a browser can take it.
            NotKept, OutOfTurn, PictureError, OutputUnwritable: as :meth:`take`.
        """
        source = self.source(job_id)
        if source is None:
            raise CameraFailed("this bench has no camera at the server", remedy="take it with the browser's")
        settled = self._settled(job_id, wanted, 0.0)
        self._tell(job_id, Taking(settled))
        return self.keep(job_id, settled, sharpest(burst_of(source)), by=by, source="server")

    def look_on(self, job_id: str, onlooker: Onlooker) -> Callable[[], None]:
        """Have somebody told of a job's pictures, first of those still to be taken; return what ends it."""
        with self._lock:
            self._onlookers.setdefault(job_id, []).append(onlooker)
            waiting = list(self._wanted.get(job_id, {}).values())
        for asked_at, wanted in waiting:
            if time.monotonic() - asked_at < _WAITED_FOR_S:
                onlooker(wanted)

        def leave() -> None:
            with self._lock:
                self._onlookers[job_id].remove(onlooker)

        return leave

    def take(
        self,
        job_id: str,
        wanted: PictureWanted,
        burst: Sequence[bytes],
        *,
        by: Account,
        source: Source,
        age_s: float = 0.0,
    ) -> Judged:
        """Keep the sharpest picture of a burst and judge it.

        Args:
            job_id: of the job.
            wanted: what it is to show; a command's own words win over what came in with the picture.
            burst: encoded pictures of one scene.
            by: who is signed in.
            source: what took them.
            age_s: seconds since they were taken; a browser without a line sends them late.

        Raises:
            NotKept: no such job.
            OutOfTurn: it was handed over or signed.
            PictureError: no picture among them, or a part that is not on the sheet.
            OutputUnwritable: the disk is full.
        """
        settled = self._settled(job_id, wanted, age_s)
        return self.keep(job_id, settled, sharpest(_decoded(burst)), by=by, source=source)

    def keep(
        self, job_id: str, wanted: PictureWanted, picture: Picture, *, by: Account, source: Source
    ) -> Judged:
        """Keep a picture and judge it; see :meth:`take`."""
        with self._shop.database.reading() as session:
            job = _open_job(job_of(session, job_id))
            sheet = sheet_from(job.sheet)
            taken = picture_rows(session, job_id)
        files = PictureFiles(self._shop.folder / "jobs" / job_id, sheet)
        answered = next((one for one in taken if wanted.asked and one.asked == wanted.asked), None)
        if answered is not None and wanted.again is None:
            first = judged_words(answered, files.judgement(answered))
            if first.usable:
                return first  # Another camera of this bench was quicker.
        data = jpeg(picture)
        row = _row(wanted, sheet, hashlib.sha256(data).hexdigest(), source)
        files.keep(data, row)
        with self._shop.database.writing() as session:
            job, taken = _open_job(job_of(session, job_id)), picture_rows(session, job_id)
            twice = next((one for one in taken if one.shows_as(row)), None)
            if twice is None:
                row = _placed(row, taken, files)
                keep_picture_row(session, job.id, row, by=by, now=self._shop.now())
        row = twice or row
        with self._looking:
            judged = judged_words(row, files.judgement(row))
            photo = files.photo(row)
        self._see(job_id, photo)
        with self._lock:
            self._wanted.get(job_id, {}).pop(wanted.asked or "", None)
        self._tell(job_id, judged)
        return judged

    def photos(self, job_id: str) -> tuple[Photo, ...]:
        """Return the pictures of a job that are kept, in the order in which they were taken."""
        with self._shop.database.reading() as session:
            rows, sheet = picture_rows(session, job_id), sheet_from(job_of(session, job_id).sheet)
        files = PictureFiles(self._shop.folder / "jobs" / job_id, sheet)
        with self._looking:
            return tuple(files.photo(row) for row in rows)

    def _take_asked(self, job_id: str, wanted: PictureWanted, account_id: int) -> None:
        try:
            with self._shop.database.reading() as session:
                by = account_of(session, account_id)
            self.take_by_server(job_id, wanted, by=by)
        except RebuildError as exc:
            # Still wanted: a browser of the bench is asked instead, and told why.
            self._tell(job_id, replace(wanted, trouble=str(exc)))

    def _settled(self, job_id: str, wanted: PictureWanted, age_s: float) -> PictureWanted:
        """Return what a picture is to show, as the command has it that it was asked for by."""
        with self._lock:
            _, asked = self._wanted.get(job_id, {}).get(wanted.asked or "", (0.0, None))
        if asked is not None:
            return replace(asked, again=wanted.again)
        with self._shop.database.reading() as session:
            sheet = sheet_from(job_of(session, job_id).sheet)
        known = wanted.of is None or wanted.of in {choice.of for choice in choices_of(sheet)}
        # Taken again may be, by hand, what was asked for aloud of a part that the sheet does not know.
        if not known and wanted.again is None:
            raise PictureNotFound("the sheet has no such part", expected="a part or photo of the job's sheet")
        recording, at_s = self._now(job_id)
        at_s = None if at_s is None else max(0.0, at_s - age_s)
        return replace(wanted, recording=recording, at_s=at_s)

    def _tell(self, job_id: str, message: Told) -> None:
        with self._lock:
            onlookers = list(self._onlookers.get(job_id, []))
        for onlooker in onlookers:
            onlooker(message)


def _decoded(burst: Sequence[bytes]) -> Iterator[Picture]:
    """Yield the pictures of a burst; one that is none is passed over, unless all are."""
    refused: PictureError | None = None
    good = False
    for number, data in enumerate(burst[:MOST_PICTURES], 1):
        if len(data) > MOST_PICTURE_BYTES:
            refused = PictureUnreadable(
                f"it has {len(data) / 2**20:.0f} MB", where=f"picture {number}",
                expected=f"at most {MOST_PICTURE_BYTES >> 20} MB",
            )  # fmt: skip
            continue
        try:
            picture = read_picture_bytes(data, f"picture {number}").picture
        except PictureError as exc:
            refused = exc
            continue
        good = True
        yield picture
    if refused is not None and not good:
        raise refused


def _row(wanted: PictureWanted, sheet: JobSheet, sha256: str, source: Source) -> PictureRow:
    """Return the row of a picture; the stage is the sheet's where only one is wanted and none was said."""
    stages = {photo.stage for photo in sheet.photos if photo.of == wanted.of}
    stage = stages.pop() if wanted.stage == "either" and len(stages) == 1 else wanted.stage
    at_s = None if wanted.at_s is None else round(wanted.at_s, 1)
    return PictureRow(sha256, wanted.of, stage, wanted.recording, at_s, wanted.asked, wanted.again, source)


def _placed(row: PictureRow, earlier: Sequence[PictureRow], files: PictureFiles) -> PictureRow:
    """Return a row that names the picture whose place it takes: the one said, or one that nobody can use.

    Raises:
        PictureNotFound: the one said is not there, is of another part, or was taken again already.
    """
    replaced = {one.replaces for one in earlier}
    alike = [
        one for one in earlier if (one.of, one.stage) == (row.of, row.stage) and one.sha256 not in replaced
    ]
    if row.replaces is not None:
        if row.replaces not in {one.sha256 for one in alike}:
            raise PictureNotFound("the picture to be taken again is not there, or was taken again already")
        return row
    if not alike or row.of is None or judged_words(alike[-1], files.judgement(alike[-1])).usable:
        return row
    return replace(row, replaces=alike[-1].sha256)


def _open_job(job: BenchJob) -> BenchJob:
    if job.state not in ("open", "returned"):
        raise OutOfTurn(
            f"work order {job.work_order} is {job.state.replace('_', ' ')}",
            expected="a job that is open", remedy="the reviewer can return it to the bench",
        )  # fmt: skip
    return job
