"""What every speech engine is: something that hears a segment of sound and says what was said."""

from __future__ import annotations

import hashlib
from abc import ABC, abstractmethod
from collections.abc import Iterable, Iterator, Sequence
from typing import Protocol, runtime_checkable

from capture.segments import Segment, cut_segments
from capture.sound_blocks import Samples
from shared.speech import Utterance


@runtime_checkable
class Engine(Protocol):
    """A speech engine for one job sheet."""

    @property
    def name(self) -> str:
        """``pocketsphinx``, ``whisper`` or ``scripted``."""

    @property
    def model(self) -> str:
        """Which model it hears with, for the record."""

    @property
    def reason(self) -> str:
        """Why this engine was taken, one sentence for the screen."""

    @property
    def identity(self) -> str:
        """Hash over model, vocabulary and options: two engines of one identity hear the same."""

    @property
    def memory(self) -> tuple[float, ...]:
        """What it learnt of the voice so far: with it, a later engine goes on just as this one would."""

    def recall(self, memory: Sequence[float]) -> None:
        """Know again what an engine of the same identity had learnt."""

    def hear(self, segment: Segment) -> Utterance | None:
        """Return what was said in a segment, or None where nothing was.

        Raises:
            EngineFailed: the engine gave up on this sound.
        """

    def transcribe(self, blocks: Iterable[Samples]) -> Iterator[Utterance]:
        """Cut sound into segments and hear them one after the other.

        Args:
            blocks: int16, mono, 16 kHz, of any lengths, from the beginning of the recording.
        """


class SegmentEngine(ABC):
    """Base of the engines: whoever hears segments can transcribe a stream."""

    @property
    def memory(self) -> tuple[float, ...]:
        """Nothing, where the engine learns nothing; see :attr:`Engine.memory`."""
        return ()

    def recall(self, memory: Sequence[float]) -> None:  # noqa: B027 - an engine that learns nothing
        """Know again what was learnt; see :meth:`Engine.recall`."""

    @abstractmethod
    def hear(self, segment: Segment) -> Utterance | None:
        """Return what was said in a segment; see :meth:`Engine.hear`."""

    def transcribe(self, blocks: Iterable[Samples]) -> Iterator[Utterance]:
        """Cut sound into segments and hear them; see :meth:`Engine.transcribe`."""
        for segment in cut_segments(blocks):
            utterance = self.hear(segment)
            if utterance is not None:
                yield utterance


def hash_of(*parts: str) -> str:
    """Return one hash over the parts of an identity."""
    digest = hashlib.sha256()
    for part in parts:
        digest.update(part.encode() + b"\0")
    return digest.hexdigest()
