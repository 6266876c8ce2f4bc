"""What the ear is measured against: the general model alone, and templates alone."""

from __future__ import annotations

from pathlib import Path
from typing import Protocol

from capture.engines.sphinx_decoder import FRAME_S, Decoding, SphinxDecoder
from capture.segments import Segment
from capture.vocabulary.compiled import write_vocabulary
from capture.vocabulary.language_model import build_template_model
from capture.vocabulary.spoken_words import plain_text
from shared.job_sheet import JobSheet
from shared.lexicon import load_lexicon
from shared.speech import Utterance, Word


class Baseline(Protocol):
    """Something that hears segments."""

    def hear(self, segment: Segment) -> Utterance | None:
        """Return what was said."""


class GeneralBaseline:
    """The library as it comes: its own language model and dictionary, its own settings."""

    def __init__(self) -> None:
        import pocketsphinx

        self._decoder = pocketsphinx.Decoder(loglevel="FATAL")

    def hear(self, segment: Segment) -> Utterance | None:
        """Return what the general model hears."""
        self._decoder.start_utt()
        self._decoder.process_raw(segment.samples.tobytes(), full_utt=True)
        self._decoder.end_utt()
        words = tuple(
            _word(segment, seg.word.partition("(")[0], seg.start_frame, seg.end_frame)
            for seg in self._decoder.seg() or ()
            if seg.word[0] not in "<["
        )
        return _utterance(segment, words)


class TemplateBaseline:
    """Our decoder with a language model of templates alone, one pass, no alternatives."""

    def __init__(self, sheet: JobSheet, folder: Path) -> None:
        model = build_template_model(sheet, load_lexicon())
        self._decoder = SphinxDecoder(*write_vocabulary(model, folder))

    def hear(self, segment: Segment) -> Utterance | None:
        """Return what the narrow model hears."""
        decoding: Decoding = self._decoder.decode(segment.samples)
        words = tuple(
            _word(segment, piece, word.start_frame, word.end_frame)
            for word in decoding.words
            for piece in plain_text(word.text).split()
        )
        return _utterance(segment, words)


def general_baseline() -> Baseline:
    """Return the general model alone."""
    return GeneralBaseline()


def template_baseline(sheet: JobSheet, folder: Path) -> Baseline:
    """Return templates alone, compiled into a folder."""
    return TemplateBaseline(sheet, folder)


def _word(segment: Segment, text: str, start_frame: int, end_frame: int) -> Word:
    return Word(text, segment.start_s + start_frame * FRAME_S, segment.start_s + end_frame * FRAME_S)


def _utterance(segment: Segment, words: tuple[Word, ...]) -> Utterance | None:
    if not words:
        return None
    return Utterance(" ".join(word.text for word in words), segment.start_s, segment.end_s, words=words)
