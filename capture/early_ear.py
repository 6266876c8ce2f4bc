"""What a phrase seems to say as soon as it pauses, before the engine proper has heard it.

It is decoded while it is spoken, with the job's language model alone; a pause of a fifth of a second ends the
decoding. Where speech goes on behind the pause, the whole phrase is decoded again in the next one. Nothing of
this is kept: the engine hears the same sound from end to end, more slowly and better.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from capture.engines.early_decoding import EarlyDecoding
from capture.engines.room_noise import RoomNoise
from capture.engines.sphinx import heard_by_telling_words, utterance_of
from capture.engines.telling_words import TellingWords
from capture.engines.voice_tract import factor_known
from capture.noise import depth_db
from capture.segments import CuttingRules, Running, Segment, SegmentCutter
from capture.sound_blocks import RATE_HZ, Samples
from capture.vocabulary import compile_vocabulary
from shared.job_sheet import JobSheet
from shared.speech import Utterance

#: A pause that is worth an answer, long before the one that ends the phrase.
_PAUSE_S = 0.2


class EarlyEar:
    """Hears one recording ahead of its engine.

    Args:
        sheet: whose words it must hear.
        cache_dir: of compiled vocabularies.
        from_s: where in the recording it begins to hear, seconds.
    """

    def __init__(self, sheet: JobSheet, cache_dir: Path, from_s: float = 0.0) -> None:
        self._from_s = from_s
        vocabulary = compile_vocabulary(sheet, cache_dir)
        self._telling = TellingWords(sheet)
        self._decoding = EarlyDecoding(vocabulary)
        self._tract_factor = factor_known(())
        self._memory: Sequence[float] = ()
        self._cutter = SegmentCutter()
        self._least_s = CuttingRules().least_speech_s
        self._start: int | None = None
        """First sample of the phrase that is being spoken."""
        self._fed: int | None = None
        """Sample up to which it was decoded; None where it is not being decoded."""
        self._told_end: int | None = None
        """End of the speech that was told last."""
        self._noisy = False
        self._passing = False

    def recall(self, memory: Sequence[float]) -> None:
        """Know what the engine has learnt (:attr:`capture.engines.engine.Engine.memory`)."""
        self._memory = memory
        self._tract_factor = factor_known(RoomNoise().recall(memory))

    def pass_over(self) -> None:
        """Leave the phrase that is being spoken to the engine: there is no time for it."""
        self._passing = True

    def hear(self, block: Samples) -> Utterance | None:
        """Hear the next block (int16, mono, 16 kHz); return what its phrase seems to say once it pauses.

        Raises:
            EngineFailed: the decoder gave up.
        """
        self._cutter.hear(block)
        running = self._cutter.running
        if running is None or running.start != self._start:
            self._decoding.drop()
            self._start = running.start if running else None
            self._fed, self._told_end, self._passing = None, None, False
        # Told already, where nobody has spoken since.
        if running is None or self._passing or running.speech_end == self._told_end:
            return None
        self._feed(running)
        if running.silence_s < _PAUSE_S or running.voiced_s < self._least_s:
            return None
        return self._told(running)

    def _feed(self, running: Running) -> None:
        if self._fed is None:
            self._decoding.begin(noisy=self._noisy, tract_factor=self._tract_factor)
            self._fed = running.start
        sound = self._cutter.sound_of_running(self._fed, running.heard_until)
        if len(sound):
            self._decoding.feed(sound)
            self._fed += len(sound)

    def _told(self, running: Running) -> Utterance | None:
        decoding = self._decoding.end()
        self._told_end, self._fed = running.speech_end, None
        sound = self._cutter.sound_of_running(running.start, running.heard_until)
        room, as_decoded = RoomNoise(), self._noisy
        room.recall(self._memory)
        self._noisy = room.noisy(depth_db(sound))
        # What was decoded as of another room is worth little.
        if not decoding.words or self._noisy != as_decoded:
            return None
        begin_s, end_s = (self._from_s + at / RATE_HZ for at in (running.start, running.heard_until))
        segment = Segment(0, begin_s, end_s, sound)
        heard = heard_by_telling_words(decoding, self._telling)
        said = utterance_of(segment, decoding, heard, 0.0, self._telling)
        return replace(said, job_score=None, noisy=self._noisy)
