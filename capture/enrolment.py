"""Enrolment: what a few phrases, read once, teach of one speaker at one microphone.

The acoustic model's means are moved to where his phones are, for use in noise. Measured on 25 November 2026
on 36 number phrases of two development jobs by each of three free voices, enrolled with these ten phrases:
in shop noise at 15 dB 185 of 885 words came out wrong instead of 216, and the numbers of 70 of 108 phrases
right instead of 64; in a quiet room 80 words either way, better for one voice and worse for another. So in
quiet everybody is heard with the model as it comes. What it does for people's voices has not
been measured, nor what it does since a little of the noise is let through (capture/engines/sphinx.py).
"""

from __future__ import annotations

import tempfile
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from difflib import SequenceMatcher
from pathlib import Path
from typing import Protocol

from capture.engines.acoustic_model import read_acoustic_model
from capture.engines.alignment import Aligner
from capture.engines.numbers_heard import number_word
from capture.engines.speaker import Speaker, Transform
from capture.engines.sphinx import quieted
from capture.engines.sphinx_decoder import acoustic_model_folder
from capture.engines.voice import Voice
from capture.engines.word_graph import WordGraph
from capture.enrolment_phrases import ReadPhrase, enrolment_phrases, phrases_read
from capture.noise import estimate_snr_db
from capture.segments import Segment, cut_segments
from capture.sound_blocks import Samples
from capture.sound_check import SoundCheck, SoundChecker
from capture.vocabulary.accents import Shift
from capture.vocabulary.pronunciations import dictionary_text
from capture.vocabulary.spoken_words import dictionary_words, plain_text
from capture.vocabulary.train_letter_to_sound import edit_distance
from shared.errors import EnrolmentTooLittle
from shared.speech import Utterance

#: Below this many phrases nothing can be said of a speaker.
_LEAST_PHRASES = 6
#: Frames of 10 ms that must be laid along the phrases before the model is moved by them.
_LEAST_FRAMES = 1500
#: A speaker's threshold is never set above this: beyond it everything would be asked about.
_MOST_THRESHOLD = 0.8


class Hearing(Protocol):
    """An engine, as far as it is needed here."""

    def hear(self, segment: Segment) -> Utterance | None:
        """Return what was said in a segment."""


@dataclass(frozen=True)
class Enrolment:
    """What was learnt of a speaker."""

    phrases: int
    """How many were understood and used."""
    check: SoundCheck
    words: int
    words_wrong: int
    """Of the words read."""
    transform: Transform | None
    """None where too little could be laid along the phrases."""
    voice: tuple[float, ...]
    """The memory of :class:`capture.engines.voice.Voice`."""
    shifts: tuple[Shift, ...]
    """The phones that he says otherwise than the dictionary, so far."""
    threshold: float | None
    """Numbers less sure than this are asked about; None where none or one was heard wrong."""


def enrol(recordings: Sequence[Iterable[Samples]], engine: Hearing) -> Enrolment:
    """Learn from one speaker's reading of the phrases.

    Args:
        recordings: one or several, in order; each the blocks of a recording, int16, mono, 16 kHz.
        engine: to hear with.

    Raises:
        EnrolmentTooLittle: fewer than six of the phrases were found in it.
        EngineFailed: the engine gave up.
    """
    segments, check = _cut(recordings)
    read = phrases_read(segments, [_words(engine, segment) for segment in segments])
    understood = sum(phrase.phrases for phrase in read)
    if understood < _LEAST_PHRASES:
        raise EnrolmentTooLittle(
            f"{understood} of the {len(enrolment_phrases())} phrases were understood",
            expected=f"at least {_LEAST_PHRASES}",
            remedy="read the list of --print-phrases, in its order, a pause after each; see bench-check",
        )
    heard = [_heard(engine, phrase) for phrase in read]
    with _phrase_dictionary(read) as dictionary:
        transform, voice = _transform(read, dictionary), _voice(read, dictionary)
    return Enrolment(
        phrases=understood,
        check=check,
        words=sum(len(words) for words, _ in heard),
        words_wrong=sum(_wrong_words(*one) for one in heard),
        transform=transform,
        voice=voice.memory,
        shifts=voice.shifts,
        threshold=_threshold(heard),
    )


def _cut(recordings: Sequence[Iterable[Samples]]) -> tuple[list[Segment], SoundCheck]:
    checker, segments = SoundChecker(), []
    for blocks in recordings:
        for segment in cut_segments(checker.passing(blocks)):
            checker.segment(segment)
            segments.append(segment)
    return segments, checker.finish()


@contextmanager
def _phrase_dictionary(read: Sequence[ReadPhrase]) -> Iterator[Path]:
    with tempfile.TemporaryDirectory(prefix="witnessmark-") as folder:
        dictionary = Path(folder) / "phrases.dict"
        words = (word for phrase in read for word in phrase.words)
        dictionary.write_text(dictionary_text(words), encoding="ascii")
        yield dictionary


def _transform(read: Sequence[ReadPhrase], dictionary: Path) -> Transform | None:
    """Return what the phrases ask for; None where too little of them could be laid along the sound."""
    acoustic_model = acoustic_model_folder()
    with Aligner(acoustic_model, dictionary) as aligner:
        found = [aligner.align(phrase.words, _quieted(phrase.segment.samples)) for phrase in read]
    speaker = Speaker(read_acoustic_model(acoustic_model))
    # Twice: the second time frames are laid to means that were moved already.
    for _ in range(2):
        for aligned in found:
            if aligned is not None:
                speaker.learn(aligned)
        if speaker.frames < _LEAST_FRAMES:
            return None
        transform = speaker.transform()
    return transform


def _voice(read: Sequence[ReadPhrase], dictionary: Path) -> Voice:
    """Return what the phrases teach of vocal tract and accent."""
    voice = Voice(WordGraph(acoustic_model_folder(), dictionary))
    # Twice: the second time they are laid along with the tract that the first has taught.
    for _ in range(2):
        for phrase in read:
            voice.learn(phrase.words, _quieted(phrase.segment.samples))
    return voice


def _quieted(samples: Samples) -> Samples:
    return quieted(samples, estimate_snr_db(samples))


_Heard = tuple[tuple[str, ...], tuple[tuple[str, float], ...]]
"""The words that were read, and the words heard with their confidences."""


def _heard(engine: Hearing, phrase: ReadPhrase) -> _Heard:
    utterance = engine.hear(phrase.segment)
    words = utterance.words if utterance is not None else ()
    return _plain(" ".join(phrase.words)), tuple((word.text, word.confidence) for word in words)


def _words(engine: Hearing, segment: Segment) -> list[str]:
    utterance = engine.hear(segment)
    return utterance.text.split() if utterance is not None else []


def _plain(text: str) -> tuple[str, ...]:
    return tuple(plain_text(" ".join(dictionary_words(text))).split())


def _wrong_words(read: tuple[str, ...], heard: tuple[tuple[str, float], ...]) -> int:
    return edit_distance(read, _plain(" ".join(word for word, _ in heard)))


def _threshold(heard: Sequence[_Heard]) -> float | None:
    """Return just above the confidence of the second surest number word that was heard wrong, at most 0.8.

    One that was heard wrong may be chance; two are how he is heard.
    """
    doubts = []
    for read, words in heard:
        spoken = [number_word(word) or word for word in read]
        other = [number_word(word) or word for word, _ in words]
        for kind, _, _, start, stop in SequenceMatcher(None, spoken, other, autojunk=False).get_opcodes():
            if kind in ("replace", "insert"):
                doubts += [sure for word, sure in words[start:stop] if number_word(word)]
    surest = sorted(doubts, reverse=True)
    return min(_MOST_THRESHOLD, round(surest[1] + 0.005, 2)) if len(surest) > 1 else None
