"""What early words would come to, read by a copy of a builder that knows what was kept; nothing stays."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from api.live.board import Line, line_of
from api.live.presses import Said
from api.record_making import new_builder
from extract.builder_copy import copied
from extract.record_builder import RecordBuilder
from shared.job_sheet import JobSheet
from shared.record import Entry, Job
from shared.settings import Settings
from shared.speech import Utterance


@dataclass(frozen=True)
class Early:
    """What the last phrases seem to come to, until the ear has heard them; never kept, never answered."""

    lines: tuple[Line, ...]
    """Provisional; empty where they come to nothing."""
    ended_s: float
    """Seconds of the recording up to which they were heard."""


class EarlyReading:
    """Reads ahead of the ear of one job.

    Args:
        sheet: of the job.
        job: what is known of it.
        settings: of the shop.
    """

    def __init__(self, sheet: JobSheet, job: Job, settings: Settings) -> None:
        self._sheet, self._job, self._settings = sheet, job, settings
        self._builder = self._new_builder()
        self._place_s = 0.0
        self._ahead: list[Utterance] = []

    def know(self, said: Sequence[Said], place_s: float, *, anew: bool = False) -> None:
        """Take in what the ear has heard.

        Args:
            said: next, as far as it was kept.
            place_s: up to where it has heard everything, seconds of the recording: early words that end
                before were heard or were nothing, however long that took; later ones wait for it.
            anew: it is everything from the beginning of the job.
        """
        if anew:
            self._builder = self._new_builder()
        for one in said:
            if one.about:
                self._builder.ask(one.about)
            self._builder.hear(one.utterance)
        self._place_s = place_s

    def read(self, utterance: Utterance) -> Early:
        """Return what early words seem to come to, with earlier ones that the ear has not heard yet."""
        # The same phrase heard up to an earlier pause gives way.
        ahead = [one for one in self._ahead if one.end_s > self._place_s and one.start_s != utterance.start_s]
        self._ahead = [*ahead, utterance]
        builder = copied(self._builder)
        found: dict[str, Entry] = {}
        for one in self._ahead:
            found |= {entry.id: entry for entry in builder.hear(one)}
        lines = [
            # Whether it is talk of the job at all is not sure yet: its words are not shown.
            line_of(entry, self._sheet, provisional=True).model_copy(update={"heard": ""})
            for entry in found.values()
            if entry.standing
        ]
        return Early(tuple(lines[::-1]), utterance.end_s)

    def _new_builder(self) -> RecordBuilder:
        return new_builder(self._sheet, self._job, self._settings, asks=True)
