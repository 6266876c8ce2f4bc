"""One pocketsphinx decoder with three language models: the job's, its sheet's alone, and everyday English.

The boundary to the library: its objects, log base and errors stay in this file. Not thread-safe; one
a process.
"""

from __future__ import annotations

import os
import tempfile
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from capture.engines.language_models import everyday_language, sheet_language
from capture.engines.lattice import Language, Lattice, read_lattice
from shared.errors import EngineFailed

FRAME_S = 0.01
#: Log units of the decoder are ln(1.0001) and its scores are shifted down by ten bits.
_LOG_BASE = float(np.log(1.0001))
_NATS_A_UNIT = _LOG_BASE * 1024
_JOB, _NARROW, _GENERAL = "job", "narrow", "general"

#: Spectral subtraction and per-utterance cepstral mean are what the acoustic model was trained with.
FRONT_END: dict[str, Any] = {
    "remove_noise": True,
    "cmn": "batch",
    "warp_type": "inverse_linear",
    "warp_params": "1.0",
    "loglevel": "FATAL",
}
#: Tuned by ``python -m bench speech`` on development sentences: how much the language model counts, what a
#: word more costs, and how unlikely a path may get before it is dropped (the default beams lose numbers).
#: Posteriors weigh sound against language as the search does (``ascale`` near ``lw``): with the default of
#: 20 the language decided alone, and nearly every number was doubtful.
LANGUAGE_WEIGHT, WORD_PENALTY = 6.5, 0.4
_SEARCH: dict[str, Any] = {
    "lw": LANGUAGE_WEIGHT,
    "wip": WORD_PENALTY,
    "ascale": 7.0,
    "beam": 1e-55,
    "wbeam": 1e-35,
    "pbeam": 1e-55,
}
#: The chatter check needs a score, no lattice and no wide search: these beams move the score by less than 0.2
#: (below 1e-36 by up to 1) and save a third of its time.
_CHATTER_SEARCH: dict[str, Any] = {"bestpath": False, "beam": 1e-40, "wbeam": 1e-25, "pbeam": 1e-40}


@dataclass(frozen=True, slots=True)
class DecodedWord:
    """One word of the best path."""

    text: str
    start_frame: int
    end_frame: int
    posterior: float


@dataclass(frozen=True, slots=True)
class Decoding:
    """What one pass found."""

    words: tuple[DecodedWord, ...]
    """Without silences and noises; empty where nothing was said."""
    log_likelihood: float
    """Of the best path, nats, against the best sound at each frame."""
    frames: int
    lattice: Lattice | None
    log_probability: Language | None = None
    """Of the model that it was decoded with."""

    @property
    def text(self) -> str:
        """The words, parted by spaces."""
        return " ".join(word.text for word in self.words)


def acoustic_model_folder() -> Path:
    """Return where the acoustic model of the package lies."""
    import pocketsphinx

    return Path(pocketsphinx.get_model_path()) / "en-us" / "en-us"


def hear_whole(decoder: Any, samples: NDArray[np.int16], tract_factor: float = 1.0) -> None:
    """Let a decoder of the library take in one utterance from end to end, with the search that is active.

    The front end carries its noise estimate from utterance to utterance; begun anew, an utterance is
    heard the same whatever was heard before it, so that work taken up after a crash ends the same.

    Args:
        decoder: made with :data:`FRONT_END`.
        samples: int16, mono, 16 kHz.
        tract_factor: what frequencies are divided by; see :mod:`capture.engines.voice_tract`.

    Raises:
        RuntimeError: the library gave up, or the words of a narrow search do not reach the end of the sound.
    """
    decoder.config["warp_params"] = str(tract_factor)
    decoder.reinit_feat(decoder.config)
    decoder.start_utt()
    try:
        decoder.process_raw(np.ascontiguousarray(samples, "<i2").tobytes(), full_utt=True)
    finally:
        decoder.end_utt()


def log_likelihood_of(decoder: Any) -> float | None:
    """Return the log likelihood (nats) of the best path of what a decoder took in, or None."""
    best = decoder.hyp()
    return None if best is None else float(decoder.logmath.log(best.score)) * _NATS_A_UNIT


class SphinxDecoder:
    """Decodes one segment at a time.

    Args:
        language_model: the job's.
        dictionary: of all words that either model may hear.
        transform: of an enrolled speaker (:class:`capture.engines.speaker.Transform`), or None.
        narrow_model: the sheet's, for :meth:`heard_narrowly`, or None.
        search: how far it looks.
    """

    def __init__(
        self,
        language_model: Path,
        dictionary: Path,
        transform: Path | None = None,
        narrow_model: Path | None = None,
        search: Mapping[str, Any] = _SEARCH,
    ) -> None:
        import pocketsphinx

        self._has_general = False
        self._active = ""
        self._begun, self._mean = False, ""
        with _translated("the decoder cannot be set up"):
            self._decoder = pocketsphinx.Decoder(
                hmm=str(acoustic_model_folder()),
                dict=str(dictionary),
                lm=None,
                **({} if transform is None else {"mllr": str(transform)}),
                **FRONT_END,
                **search,
            )
            self._decoder.add_lm(_JOB, self._model(language_model))
            if narrow_model is not None:
                self._decoder.add_lm(_NARROW, self._model(narrow_model))
            self._language = language_of(self._decoder.get_lm(_JOB))

    def decode(self, samples: NDArray[np.int16], tract_factor: float = 1.0) -> Decoding:
        """Decode with the job's model.

        Args:
            samples: int16, mono, 16 kHz.
            tract_factor: of the speaker; see :mod:`capture.engines.voice_tract`.

        Raises:
            EngineFailed: the library gave up.
        """
        with _translated("the decoder gave up"):
            self._run(_JOB, samples, tract_factor)
            return self._result(with_lattice=True)

    def begin(self, tract_factor: float = 1.0) -> None:
        """Begin to decode, with the job's model, an utterance that comes in piece by piece.

        What is found differs a little from :meth:`decode`, which knows the mean of the whole sound before it
        begins; here the mean is that of the utterances before, moving on.

        Raises:
            EngineFailed: the library gave up.
        """
        with _translated("the decoder gave up"):
            self.drop()
            self._activate(_JOB)
            self._decoder.config["warp_params"] = str(tract_factor)
            self._decoder.reinit_feat(self._decoder.config)
            if self._mean:
                self._decoder.set_cmn(self._mean)
            self._decoder.start_utt()
            self._begun = True

    def feed(self, samples: NDArray[np.int16]) -> None:
        """Take in the next piece (int16, mono, 16 kHz) of the utterance that was begun.

        Raises:
            EngineFailed: the library gave up.
        """
        with _translated("the decoder gave up"):
            self._decoder.process_raw(np.ascontiguousarray(samples, "<i2").tobytes(), no_search=False)

    def end(self) -> Decoding:
        """End the utterance that was begun, and return what was found in it.

        Raises:
            EngineFailed: the library gave up.
        """
        with _translated("the decoder gave up"):
            self._decoder.end_utt()
            self._begun = False
            self._mean = self._decoder.get_cmn(True)
            return self._result(with_lattice=True)

    def drop(self) -> None:
        """Forget the utterance that was begun, if one was."""
        if self._begun:
            self._decoder.end_utt()
            self._begun = False

    def heard_narrowly(self, samples: NDArray[np.int16], tract_factor: float = 1.0) -> str:
        """Return what is heard if it can only be what the sheet's templates make; needs a narrow model.

        Raises:
            EngineFailed: the library gave up.
        """
        with _translated("the second pass gave up"):
            self._run(_NARROW, samples, tract_factor)
            return self._result(with_lattice=False).text

    def general_log_likelihood(self, samples: NDArray[np.int16], tract_factor: float = 1.0) -> float:
        """Return the log likelihood of the best everyday sentence, nats.

        Raises:
            EngineFailed: the library gave up.
        """
        with _translated("the chatter check gave up"):
            if not self._has_general:
                self._add_general()
            self._run(_GENERAL, samples, tract_factor)
            return self._result(with_lattice=False).log_likelihood

    def _model(self, path: Path) -> Any:
        config, written = self._decoder.config, path.stat()
        return sheet_language(path, written.st_mtime_ns, written.st_size, config["lw"], config["wip"])

    def _add_general(self) -> None:
        # A search reads its configuration as it is made.
        for name, value in _CHATTER_SEARCH.items():
            self._decoder.config[name] = value
        config = self._decoder.config
        self._decoder.add_lm(_GENERAL, everyday_language(config["lw"], config["wip"]))
        self._has_general = True

    def _run(self, search: str, samples: NDArray[np.int16], tract_factor: float) -> None:
        self._activate(search)
        hear_whole(self._decoder, samples, tract_factor)

    def _activate(self, search: str) -> None:
        if self._active != search:  # asking the library which one is active crashes while none is
            self._decoder.activate_search(search)
            self._active = search

    def _result(self, *, with_lattice: bool) -> Decoding:
        frames = int(self._decoder.n_frames())
        best = self._decoder.hyp()
        if best is None or not best.hypstr:
            return Decoding((), 0.0, frames, None)
        log_likelihood = log_likelihood_of(self._decoder) or 0.0
        words = tuple(
            DecodedWord(seg.word.partition("(")[0], seg.start_frame, seg.end_frame + 1, min(1.0, seg.prob))
            for seg in self._decoder.seg()
            if seg.word[0] not in "<["
        )
        if not with_lattice:
            return Decoding(words, log_likelihood, frames, None)
        return Decoding(words, log_likelihood, frames, self._lattice(), self._language)

    def _lattice(self) -> Lattice | None:
        lattice = self._decoder.get_lattice()
        if lattice is None:
            return None
        with _file_in_memory() as (path, file):
            lattice.write_htk(path)
            return read_lattice(os.pread(file, os.fstat(file).st_size, 0).decode("utf-8", "replace"))


def language_of(model: Any) -> Language:
    """Return the log probabilities (nats) of one of the library's language models."""

    @lru_cache(100_000)
    def log_probability(word: str, last: str, before: str) -> float:
        # The library wants the word first, then what stood before it, nearest first.
        return float(model.prob([plain for plain in (word, last, before) if plain]) * _LOG_BASE)

    return log_probability


@contextmanager
def _file_in_memory() -> Iterator[tuple[str, int]]:
    """Yield (path, descriptor) of a file that never touches a disk where the system can do that.

    Words of chatter must stand in no file, not even one that is deleted at once.
    """
    if hasattr(os, "memfd_create"):
        file = os.memfd_create("lattice")
        try:
            yield f"/proc/self/fd/{file}", file
        finally:
            os.close(file)
    else:
        with tempfile.NamedTemporaryFile() as named:
            yield named.name, named.fileno()


@contextmanager
def _translated(what: str) -> Iterator[None]:
    try:
        yield
    except (RuntimeError, ValueError, KeyError, OSError) as exc:
        raise EngineFailed(f"{what}: {exc}", remedy="run the same command again; the sound is kept") from exc
