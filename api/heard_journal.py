"""What may be kept of what the engine heard, on disk before the next utterance is listened to.

Each entry is one segment of sound: its number, and what was heard in it or nothing; of chatter and of
what is said in a pause only times and scores, never a word. The record is made from these entries
alone, so it can be made again, and a killed run goes on where it stopped.

What is chatter depends on the rules of reading. A journal of other rules is begun anew: the words that
they took for chatter are not there to be read again, but the sound is.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import asdict
from pathlib import Path
from types import TracebackType
from typing import Any, Literal

from capture.journal import Journal, JournalEntry, JournalReader, read_journal
from shared.errors import JournalDamaged, JournalError
from shared.speech import Utterance, Word

_SEGMENT = 1
_FORMAT = "heard/3"


class HeardJournal:
    """The journal of utterances; opened where it is there, begun where it is not.

    One that the disk damaged is set aside beside itself and begun anew: the sound is kept apart.

    Args:
        path: of the journal.
        rules: hash over the rules by which utterances are read; see :mod:`api.reading_rules`.
    """

    def __init__(self, path: Path, rules: str) -> None:
        self.heard: list[Utterance | None] = []
        """By segment, in order, as far as it may be kept; None where nothing was heard."""
        self.memory: tuple[float, ...] = ()
        """What the engine had learnt of the voice after the last segment."""
        self.complete = False
        """Everything was heard in earlier work."""
        self.set_aside: Path | None = None
        """Where a damaged journal was put, or None."""
        self.begun_anew = False
        """There was one that other rules made."""
        meta = {"journal": _FORMAT, "rules": rules}
        state = _state(path, meta)
        if state == "damaged":
            self.set_aside = path.replace(path.with_name(f"{path.name}.damaged"))
        elif state == "of other rules":
            # Not set aside: an earlier version may have written words into it that nobody may keep.
            path.unlink()
            self.begun_anew = True
        if path.exists():
            self._journal, reader = Journal.open_and_read(path, self._take)
            self.complete = reader.tail.closed
        else:
            self._journal = Journal.create(path, meta)

    def append(self, utterance: Utterance | None, memory: Sequence[float] = ()) -> None:
        """Write what may be kept of the next segment; it is on disk when this returns.

        Args:
            utterance: what was heard, or None.
            memory: what the engine has learnt of the voice by then; numbers only, never words.
        """
        entry = {
            "segment": len(self.heard),
            "utterance": asdict(utterance) if utterance else None,
            "memory": list(memory),
        }
        self._journal.append(_SEGMENT, json.dumps(entry, ensure_ascii=False).encode())
        self._journal.sync()
        self.heard.append(utterance)
        self.memory = tuple(memory)

    def utterances(self) -> tuple[Utterance, ...]:
        """Return everything that was heard, in order, as far as it may be kept."""
        return tuple(utterance for utterance in self.heard if utterance is not None)

    def close(self) -> None:
        """Say that everything was heard, and close."""
        if self.complete:
            self._journal.abandon()
        else:
            self._journal.close()
            self.complete = True

    def abandon(self) -> None:
        """Close as a crash would: not everything was heard."""
        self._journal.abandon()

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
            self.memory = tuple(content["memory"])


def kept_segments(path: Path) -> tuple[Utterance | None, ...]:
    """Return what was kept in a journal, whichever rules it was kept by; the journal is left as it is.

    Raises:
        JournalError: it cannot be read.
    """
    return _kept_in(read_journal(path))


def kept_talk(path: Path) -> tuple[Utterance, ...] | None:
    """Return all that was kept of a recording, or None where that is not known for sure.

    Args:
        path: of the journal; where it is absent, damaged or not finished, something of it may be missing.
    """
    try:
        reader = read_journal(path)
        found = _kept_in(reader)
    except JournalError:
        return None
    return tuple(one for one in found if one is not None) if reader.tail.closed else None


def _kept_in(reader: JournalReader) -> tuple[Utterance | None, ...]:
    kept = [json.loads(entry.payload)["utterance"] for entry in reader if entry.kind == _SEGMENT]
    return tuple(_utterance(one) if one else None for one in kept)


def _state(path: Path, meta: dict[str, Any]) -> Literal["absent", "damaged", "of other rules", "good"]:
    if not path.exists():
        return "absent"
    try:
        reader = read_journal(path)
        if reader.meta != meta:
            return "of other rules"
        for _ in reader:
            pass
    except JournalDamaged:
        return "damaged"
    return "damaged" if reader.tail.state == "damaged" else "good"


def _utterance(fields: dict[str, Any]) -> Utterance:
    words = tuple(Word(**word) for word in fields["words"])
    return Utterance(**{**fields, "words": words, "alternatives": tuple(fields["alternatives"])})
