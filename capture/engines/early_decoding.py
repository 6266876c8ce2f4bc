"""Decoding while a phrase is spoken: in quiet its sound as it is, in noise what the suppressor leaves."""

from __future__ import annotations

import tempfile
from pathlib import Path

import numpy as np

from capture.engines.sphinx import LET_THROUGH
from capture.engines.sphinx_decoder import Decoding, SphinxDecoder
from capture.engines.suppressed_sounds import with_suppressed
from capture.noise import StreamedSuppressor
from capture.sound_blocks import Samples
from capture.vocabulary.compiled import Vocabulary


class EarlyDecoding:
    """Decodes one phrase at a time, piece by piece.

    Args:
        vocabulary: of the job's sheet.
    """

    def __init__(self, vocabulary: Vocabulary) -> None:
        self._vocabulary = vocabulary
        self._decoders: dict[bool, SphinxDecoder] = {}
        self._now: SphinxDecoder | None = None
        self._suppressor: StreamedSuppressor | None = None
        self._loud = np.zeros(0, np.int16)

    def begin(self, *, noisy: bool, tract_factor: float) -> None:
        """Begin a phrase.

        Args:
            noisy: whether its sound goes through the suppressor.
            tract_factor: of the speaker; see :mod:`capture.engines.voice_tract`.

        Raises:
            EngineFailed: the decoder gave up, or there is no suppressor.
        """
        self.drop()
        self._suppressor = StreamedSuppressor() if noisy else None
        self._loud = np.zeros(0, np.int16)
        if noisy not in self._decoders:
            self._decoders[noisy] = self._new_decoder(noisy)
        self._now = self._decoders[noisy]
        self._now.begin(tract_factor)

    def feed(self, samples: Samples) -> None:
        """Take in the next piece (int16, mono, 16 kHz) of the phrase that was begun."""
        assert self._now is not None
        self._now.feed(samples if self._suppressor is None else self._quieted(self._suppressor, samples))

    def end(self) -> Decoding:
        """End the phrase that was begun; return what was found in it."""
        assert self._now is not None
        decoder, self._now = self._now, None
        return decoder.end()

    def drop(self) -> None:
        """Forget the phrase that was begun, if one was."""
        if self._now is not None:
            self._now.drop()
            self._now = None

    def _quieted(self, suppressor: StreamedSuppressor, samples: Samples) -> Samples:
        """Return what is left of a piece, with a share of the sound itself, as the engine hears it."""
        quiet = suppressor.hear(samples)
        loud = np.concatenate([self._loud, samples])
        self._loud = loud[len(quiet) :]
        mixed = np.rint(quiet + LET_THROUGH * loud[: len(quiet)])
        limited: Samples = np.clip(mixed, -32768, 32767).astype(np.int16)
        return limited

    def _new_decoder(self, noisy: bool) -> SphinxDecoder:
        if not noisy:
            return SphinxDecoder(self._vocabulary.language_model, self._vocabulary.dictionary)
        plain = self._vocabulary.dictionary.read_text(encoding="ascii")
        with tempfile.TemporaryDirectory(prefix="witnessmark-") as folder:
            dictionary = Path(folder) / "suppressed.dict"
            dictionary.write_text(with_suppressed(plain), encoding="ascii")
            return SphinxDecoder(self._vocabulary.language_model, dictionary)
