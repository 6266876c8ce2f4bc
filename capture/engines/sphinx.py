"""The offline default: pocketsphinx with a vocabulary compiled from the job sheet."""

from __future__ import annotations

from pathlib import Path

from capture.engines.engine import SegmentEngine, hash_of
from capture.engines.lattice import Heard, Lattice, likely_sequences
from capture.engines.numbers_heard import carries_number, number_word, number_words_of
from capture.engines.sphinx_decoder import FRAME_S, DecodedWord, Decoding, SphinxDecoder
from capture.noise import estimate_snr_db, suppress_noise
from capture.segments import Segment
from capture.vocabulary import compile_vocabulary
from capture.vocabulary.spoken_words import plain_text
from shared.job_sheet import JobSheet
from shared.speech import Utterance, Word

#: Bump when the same sound would be heard otherwise.
_HEARING = "5"
_MOST_ALTERNATIVES = 4
#: Another number is worth a question from this share of the likeliest one's posterior.
_COMPARABLE = 0.1
#: Below this estimate the sound goes through the noise suppressor first. On development sentences in shop
#: noise suppressing helps at every level from 35 dB down (at 15 dB 44 % of words wrong become 26 %); in quiet
#: it costs numbers.
_QUIET_FROM_SNR_DB = 30.0
#: Added to the likelihood ratio so that zero parts job talk from chatter best on development sentences.
_JOB_SCORE_SHIFT = 0.12


class SphinxEngine(SegmentEngine):
    """Hears with pocketsphinx; needs no downloaded weights."""

    name = "pocketsphinx"

    def __init__(self, sheet: JobSheet, cache_dir: Path, *, reason: str = "asked for") -> None:
        self.reason = reason
        vocabulary = compile_vocabulary(sheet, cache_dir)
        self.model = f"en-us, {vocabulary.words} words of {sheet.id}"
        self.identity = hash_of(self.name, _HEARING, vocabulary.sha256)
        self._decoder = SphinxDecoder(vocabulary.language_model, vocabulary.dictionary)

    def hear(self, segment: Segment) -> Utterance | None:
        """Return what was said, with word times, posteriors, number alternatives and the chatter score."""
        samples = segment.samples
        if estimate_snr_db(samples) < _QUIET_FROM_SNR_DB:
            samples = suppress_noise(samples)
        decoding = self._decoder.decode(samples)
        if not decoding.words:
            return None
        general = self._decoder.general_log_likelihood(samples)
        text = plain_text(decoding.text)
        confidence, alternatives = _doubts(decoding, text)
        return Utterance(
            text=text,
            start_s=segment.start_s,
            end_s=segment.end_s,
            confidence=confidence,
            words=_timed_words(decoding.words, segment.start_s),
            engine=self.name,
            alternatives=alternatives,
            job_score=(decoding.log_likelihood - general) / max(1, decoding.frames) + _JOB_SCORE_SHIFT,
        )


def _timed_words(words: tuple[DecodedWord, ...], start_s: float) -> tuple[Word, ...]:
    """Return words with times in the recording; joined ones part their time by letters."""
    timed: list[Word] = []
    for word in words:
        pieces = word.text.split("_")
        length = (word.end_frame - word.start_frame) * FRAME_S / sum(map(len, pieces))
        at = start_s + word.start_frame * FRAME_S
        for piece in pieces:
            timed.append(Word(piece, at, at + length * len(piece), word.posterior))
            at += length * len(piece)
    return tuple(timed)


def _doubts(decoding: Decoding, text: str) -> tuple[float, tuple[str, ...]]:
    """Return the utterance's confidence and what else its numbers may have been.

    With numbers, the confidence is the posterior of just these numbers; without, the mean of the words.
    """
    mean = sum(word.posterior for word in decoding.words) / len(decoding.words)
    if decoding.lattice is None:
        return mean, ()
    heard = _by_numbers(decoding.lattice)
    own = number_words_of(text)
    share = sum(one.share for one in heard if number_words_of(one.text) == own)
    others = [one for one in heard if number_words_of(one.text) != own and one.share >= _COMPARABLE * share]
    alternatives = tuple(one.text for one in others if carries_number(one.text) or carries_number(text))
    return (share if carries_number(text) else mean), alternatives[:_MOST_ALTERNATIVES]


def _by_numbers(lattice: Lattice) -> list[Heard]:
    return [
        Heard(one.share, plain_text(_unmarked(one.text))) for one in likely_sequences(lattice, number_word)
    ]


def _unmarked(text: str) -> str:
    """Return text without the marks of pronunciation variants (``the(2)``)."""
    return " ".join(word.partition("(")[0] for word in text.split())
