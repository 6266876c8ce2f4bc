"""All benches of the shop that are at work now: which recording each makes, and who looks on."""

from __future__ import annotations

import logging
import threading
from collections.abc import Callable
from contextlib import closing
from dataclasses import dataclass, field, replace
from functools import partial
from typing import Literal, NamedTuple

from api.live.bench_facts import AFTER_ALL, Place
from api.live.bench_people import note_joined
from api.live.bench_recording import BenchRecording, Message
from api.live.ear_process import EarWork, Ended, Failed, Heard, HeardTo, Ready
from api.live.early_reading import Early
from api.live.face_pairs import pair_notes
from api.live.frames import FRAME_SAMPLES
from api.live.gauges_used import note_gauges_said
from api.live.kept_said import kept_said
from api.live.picture_desk import PictureDesk, wanted_by
from api.live.pictures_asked import PictureAsked
from api.live.presses import Press, Said
from api.live.redrafting import draft_with_pictures, job_as_known
from api.live.senders import Senders
from api.live.server_listening import MicrophoneHeard, ServerListening
from api.operation.log_lines import log_event
from api.operation.measures import counts_of
from api.people.notice import present_notice
from api.people.sound_sum import sound_sum
from api.store.consents import check_agreed
from api.store.drafts import keep_draft
from api.store.job_events import Kind, note
from api.store.jobs import begin_recording, job_of
from api.store.sheets import sheet_from
from api.store.tables import BenchJob, Recording
from api.store.web_sessions import SignedIn
from api.web.shop import Shop
from capture.microphone_process import MicrophoneProcess
from capture.server_camera import bench_source
from capture.sound_blocks import RATE_HZ
from shared.errors import MicrophoneFailed, StoreError
from shared.photo import Photo
from shared.record import RebuildRecord

_LOG = logging.getLogger(__name__)

Onlooker = Callable[[Message | HeardTo | Early | MicrophoneHeard], None]
"""Told what the ear of a job says; called from other threads."""


class Load(NamedTuple):
    """How much the benches have to do."""

    at_work: int
    waiting_s: float
    """Seconds of sound, of all of them together."""
    failed: int
    """Recordings whose ear gave up."""


@dataclass
class AtWork:
    """A job whose recording is being made."""

    recording: BenchRecording
    number: int
    account_id: int
    """Who listens now, and agreed to it."""
    onlookers: list[Onlooker] = field(default_factory=list)
    microphone: ServerListening | None = None
    """The server's, where it is this that listens."""
    done: threading.Event = field(default_factory=threading.Event)
    """Set once the ear has heard everything and its record is kept."""


class Desk:
    """The benches at work; thread-safe."""

    def __init__(self, shop: Shop) -> None:
        self._shop = shop
        self._lock = threading.RLock()
        self._at_work: dict[str, AtWork] = {}
        self.pictures = PictureDesk(shop, self._see, self._moment)
        """What the benches' cameras take."""
        self.senders = Senders()
        """Which browser sends the sound of each job."""

    def at_work(self, job_id: str) -> AtWork | None:
        """Return the recording that a job is making now, or None."""
        with self._lock:
            return self._at_work.get(job_id)

    def listen(
        self, job_id: str, who: SignedIn, settings: dict[str, object], *, by_server: bool = False
    ) -> AtWork:
        """Return the recording that a job is making; go on with one that a crash left, or begin another.

        Args:
            job_id: of the job.
            who: is signed in at the bench.
            settings: of the microphone, as the browser says.
            by_server: the microphone at the server listens, and not the browser's.

        Raises:
            ConsentMissing: he did not agree to be recorded.
            NotKept: no such job.
            OutOfTurn: it was handed over or signed.
            MicrophoneFailed: its bench has no microphone at the server, or that cannot be used.
        """
        notice = present_notice(self._shop.folder, self._shop.settings)
        with self._shop.database.reading() as session:
            check_agreed(session, who.account.id, notice.sha256)
        if by_server:
            found = self._by_server(job_id, who)
        else:
            self._stop_microphone(job_id)
            found = self._take_up(job_id, who, settings)
        with self._shop.database.writing() as session:
            note_joined(session, job_id, who.account, self.place_of(job_id), self._shop.now())
        return found

    def microphone_of(self, job_id: str) -> str | None:
        """Return the server's microphone at the bench of a job, None where its browser listens."""
        if not self._shop.settings.bench_microphone:
            return None
        with self._shop.database.reading() as session:
            return bench_source(self._shop.settings.bench_microphone, job_of(session, job_id).bench)

    def _by_server(self, job_id: str, who: SignedIn) -> AtWork:
        """Have the server's microphone listen; one that does so already is not opened twice: it is in use."""
        found = self.at_work(job_id)
        if found is not None and found.microphone is not None and found.microphone.listens:
            return self._take_up(job_id, who, {})
        source = self.microphone_of(job_id)
        if source is None:
            raise MicrophoneFailed("this bench has no microphone at the server", remedy="use this browser's")
        with closing(MicrophoneProcess(source)) as microphone:
            settings = microphone.settings
        found = self._take_up(job_id, who, settings, source="server_microphone")
        self._listen_by_server(job_id, found, source)
        return found

    def _stop_microphone(self, job_id: str) -> None:
        """Have the server's microphone listen no more: a browser's own does from now on."""
        with self._lock:
            found = self._at_work.get(job_id)
            before = None if found is None else found.microphone
            if found is not None:
                found.microphone = None
        if before is not None:
            before.close()

    def _listen_by_server(self, job_id: str, found: AtWork, source: str) -> None:
        with self._lock:
            if found.microphone is None or not found.microphone.listens:
                tell = partial(self._tell, job_id)
                found.microphone = ServerListening(source, found.recording, tell)
                found.microphone.start()

    def _tell(self, job_id: str, heard: MicrophoneHeard) -> None:
        with self._lock:
            onlookers = list(self._at_work[job_id].onlookers)
        for onlooker in onlookers:
            onlooker(heard)

    def load(self) -> Load:
        """Return how much the benches have to do now."""
        with self._lock:
            working = [one.recording for one in self._at_work.values() if not one.done.is_set()]
        failed = sum(isinstance(one.latest, Failed) for one in working)
        return Load(len(working), sum(one.waiting_s for one in working), failed)

    def place_of(self, job_id: str) -> Place:
        """Return where in its sound a job is now: nothing said later belongs to what happened before."""
        found = self.at_work(job_id)
        if found is not None and not found.done.is_set():
            return Place(found.number, found.recording.next_frame * FRAME_SAMPLES / RATE_HZ)
        with self._shop.database.reading() as session:
            made = len(job_of(session, job_id).recordings)
        return Place(made, AFTER_ALL if made else 0.0)

    def hear_again(self, job_id: str) -> bool:
        """Have another ear hear a job whose ear gave up; return whether it had."""
        found = self.at_work(job_id)
        return found is not None and found.recording.hear_again()

    def _take_up(
        self,
        job_id: str,
        who: SignedIn,
        settings: dict[str, object],
        source: Literal["browser", "server_microphone"] = "browser",
    ) -> AtWork:
        with self._lock:
            found = self._at_work.get(job_id)
            if found is not None and not found.done.is_set():
                found.account_id = who.account.id
                return found
            with self._shop.database.writing() as session:
                job = job_of(session, job_id)
                left = next((one for one in job.recordings if one.ended_at is None), None)
                row = left or begin_recording(
                    session,
                    job,
                    by=who.account,
                    source=source,
                    settings=dict(settings),
                    now=self._shop.now(),
                )
                work = self._work_of(job, row, who)
                folder, number = self._shop.folder / row.folder, row.number
            took = self._shop.measures.took
            recording = BenchRecording(folder, work, lambda message: self._heard(job_id, message), took)
            begun = AtWork(recording, number, who.account.id)
            self._at_work[job_id] = begun
            return begun

    def end(self, job_id: str, who: SignedIn) -> AtWork | None:
        """Say that no more sound of a job comes; what the ear still has to hear it hears.

        A recording that a crash left is taken up first: what it holds belongs to the record.
        """
        found = self.at_work(job_id)
        if found is None and self._was_left(job_id):
            found = self._take_up(job_id, who, {})
        if found is not None:
            found.recording.end()
            found.recording.hear_again()  # what an ear that gave up left, a new one hears
        return found

    def end_of(self, account_id: int) -> None:
        """End the recordings of somebody who takes his consent back; what was said before is heard."""
        with self._lock:
            his = [one for one in self._at_work.values() if one.account_id == account_id]
        for one in his:
            one.recording.end()

    def press(self, job_id: str, who: SignedIn, press: Press) -> bool:
        """Pass on a button or key pressed at a bench; tell whether a recording takes it.

        Raises:
            NotKept: no such job.
        """
        found = self.at_work(job_id)
        if found is None or not found.recording.press(replace(press, by=who.account.name)):
            return False
        with self._shop.database.writing() as session:
            payload = {"order": press.order, "about": press.about, "words": press.words}
            kind: Kind = "question_answered" if press.order == "answer" else "pressed"
            note(session, job_id, kind, payload, by=who.account, now=self._shop.now())
        return True

    def look_on(self, job_id: str, onlooker: Onlooker) -> Callable[[], None]:
        """Have somebody told what the ear of a job says; return what ends it."""
        with self._lock:
            found = self._at_work[job_id]
            found.onlookers.append(onlooker)

        def leave() -> None:
            with self._lock:
                if onlooker in found.onlookers:
                    found.onlookers.remove(onlooker)

        return leave

    def close(self) -> None:
        """Stop all recordings as a crash would; each is gone on with when its bench comes back."""
        with self._lock:
            working = [one for one in self._at_work.values() if not one.done.is_set()]
            heard_here = [one.microphone for one in self._at_work.values() if one.microphone is not None]
        for microphone in heard_here:
            microphone.close()
        for one in working:
            one.recording.abandon()

    def _see(self, job_id: str, photo: Photo) -> None:
        """Show a new picture to the ear of its job."""
        found = self.at_work(job_id)
        if found is not None:
            found.recording.see(photo)

    def _moment(self, job_id: str) -> tuple[str, float | None]:
        """Return the recording that a job makes now and the second of it; none where nobody listens."""
        found = self.at_work(job_id)
        if found is None or found.done.is_set():
            return "", None
        return f"{found.number:03d}", found.recording.next_frame * FRAME_SAMPLES / RATE_HZ

    def complete(self, job_id: str, who: SignedIn) -> None:
        """See that the record of a job has all of its pictures, also those of after its last recording."""
        draft_with_pictures(self._shop, job_id, self.pictures.photos(job_id), who.account)

    def _was_left(self, job_id: str) -> bool:
        with self._shop.database.reading() as session:
            return any(one.ended_at is None for one in job_of(session, job_id).recordings)

    def _heard(self, job_id: str, message: Message | PictureAsked | HeardTo | Early) -> None:
        if isinstance(message, PictureAsked):
            found = self.at_work(job_id)
            if found is not None:
                self.pictures.ask(job_id, wanted_by(message), found.account_id)
            return
        with self._lock:
            found = self._at_work.get(job_id)
            onlookers = list(found.onlookers) if found else []
        if isinstance(message, Ended) and found is not None:
            try:
                self._keep(job_id, found.number, message)
                found.done.set()
            except StoreError as exc:
                # Another ear comes to the same, quickly: what was heard is in its journal.
                message = found.recording.latest = Failed(f"what was heard could not be kept: {exc}")
                _LOG.warning("record_not_kept", exc_info=exc)
        if found is not None:
            self._measure(job_id, found, message)
        for onlooker in onlookers:
            onlooker(message)

    def _measure(self, job_id: str, found: AtWork, message: Message | HeardTo | Early) -> None:
        """Count what the ear of a job said, and write down what is rare."""
        measures = self._shop.measures
        if isinstance(message, Heard) and message.spent is not None:
            measures.took("hearing", message.spent.hearing)
            measures.took("reading", message.spent.reading)
            told_s = found.recording.since_came(message.ended_s)
            if told_s is not None:
                measures.took("telling", told_s)
        elif isinstance(message, Ready):
            engine = message.engine.partition(",")[0]
            measures.ear_ready(engine)
            log_event(_LOG, logging.INFO, "ear_ready", job=job_id, recording=found.number, engine=engine)
        elif isinstance(message, Failed):
            measures.ear_failed()
            log_event(_LOG, logging.WARNING, "ear_gave_up", job=job_id, recording=found.number)

    def _keep(self, job_id: str, number: int, ended: Ended) -> None:
        record = RebuildRecord.model_validate_json(ended.record)
        with self._shop.database.reading() as session:
            sheet = sheet_from(job_of(session, job_id).sheet)
            row = next(one for one in job_of(session, job_id).recordings if one.number == number)
        record.notes += pair_notes(self._shop.folder / "jobs" / job_id, sheet, record)
        # What is signed later names the sound that it was heard from.
        payload = {"recording": number, **sound_sum(self._shop.folder / row.folder).payload()}
        with self._shop.database.writing() as session:
            job, now = job_of(session, job_id), self._shop.now()
            row = next(one for one in job.recordings if one.number == number)
            row.ended_at = now
            note(session, job_id, "recording_ended", payload, by=None, now=now)
            note_gauges_said(session, job_id, record, sheet_from(job.sheet), now)
            keep_draft(session, job, record, rules_sha256=ended.rules_sha256, now=now)
        counts = counts_of(record, f"{number:03d}")
        engine = next((one.evidence.engine for one in record.readings if one.evidence.engine), "none")
        self._shop.measures.recorded(engine.partition(",")[0], counts)
        log_event(_LOG, logging.INFO, "recording_ended", job=job_id, recording=number, **counts)

    def _work_of(self, job: BenchJob, row: Recording, who: SignedIn) -> EarWork:
        sheet = sheet_from(job.sheet)
        settings = self._shop.settings
        return EarWork(
            folder=self._shop.folder / row.folder,
            sheet=sheet,
            job=job_as_known(job, who.account.shown_name),
            engine=settings.engine,
            model=settings.model,
            settings=settings,
            earlier=self._earlier(job, row),
            saved_samples=0,
            photos=self.pictures.photos(job.id),
        )

    def _earlier(self, job: BenchJob, row: Recording) -> tuple[Said, ...]:
        """Return what was kept of the job's recordings before one: a job over two shifts is one record."""
        kept: list[Said] = []
        for one in job.recordings:
            if one.number < row.number:
                kept += kept_said(self._shop.folder / one.folder)
        return tuple(kept)
