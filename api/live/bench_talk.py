"""The talk of one job at a bench: read, and answered; what the board shows of it."""

from __future__ import annotations

from collections.abc import Sequence

from api.live.answers import Answer, Outcome, answer_to
from api.live.bench_orders import Order, order_in
from api.live.board import Board, board_of, last_line
from api.live.cautions import Cautions
from api.live.closing_up import ClosingUp, wanted_before
from api.live.presses import Press, Said
from api.live.questions_put import QuestionPut, question_put
from api.record_making import new_builder
from extract.answering import Asked
from extract.asked_choices import choices_of
from extract.heard import Heard
from extract.observer import Observer
from extract.record_builder import RecordBuilder
from shared.job_sheet import JobSheet
from shared.photo import Photo
from shared.record import Entry, Job, RebuildRecord
from shared.settings import Settings
from shared.speech import Utterance


class _Pieces(Observer):
    """Keeps what was read of the last utterance, outside pauses."""

    def __init__(self) -> None:
        self.of_last: list[Heard] = []

    def heard(self, heard: Heard, paused: bool) -> None:
        """Keep a piece."""
        if not paused:
            self.of_last.append(heard)


class BenchTalk:
    """What is said and pressed at one job.

    Args:
        sheet: of the job.
        job: what is known of it.
        settings: of the shop.
    """

    def __init__(self, sheet: JobSheet, job: Job, settings: Settings) -> None:
        self._sheet = sheet
        self._pieces = _Pieces()
        self._builder: RecordBuilder = new_builder(sheet, job, settings, self._pieces, asks=True)
        self._cautions = Cautions(sheet)
        self._closing = ClosingUp()
        self._put = ""
        """Id of the entry whose question was put last."""
        self._record: RebuildRecord | None = None

    def replay(self, said: Said) -> None:
        """Take in what was said or pressed before; nobody is answered."""
        self._take_in(said)

    def hear(self, said: Said) -> Answer:
        """Take in what was said or pressed now; return what is answered."""
        before, put = self.record(), self._put
        changed, order, warn, cautions = self._take_in(said)
        asked = self._builder.asked()
        return answer_to(
            Outcome(
                sheet=self._sheet,
                before=before,
                record=self.record(),
                pieces=self._pieces.of_last,
                changed=changed,
                order=order,
                warn=warn,
                asked=question_put(asked, self._sheet) if asked is not None and self._put != put else None,
                cautions=cautions,
            )
        )

    def _take_in(self, said: Said) -> tuple[Sequence[Entry], Order | None, bool, list[str]]:
        """Return the entries changed, what it told the tool, whether to warn, and the cautions brought up."""
        self._pieces.of_last = []
        if said.about:
            self._builder.ask(said.about)
        changed = self._builder.hear(said.utterance)
        self._record = None
        asked = self._builder.asked()
        self._put = asked.entry.id if asked is not None else ""
        order = order_in(self._pieces.of_last)
        warn = order == "closing" and self._closing.begin(wanted_before(self.record(), self._sheet))
        if order == "opened":
            self._closing.end()
        of_job = self._builder.talk_of(-1) == "job"
        return changed, order, warn, self._cautions.hear(self._pieces.of_last) if of_job else []

    def refuses(self, press: Press) -> Answer | None:
        """Return why a press is not taken, or None: it was meant for what its screen showed."""
        if press.order == "strike":
            last = last_line(self.record(), self._sheet)
            if last is None or last.id != press.about:
                return Answer(tone="ask", title="Not struck", rows=["the last entry is another one now"])
        if press.order == "answer" and not any(
            question.about == press.about and question.answered_by is None
            for question in self.record().questions
        ):
            return Answer(tone="ask", title="Not answered", rows=["this question is open no more"])
        return None

    def see(self, photo: Photo) -> None:
        """Take a picture of the job into the record."""
        self._builder.see(photo)
        self._record = None

    def kept(self) -> Utterance:
        """Return what may be kept of the last utterance."""
        return self._builder.kept(-1)

    def record(self) -> RebuildRecord:
        """Return the record so far."""
        if self._record is None:
            self._record = self._builder.record()
        return self._record

    def board(self) -> Board:
        """Return the board as it stands."""
        record = self.record()
        wanted = wanted_before(record, self._sheet) if self._closing.on else None
        return board_of(record, self._sheet).model_copy(
            update={
                "put": self._question(record),
                "cautions": self._cautions.lines(),
                "closing": None if wanted is None else [row.text for row in wanted],
            }
        )

    def _question(self, record: RebuildRecord) -> QuestionPut | None:
        """Return the question that is put now, or the latest open one that a press may answer."""
        asked = self._builder.asked()
        if asked is not None:
            return question_put(asked, self._sheet)
        unsure = {entry.id: entry for entry in record.entries() if entry.standing and entry.needs_review}
        for question in reversed(record.questions):
            entry = unsure.get(question.about or "")
            choices = choices_of(self._sheet, entry) if entry is not None else None
            if entry is not None and choices is not None and choices.offered:
                return question_put(Asked(entry, choices), self._sheet).model_copy(update={"now": False})
        return None
