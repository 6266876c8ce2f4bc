"""An engine that says what a file tells it: for tests, demonstrations and replays.

The script is JSON: a list of texts, one a segment in order; or an object of segment numbers to texts;
or objects in place of the texts with any of ``text``, ``confidence``, ``alternatives``, ``job_score``.
null, or no entry, is a segment in which nothing was said.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from pydantic import BaseModel, ConfigDict, Field, TypeAdapter, ValidationError

from capture.engines.engine import SegmentEngine, hash_of
from capture.segments import Segment
from shared.errors import EngineFailed
from shared.speech import Utterance, Word


class ScriptedUtterance(BaseModel):
    """What is said in one segment."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    text: str = Field(min_length=1)
    confidence: float = Field(default=1.0, ge=0, le=1)
    alternatives: tuple[str, ...] = ()
    job_score: float | None = None


_Entry = ScriptedUtterance | str | None
_SCRIPT: TypeAdapter[list[_Entry] | dict[int, _Entry]] = TypeAdapter(list[_Entry] | dict[int, _Entry])


class ScriptedEngine(SegmentEngine):
    """Says what its script has for the number of a segment; words share the segment's time by letters."""

    name = "scripted"

    def __init__(self, script: Any, *, model: str = "script", reason: str = "asked for") -> None:
        try:
            parsed = _SCRIPT.validate_python(script)
        except ValidationError as exc:
            raise EngineFailed(
                "no script of utterances",
                where=model,
                expected="a JSON list of texts, or an object of segment numbers to texts",
            ) from exc
        self._entries = dict(enumerate(parsed)) if isinstance(parsed, list) else parsed
        self.model = model
        self.reason = reason
        self.identity = hash_of(self.name, json.dumps(script, sort_keys=True))

    @classmethod
    def from_file(cls, path: Path) -> ScriptedEngine:
        """Read a script.

        Raises:
            EngineFailed: not readable, or no script.
        """
        try:
            script = json.loads(path.read_text(encoding="utf-8"))
        except (OSError, ValueError) as exc:
            raise EngineFailed(
                f"the script cannot be read: {exc}", where=str(path), expected="a JSON file"
            ) from exc
        return cls(script, model=path.name)

    def hear(self, segment: Segment) -> Utterance | None:
        """Return what the script has for this segment."""
        entry = self._entries.get(segment.number)
        if entry is None:
            return None
        said = ScriptedUtterance(text=entry) if isinstance(entry, str) else entry
        return Utterance(
            text=said.text,
            start_s=segment.start_s,
            end_s=segment.end_s,
            confidence=said.confidence,
            words=_evenly_timed(said, segment),
            engine=self.name,
            alternatives=said.alternatives,
            job_score=said.job_score,
        )


def _evenly_timed(said: ScriptedUtterance, segment: Segment) -> tuple[Word, ...]:
    words = said.text.split()
    a_letter = (segment.end_s - segment.start_s) / max(1, sum(map(len, words)))
    timed, at = [], segment.start_s
    for word in words:
        timed.append(Word(word, at, at + a_letter * len(word), said.confidence))
        at += a_letter * len(word)
    return tuple(timed)
