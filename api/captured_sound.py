"""The sound of a recording, through its journal: on disk before anything is done with it.

What the journal of earlier work holds comes from there; the recording gives the rest. Either way the
samples are the same, so whatever is made of them is the same too.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import asdict, dataclass
from pathlib import Path

from capture.sound import SoundReader
from capture.sound_blocks import Samples
from capture.sound_journal import SoundJournal, SoundMark, read_sound_journal
from shared.errors import JournalDamaged

_END_MARK = "end_of_recording"


@dataclass(frozen=True)
class SoundEnd:
    """What is known once all sound is in the journal; plain data, since it is written into it."""

    saved_s: float
    """Seconds of sound that were read, filled-in silence included."""
    cut: bool
    """The recording ends where nothing was meant to end."""
    said: str
    """How it ended, in one line."""
    damage_count: int
    """Stretches that hold silence in place of damaged sound."""
    damage: tuple[tuple[float, float], ...]
    """The first of them: start and end, seconds."""


class CapturedSound:
    """The blocks of one recording (int16, mono, 16 kHz), journalled as they pass.

    ``end`` is known once an iteration is through. A journal that the disk damaged is set aside beside
    itself and written anew: the recording is there to read it from again.
    """

    def __init__(self, recording: SoundReader, journal: Path) -> None:
        self._recording = recording
        self._journal = journal
        self.end: SoundEnd | None = None
        self.set_aside = _set_aside_if_damaged(journal)
        """Where a damaged journal was put, or None."""

    def __iter__(self) -> Iterator[Samples]:
        if self._journal.exists():
            reader = read_sound_journal(self._journal)
            yield from reader.blocks()
            if reader.tail.closed:
                self.end = _end_from(reader.marks)
                return
            journal = SoundJournal.open(self._journal)
        else:
            journal = SoundJournal.create(self._journal, {"recording": self._recording.path.name})
        with journal:
            for block in self._recording.blocks(from_sample=journal.resume_at_sample):
                journal.append(block)
                yield block
            self.end = self._end_of_recording()
            journal.mark(_END_MARK, **asdict(self.end))

    def _end_of_recording(self) -> SoundEnd:
        tail = self._recording.tail
        return SoundEnd(
            saved_s=tail.saved_s,
            cut=tail.state == "cut",
            said=str(tail),
            damage_count=self._recording.damage_count,
            damage=tuple((stretch.start_s, stretch.end_s) for stretch in self._recording.damage),
        )


def _set_aside_if_damaged(journal: Path) -> Path | None:
    if not journal.exists():
        return None
    try:
        reader = read_sound_journal(journal)
        for _ in reader:
            pass
        if reader.tail.state != "damaged":
            return None
    except JournalDamaged:
        pass  # Its very head: nothing can be read from it.
    return journal.replace(journal.with_name(f"{journal.name}.damaged"))


def _end_from(marks: list[SoundMark]) -> SoundEnd | None:
    for mark in reversed(marks):
        if mark.name == _END_MARK:
            details = dict(mark.details)
            details["damage"] = tuple((start, end) for start, end in details["damage"])
            return SoundEnd(**details)
    return None
