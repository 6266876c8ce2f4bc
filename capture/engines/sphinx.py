"""The offline default: pocketsphinx with a vocabulary compiled from the job sheet."""

from __future__ import annotations

import tempfile
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np

from capture.engines.engine import SegmentEngine, hash_of
from capture.engines.lattice import Heard, likely_sequences
from capture.engines.number_doubts import (
    are_likeliest,
    in_numbers,
    is_well_formed,
    number_confidences,
    only_leaves_out,
    with_joints,
)
from capture.engines.number_duel import NumberDuel
from capture.engines.numbers_heard import carries_number, number_word
from capture.engines.room_noise import RoomNoise
from capture.engines.speaker import Enrolled
from capture.engines.sphinx_decoder import (
    FRAME_S,
    LANGUAGE_WEIGHT,
    DecodedWord,
    Decoding,
    SphinxDecoder,
    acoustic_model_folder,
)
from capture.engines.suppressed_sounds import suppressed_sounds, with_suppressed
from capture.engines.telling_words import TellingWords
from capture.engines.voice import Voice
from capture.engines.word_doubts import word_confidences
from capture.engines.word_graph import WordGraph
from capture.noise import depth_db, estimate_snr_db, suppress_noise
from capture.segments import Segment
from capture.sound_blocks import Samples
from capture.vocabulary import compile_vocabulary
from capture.vocabulary.accents import with_accent
from capture.vocabulary.spoken_words import plain_text
from shared.job_sheet import JobSheet
from shared.speech import Utterance, Word

#: Bump when the same sound would be heard otherwise.
_HEARING = "21"
_MOST_ALTERNATIVES = 4
#: Sound and language are both too sure of themselves by about the weight of the language.
_POSTERIOR_SCALE = 7.0
#: Another number is worth a question from this share of the likeliest one's posterior.
_COMPARABLE = 0.1
#: One that only lacks words of it ("line ninety" for "one ninety") is a worse hearing of the same number.
_COMPARABLE_WITH_LESS = 0.5
#: An utterance whose words are doubtful on average and that fits its sound badly is not what was said: on
#: development speech all readings misheard without a rival in the lattice were of such, few right ones.
_CLEAR_MEAN = 0.85
_CLEAR_A_FRAME = -3.9
_UNCLEAR = 0.45
#: So much better a frame does sound fit means that were moved to the speaker, right or wrong (nats; mean over
#: 36 development phrases by three voices at 15 dB); taken off, so that what is unclear stays so.
_ADAPTED_FIT = 0.11
#: What a hearing is still worth whose number nobody would say so ("you hundred and forty").
_MALFORMED = 0.05
#: What a number is worth that two passes with other language models heard alike.
_AGREED = 0.9
#: Below this estimate the sound goes through the noise suppressor first. On development sentences in shop
#: noise suppressing helps at every level from 35 dB down (at 15 dB 44 % of words wrong become 26 %); in quiet
#: it costs numbers.
_QUIET_FROM_SNR_DB = 30.0
#: From this depth of its quietest below its loudest moment an utterance was said in quiet, however low it is
#: estimated by itself, and what a second pass hears alike is surer. (Half of the utterances of a quiet room
#: are estimated low enough for the suppressor, which harms them no longer.) Depths of development speech (5
#: and 3 jobs): 43 to 48 dB in a quiet room, 35 to 43 in noise at 35 dB, 17 to 29 at 15 dB. Four retired jobs
#: in quiet, 141 readings: 107 right unasked with it, 100 without, 3 silently wrong both.
_CONFIRMED_FROM_DEPTH_DB = 40.0
#: Share of the sound that goes past the suppressor. It leaves gaps of digital silence, which the acoustic
#: model never met and takes for sounds of speech. 19 lines each of 11 development jobs at 15 dB: words wrong
#: 18.8 % instead of 21.9 %, lines whose numbers all came out right 70 % instead of 58 %. Measured at no other
#: level, and the limits above that tell an unclear utterance were set before it.
LET_THROUGH = 0.05
#: Added to the likelihood ratio so that zero parts job talk from chatter best on development sentences.
_JOB_SCORE_SHIFT = 0.12


class SphinxEngine(SegmentEngine):
    """Hears with pocketsphinx; needs no downloaded weights."""

    name = "pocketsphinx"

    def __init__(
        self, sheet: JobSheet, cache_dir: Path, *, reason: str = "asked for", enrolled: Enrolled | None = None
    ) -> None:
        self.reason = reason
        vocabulary = compile_vocabulary(sheet, cache_dir)
        self.model = f"en-us, {vocabulary.words} words of {sheet.id}"
        self.identity = hash_of(self.name, _HEARING, vocabulary.sha256, repr(suppressed_sounds()))
        if enrolled is not None:
            self.model += ", adapted to a speaker"
            self.identity = hash_of(self.identity, enrolled.identity)
        self._telling = TellingWords(sheet)
        self._vocabulary, self._transform = vocabulary, enrolled.transform if enrolled else None
        graph = WordGraph(acoustic_model_folder(), vocabulary.dictionary)
        self._voice, self._room = Voice(graph), RoomNoise()
        self._set_up(vocabulary.dictionary, graph)
        if enrolled is not None:
            self._voice.recall(enrolled.voice)
            self._follow_accent()

    def _set_up(self, dictionary: Path, graph: WordGraph) -> None:
        vocabulary = self._vocabulary
        self._shifts = self._voice.shifts
        self._duel = NumberDuel(graph)
        self._decoder = SphinxDecoder(
            vocabulary.language_model, dictionary, narrow_model=vocabulary.narrow_model
        )
        self._pronunciations = dictionary.read_text(encoding="ascii")
        self._noise_decoder: SphinxDecoder | None = None

    def _in_noise(self) -> SphinxDecoder:
        """Return the decoder of suppressed sound; made when the first comes, most rooms have none.

        In noise a speaker's own means help every voice, in quiet they harm as often (capture/enrolment.py).
        """
        if self._noise_decoder is None:
            with tempfile.TemporaryDirectory(prefix="witnessmark-") as folder:
                dictionary = Path(folder) / "suppressed.dict"
                dictionary.write_text(with_suppressed(self._pronunciations), encoding="ascii")
                self._noise_decoder = SphinxDecoder(
                    self._vocabulary.language_model,
                    dictionary,
                    self._transform,
                    self._vocabulary.narrow_model,
                )
        return self._noise_decoder

    def _follow_accent(self) -> None:
        """Hear with the pronunciations of the speaker, once they are known or no longer his."""
        if self._voice.shifts == self._shifts:
            return
        plain = self._vocabulary.dictionary.read_text(encoding="ascii")
        with tempfile.TemporaryDirectory(prefix="witnessmark-") as folder:
            dictionary = Path(folder) / "accent.dict"
            dictionary.write_text(with_accent(plain, self._voice.shifts), encoding="ascii")
            self._set_up(dictionary, WordGraph(acoustic_model_folder(), dictionary))

    def hear(self, segment: Segment) -> Utterance | None:
        """Return what was said, with word times, posteriors, number alternatives and the chatter score."""
        snr_db = estimate_snr_db(segment.samples)
        samples = quieted(segment.samples, snr_db)
        decoder = self._decoder if samples is segment.samples else self._in_noise()
        # Moved means fit the speaker as he is, with the tract that he has.
        moved = decoder is not self._decoder and self._transform is not None
        factor = 1.0 if moved else self._voice.factor
        decoding = decoder.decode(samples, factor)
        if not decoding.words:
            return None
        general = (decoder if moved else self._decoder).general_log_likelihood(samples, factor)
        if moved:
            better = _ADAPTED_FIT * decoding.frames
            decoding = replace(decoding, log_likelihood=decoding.log_likelihood - better)
            general -= better
        heard = heard_by_telling_words(decoding, self._telling)
        utterance = utterance_of(segment, decoding, heard, general, self._telling)
        depth = depth_db(segment.samples)
        utterance = replace(utterance, noisy=self._room.noisy(depth))
        in_quiet = samples is segment.samples or depth >= _CONFIRMED_FROM_DEPTH_DB
        if in_quiet and carries_number(utterance.text) and are_likeliest(utterance.text, heard):
            utterance = self._confirmed(utterance, plain_text(decoder.heard_narrowly(samples, factor)))
        utterance = self._with_rival(utterance, decoding, samples, factor)
        if decoding.log_likelihood > general:  # chatter is heard too badly to learn from
            self._voice.learn([word.text for word in decoding.words], samples)
            self._follow_accent()
        return utterance

    @property
    def memory(self) -> tuple[float, ...]:
        """What was learnt of the room and the speaker's voice."""
        return (*self._room.memory, *self._voice.memory)

    def recall(self, memory: Sequence[float]) -> None:
        """Know again what was learnt of the room and the speaker's voice."""
        self._voice.recall(self._room.recall(memory))
        self._follow_accent()

    def _confirmed(self, utterance: Utterance, narrow: str) -> Utterance:
        """Return an utterance whose numbers are surer where a pass that knows the sheet alone hears the same.

        Both passes err by what they expect, and they expect other things: what both hear in quiet is seldom
        wrong (development speech: of 149 readings none) where the lattice has no other numbers nearly as
        likely. In noise they err by the sound, and alike. Words that the narrow pass was not compared in
        stay as sure as they were.
        """
        if self._telling.of(in_numbers(narrow)) != self._telling.of(utterance.text):
            return utterance
        # A letter that tells nothing by itself is one of a unit's ("p s i").
        told = [
            _AGREED if self._telling(word.text) or len(word.text) == 1 else None for word in utterance.words
        ]
        least = with_joints([word.text for word in utterance.words], told)
        words = (
            replace(word, confidence=max(word.confidence, agreed or 0.0))
            for word, agreed in zip(utterance.words, least, strict=True)
        )
        sure = max(utterance.confidence, _AGREED)
        return replace(utterance, confidence=sure, words=tuple(words), alternatives=())

    def _with_rival(
        self, utterance: Utterance, decoding: Decoding, samples: Samples, factor: float
    ) -> Utterance:
        """Return the utterance with what its numbers sound like by themselves, where that differs."""
        words = self._duel.winner([word.text for word in decoding.words], samples, factor)
        rival = in_numbers(plain_text(" ".join(words))) if words else utterance.text
        if rival == utterance.text or rival in utterance.alternatives:
            return utterance
        return replace(utterance, alternatives=(rival, *utterance.alternatives)[:_MOST_ALTERNATIVES])


def quieted(samples: Samples, snr_db: float) -> Samples:
    """Return the sound as the decoder gets it: int16, mono, 16 kHz, suppressed where it is not quiet.

    Args:
        samples: of one utterance.
        snr_db: as estimated of it (:func:`capture.noise.estimate_snr_db`).
    """
    if snr_db >= _QUIET_FROM_SNR_DB:
        return samples
    heard = suppress_noise(samples) + LET_THROUGH * samples
    limited: Samples = np.clip(np.rint(heard), -32768, 32767).astype(np.int16)
    return limited


def utterance_of(
    segment: Segment,
    decoding: Decoding,
    heard: Sequence[Heard],
    general_log_likelihood: float,
    telling: TellingWords,
) -> Utterance:
    """Return an utterance of what was decoded.

    Args:
        segment: where it was said.
        decoding: with the job's model.
        heard: what may have been said, of the same decoding (:func:`heard_by_telling_words`).
        general_log_likelihood: of the same sound with the general model, nats.
        telling: the words that tell one reading from another.
    """
    text = in_numbers(plain_text(decoding.text))
    decoded = [
        replace(word, posterior=sure)
        for word, sure in zip(decoding.words, word_confidences(decoding.words, decoding.lattice), strict=True)
    ]
    words = _timed_words(decoded, number_confidences(text.split(), heard, telling), segment.start_s)
    mean = sum(word.posterior for word in decoding.words) / len(decoding.words)
    clear = mean >= _CLEAR_MEAN or decoding.log_likelihood >= _CLEAR_A_FRAME * decoding.frames
    clear = clear and not telling.breaks_a_number(text)
    words = [
        replace(word, text=said, confidence=word.confidence * (1.0 if clear else _UNCLEAR))
        for word, said in zip(words, text.split(), strict=True)
    ]
    numbers = [word.confidence for word in words if number_word(word.text)] if carries_number(text) else []
    return Utterance(
        text=text,
        start_s=segment.start_s,
        end_s=segment.end_s,
        confidence=min(numbers, default=mean * (1.0 if clear else _UNCLEAR)),
        words=tuple(words),
        engine=SphinxEngine.name,
        alternatives=_alternatives(text, heard, telling),
        job_score=(decoding.log_likelihood - general_log_likelihood) / max(1, decoding.frames)
        + _JOB_SCORE_SHIFT,
    )


def _timed_words(words: Sequence[DecodedWord], sure: Sequence[float | None], start_s: float) -> list[Word]:
    """Return words with times in the recording; joined ones part their time by letters.

    Args:
        words: as decoded.
        sure: confidence of each plain word as part of a number, None where it is none.
        start_s: of the segment.
    """
    timed: list[Word] = []
    for word in words:
        pieces = word.text.split("_")
        length = (word.end_frame - word.start_frame) * FRAME_S / sum(map(len, pieces))
        at = start_s + word.start_frame * FRAME_S
        for piece in pieces:
            share = sure[len(timed)]
            timed.append(
                Word(piece, at, at + length * len(piece), word.posterior if share is None else share)
            )
            at += length * len(piece)
    return timed


def heard_by_telling_words(decoding: Decoding, telling: TellingWords) -> list[Heard]:
    """Return what may have been said, texts that tell the same taken together, likeliest first."""
    if decoding.lattice is None or decoding.log_probability is None:
        return []
    shares: dict[tuple[str, ...], float] = {}
    texts: dict[tuple[str, ...], str] = {}
    sequences = likely_sequences(
        decoding.lattice, telling, decoding.log_probability, weight=LANGUAGE_WEIGHT, scale=_POSTERIOR_SCALE
    )
    for one in sequences:
        text = in_numbers(plain_text(_unmarked(one.text)))
        key = telling.of(text)
        share = one.share if is_well_formed(text) else one.share * _MALFORMED
        shares[key] = shares.get(key, 0.0) + share
        texts.setdefault(key, text)
    return sorted((Heard(shares[key], text) for key, text in texts.items()), key=lambda heard: -heard.share)


def _alternatives(text: str, heard: Sequence[Heard], telling: TellingWords) -> tuple[str, ...]:
    """Return what else the numbers of an utterance may have been."""
    own = telling.of(text)
    share = sum(one.share for one in heard if telling.of(one.text) == own)
    others = [
        one
        for one in heard
        if (told := telling.of(one.text)) != own
        and one.share >= (_COMPARABLE_WITH_LESS if only_leaves_out(own, told) else _COMPARABLE) * share
    ]
    return tuple(one.text for one in others if carries_number(one.text) or carries_number(text))[
        :_MOST_ALTERNATIVES
    ]


def _unmarked(text: str) -> str:
    """Return text without the marks of pronunciation variants (``the(2)``)."""
    return " ".join(word.partition("(")[0] for word in text.split())
