"""faster-whisper, where its weights are on this machine; never touches a network.

One utterance at a time: batches silently lose text and thresholds. The sound goes in as it was
captured: suppressing noise makes this network hear worse.
"""

from __future__ import annotations

import math
import os
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from importlib.metadata import version
from pathlib import Path
from typing import Any

import numpy as np

from capture.engines.engine import SegmentEngine, hash_of
from capture.engines.model_files import find_model, keep_hub_offline
from capture.engines.rejectors import is_loop, is_made_up, is_only_hotwords, is_silent, is_too_fast, words_of
from capture.noise import estimate_snr_db
from capture.segments import Segment
from capture.vocabulary import compile_vocabulary
from shared.errors import EngineFailed, WeightsMissing
from shared.job_sheet import JobSheet
from shared.settings import Settings
from shared.speech import Utterance, Word

#: Bump when the same sound would be heard otherwise.
_HEARING = "2"
#: Limits are the library's own defaults where nothing is said.
_OPTIONS: dict[str, Any] = {
    "language": "en",
    "beam_size": 5,
    # One temperature: the fallbacks draw words at random where the network is at a loss. A number drawn
    # so is a guess, and the same sound must give the same record; a low probability makes a question.
    "temperature": 0.0,
    "condition_on_previous_text": False,
    "word_timestamps": True,
    "hallucination_silence_threshold": 2.0,
    "compression_ratio_threshold": 2.4,
    "log_prob_threshold": -1.0,
    "no_speech_threshold": 0.6,
    "vad_filter": False,  # utterances are cut already; a second cut would stretch the times
}
#: Of the weights, for the mark: other training changes them everywhere.
_SAMPLES, _SAMPLE_BYTES = 64, 1 << 15


class WhisperEngine(SegmentEngine):
    """Hears with faster-whisper.

    Raises:
        WeightsMissing: the model is not on this machine; says what to fetch and how large it is.
        EngineFailed: its files cannot be loaded.
    """

    name = "whisper"

    def __init__(
        self, sheet: JobSheet, model: str | None, settings: Settings, *, reason: str = "asked for"
    ) -> None:
        folder = find_model(model)
        vocabulary = compile_vocabulary(sheet, settings.cache_dir)
        self.reason = reason
        self.model = _model_name(folder, model)
        self.identity = hash_of(
            self.name, _HEARING, repr(_OPTIONS), _libraries(), _mark_of(folder), vocabulary.hotwords
        )
        self._hotwords = vocabulary.hotwords or None
        keep_hub_offline()
        with _translated(f"the model in {folder} cannot be loaded"):
            from faster_whisper import WhisperModel

            self._whisper = WhisperModel(
                str(folder),
                device="cpu",
                compute_type="int8",
                cpu_threads=settings.threads,
                local_files_only=True,
            )
            bands = self._whisper.feature_extractor.mel_filters.shape[0]
        wanted = self._whisper.model.n_mels
        if bands != wanted:
            raise EngineFailed(
                f"the model listens to {wanted} frequency bands, its files say {bands}",
                where=str(folder),
                remedy="copy its preprocessor_config.json too, or fetch it again",
            )

    def hear(self, segment: Segment) -> Utterance | None:
        """Return what was said; silence and what the network made up are nothing said."""
        if is_silent(segment.samples):
            return None
        heard = self._decode(segment)
        text = " ".join("".join(piece.text for piece in heard).split())
        words = _words(heard, segment)
        confidence = _confidence(heard, words)
        if self._is_made_up(text, segment, confidence):
            return None
        return Utterance(
            text=text,
            start_s=segment.start_s,
            end_s=segment.end_s,
            confidence=confidence,
            words=words,
            engine=self.name,
        )

    def _decode(self, segment: Segment) -> list[Any]:
        sound = segment.samples.astype(np.float32) / 32768.0
        try:
            pieces, _ = self._whisper.transcribe(sound, hotwords=self._hotwords, **_OPTIONS)
            return list(pieces)
        except (IndexError, ValueError):
            # Aligning the words to the sound is the library's frailest part; the words matter more.
            plain = _OPTIONS | {"word_timestamps": False, "hallucination_silence_threshold": None}
        with _translated("the engine gave up"):
            pieces, _ = self._whisper.transcribe(sound, hotwords=self._hotwords, **plain)
            return list(pieces)

    def _is_made_up(self, text: str, segment: Segment, confidence: float) -> bool:
        words = words_of(text)
        if not words or is_made_up(words) or is_loop(words):
            return True
        if is_too_fast(words, segment.end_s - segment.start_s):
            return True
        snr_db = estimate_snr_db(segment.samples)
        return is_only_hotwords(words, self._hotwords or "", snr_db=snr_db, confidence=confidence)


def _words(pieces: Sequence[Any], segment: Segment) -> tuple[Word, ...]:
    """Return words with times in the recording, never beyond their segment; empty where none were aligned."""
    found = []
    for piece in pieces:
        for word in piece.words or ():
            start_s = min(segment.end_s, segment.start_s + float(word.start))
            end_s = min(segment.end_s, segment.start_s + float(word.end))
            if text := word.word.strip():
                found.append(Word(text, start_s, max(start_s, end_s), float(word.probability)))
    return tuple(found)


def _confidence(pieces: Sequence[Any], words: Sequence[Word]) -> float:
    """Return the mean probability of a word, or of a token where no words were aligned."""
    if words:
        return min(1.0, sum(word.confidence for word in words) / len(words))
    lengths = [max(1, len(piece.tokens)) for piece in pieces]
    if not lengths:
        return 0.0
    mean_log = sum(p.avg_logprob * n for p, n in zip(pieces, lengths, strict=True)) / sum(lengths)
    return min(1.0, math.exp(mean_log))


def _model_name(folder: Path, asked: str | None) -> str:
    """Return a name fit for the record: no paths of the machine."""
    if asked and not Path(asked).is_dir():
        return asked
    cached = [part for part in folder.parts if part.startswith("models--")]
    return cached[-1].removeprefix("models--").replace("--", "/") if cached else folder.resolve().name


def _libraries() -> str:
    return " ".join(f"{name} {version(name)}" for name in ("faster-whisper", "ctranslate2", "tokenizers"))


def _mark_of(folder: Path) -> str:
    """Return a mark of a model: its small files, and samples of the weights, which take long to read."""
    marks = []
    try:
        for path in sorted(path for path in folder.iterdir() if path.suffix in (".json", ".txt")):
            marks += [path.name, path.read_bytes().hex()]
        with (folder / "model.bin").open("rb") as file:
            size = os.fstat(file.fileno()).st_size
            marks.append(str(size))
            for n in range(_SAMPLES):
                file.seek(max(0, size - _SAMPLE_BYTES) * n // (_SAMPLES - 1))
                marks.append(file.read(_SAMPLE_BYTES).hex())
    except OSError as exc:
        raise WeightsMissing(f"the model cannot be read: {exc.strerror}", where=str(folder)) from exc
    return hash_of(*marks)


@contextmanager
def _translated(what: str) -> Iterator[None]:
    """Turn what the library raises into one line of ours."""
    try:
        yield
    except Exception as exc:  # its tokenizer raises nothing narrower
        first = str(exc).strip().splitlines() or [type(exc).__name__]
        raise EngineFailed(
            f"{what}: {first[0]}", remedy="try another model, or --engine pocketsphinx"
        ) from exc
