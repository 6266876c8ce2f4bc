"""What the engine heard, utterance by utterance, on disk before the next one is listened to.

Each entry is one segment of sound: its number, and what was heard in it or nothing. The record is made
from these entries alone, so it can be made again, and a killed run goes on where it stopped.
"""

from __future__ import annotations

import json
from dataclasses import asdict
from pathlib import Path
from types import TracebackType
from typing import Any

from capture.journal import Journal, JournalEntry, read_journal
from shared.errors import JournalDamaged
from shared.speech import Utterance, Word

_SEGMENT = 1
_META = {"journal": "heard/1"}


class HeardJournal:
    """The journal of utterances; opened where it is there, begun where it is not.

    One that the disk damaged is set aside beside itself and begun anew: the sound is kept apart.
    """

    def __init__(self, path: Path) -> None:
        self.heard: list[Utterance | None] = []
        """By segment, in order; None where a segment held no words."""
        self.complete = False
        """Everything was heard in earlier work."""
        self.set_aside: Path | None = None
        """Where a damaged journal was put, or None."""
        if path.exists() and _damaged(path):
            self.set_aside = path.replace(path.with_name(f"{path.name}.damaged"))
        if path.exists():
            self._journal, reader = Journal.open_and_read(path, self._take)
            self.complete = reader.tail.closed
        else:
            self._journal = Journal.create(path, _META)

    def append(self, utterance: Utterance | None) -> None:
        """Write what was heard in the next segment; it is on disk when this returns."""
        entry = {"segment": len(self.heard), "utterance": asdict(utterance) if utterance else None}
        self._journal.append(_SEGMENT, json.dumps(entry, ensure_ascii=False).encode())
        self._journal.sync()
        self.heard.append(utterance)

    def utterances(self) -> tuple[Utterance, ...]:
        """Return everything that was heard, in order."""
        return tuple(utterance for utterance in self.heard if utterance is not None)

    def close(self) -> None:
        """Say that everything was heard, and close."""
        if self.complete:
            self._journal.abandon()
        else:
            self._journal.close()
            self.complete = True

    def __enter__(self) -> HeardJournal:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, exc: BaseException | None, at: TracebackType | None
    ) -> None:
        if kind is None:
            self.close()
        else:
            self._journal.abandon()

    def _take(self, entry: JournalEntry) -> None:
        if entry.kind == _SEGMENT:
            content = json.loads(entry.payload)
            self.heard.append(_utterance(content["utterance"]) if content["utterance"] else None)


def _damaged(path: Path) -> bool:
    try:
        reader = read_journal(path)
        for _ in reader:
            pass
    except JournalDamaged:
        return True
    return reader.tail.state == "damaged" or reader.meta != _META


def _utterance(fields: dict[str, Any]) -> Utterance:
    words = tuple(Word(**word) for word in fields["words"])
    return Utterance(**{**fields, "words": words, "alternatives": tuple(fields["alternatives"])})
