"""Cuts a recording into utterances, with their true times, while it streams by.

An utterance begins where speech gets likely and ends at a pause; a little sound is left on at both
ends, because "ten" and "no" are short and begin softly. Nothing depends on the size of the blocks.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from capture.sound_blocks import RATE_HZ, Samples
from capture.voice_activity import WINDOW_S, WINDOW_SAMPLES, VoiceActivity


@dataclass(frozen=True, slots=True)
class Segment:
    """The sound of one utterance."""

    number: int
    """In the recording, from 0."""
    start_s: float
    """Seconds from the start of the recording."""
    end_s: float
    """Seconds from the start of the recording."""
    samples: NDArray[np.int16]
    """Mono, 16 kHz."""


@dataclass(frozen=True, slots=True)
class Running:
    """An utterance that is not over yet."""

    start: int
    """Sample of the recording."""
    speech_end: int
    """Sample behind its last speech so far."""
    heard_until: int
    """Sample up to which speech was told from silence."""
    voiced_s: float
    """Seconds of speech in it."""

    @property
    def silence_s(self) -> float:
        """How long nobody has spoken since."""
        return (self.heard_until - self.speech_end) / RATE_HZ


@dataclass(frozen=True, slots=True)
class CuttingRules:
    """Where an utterance begins and ends. Defaults are for bench talk: short phrases, long pauses."""

    speech_from: float = 0.4
    """Probability from which it is speech."""
    speech_until: float = 0.25
    """Probability below which speech, once begun, is over."""
    least_speech_s: float = 0.096
    """Less than this is a knock on the bench, not a word."""
    least_silence_s: float = 0.6
    """A pause that ends an utterance: longer than a breath between an item and its number."""
    pad_before_s: float = 0.3
    """Left on before; what softly begins a word looks like silence."""
    pad_after_s: float = 0.25
    """Left on behind; at most the silence that ends an utterance."""
    longest_s: float = 20.0
    """Longer ones are parted at the quietest place of their second half."""

    def __post_init__(self) -> None:
        if not 0 < self.speech_until <= self.speech_from < 1:
            raise ValueError("expected 0 < speech_until <= speech_from < 1")
        if self.pad_after_s > self.least_silence_s or self.longest_s < 2 * self.least_silence_s + 1:
            raise ValueError("padding longer than the pause, or utterances too short to be parted")


def cut_segments(blocks: Iterable[Samples], rules: CuttingRules | None = None) -> Iterator[Segment]:
    """Yield the utterances of a recording as soon as each has ended.

    Args:
        blocks: int16, mono, 16 kHz, of any lengths, from the beginning of the recording.
        rules: other than the default ones.
    """
    cutter = SegmentCutter(rules)
    for block in blocks:
        yield from cutter.hear(block)
    yield from cutter.finish()


class SegmentCutter:
    """Cuts one recording; for sound that comes in live, where nothing can be iterated over."""

    def __init__(self, rules: CuttingRules | None = None) -> None:
        self._rules = rules or CuttingRules()
        self._activity = VoiceActivity()
        self._sound = _SoundWindow()
        self._levels = _Levels()
        self._window = 0
        self._number = 0
        self._start: int | None = None
        self._speech_end = 0
        self._in_speech = False
        self._previous_end = 0

    def hear(self, block: Samples) -> list[Segment]:
        """Hear a block; return the utterances that ended."""
        self._sound.add(block)
        return self._follow(self._activity.hear(block))

    @property
    def running(self) -> Running | None:
        """The utterance that is being spoken, or None."""
        if self._start is None:
            return None
        until = self._window * WINDOW_SAMPLES
        voiced_s = self._levels.voiced(until, self._rules.speech_from) * WINDOW_S
        return Running(self._start, self._speech_end, until, voiced_s)

    def sound_of_running(self, start: int, end: int) -> Samples:
        """Return a stretch of the utterance that is being spoken.

        Args:
            start: sample of the recording, not before the utterance.
            end: sample behind the last; what did not come in yet is left out.
        """
        return self._sound.between(start, end)

    def finish(self) -> list[Segment]:
        """Return the utterances that the end of the recording ends."""
        found = self._follow(self._activity.finish())
        if self._start is not None:
            found += self._close()
        return found

    def _follow(self, probabilities: NDArray[np.float32]) -> list[Segment]:
        found: list[Segment] = []
        for probability in probabilities.tolist():
            found += self._step(probability)
            self._window += 1
        if len(probabilities) and self._start is None:
            keep = round(self._rules.pad_before_s * RATE_HZ)
            self._sound.forget_before(max(self._previous_end, self._window * WINDOW_SAMPLES - keep))
        return found

    def _step(self, probability: float) -> list[Segment]:
        begin = self._window * WINDOW_SAMPLES
        if self._start is None:
            if probability < self._rules.speech_from:
                return []
            self._start = max(self._previous_end, begin - round(self._rules.pad_before_s * RATE_HZ))
            self._levels.begin(self._window)
        wanted = self._rules.speech_until if self._in_speech else self._rules.speech_from
        self._in_speech = probability >= wanted
        self._levels.add(probability, self._sound.between(begin, begin + WINDOW_SAMPLES))
        end = begin + WINDOW_SAMPLES
        if self._in_speech:
            self._speech_end = end
        elif end - self._speech_end >= self._rules.least_silence_s * RATE_HZ:
            return self._close()
        if end - self._start >= self._rules.longest_s * RATE_HZ:
            return self._part(end)
        return []

    def _close(self) -> list[Segment]:
        end = self._speech_end + round(self._rules.pad_after_s * RATE_HZ)
        found = self._emit(min(end, self._sound.end))
        self._start, self._in_speech = None, False
        return found

    def _part(self, end: int) -> list[Segment]:
        """End an utterance at its quietest place; what follows is the next one."""
        first = end - round(self._rules.longest_s / 2 * RATE_HZ)
        quietest = self._levels.quietest(first // WINDOW_SAMPLES)
        middle = quietest * WINDOW_SAMPLES + WINDOW_SAMPLES // 2
        found = self._emit(middle)
        self._start = middle
        self._levels.begin_again(quietest)
        return found

    def _emit(self, end: int) -> list[Segment]:
        assert self._start is not None
        start, self._previous_end = self._start, end
        if self._levels.voiced(end, self._rules.speech_from) * WINDOW_S < self._rules.least_speech_s:
            self._previous_end = start
            return []
        samples = self._sound.between(start, end)
        self._sound.forget_before(end)
        self._number += 1
        return [Segment(self._number - 1, start / RATE_HZ, end / RATE_HZ, samples)]


class _SoundWindow:
    """The last stretch of a stream, addressed by sample number of the whole."""

    def __init__(self) -> None:
        self.end = 0
        self._start = 0
        self._joined = np.zeros(0, np.int16)
        self._new: list[Samples] = []

    def add(self, block: Samples) -> None:
        self._new.append(block)
        self.end += len(block)

    def between(self, start: int, end: int) -> Samples:
        if self._new:
            self._joined = np.concatenate([self._joined, *self._new])
            self._new = []
        return self._joined[max(0, start - self._start) : max(0, end - self._start)].copy()

    def forget_before(self, start: int) -> None:
        if start > self._start:
            self.between(0, 0)
            self._joined = self._joined[start - self._start :].copy()
            self._start = min(start, self.end)


class _Levels:
    """Probability and level of each window of the utterance that is running."""

    _FLOOR = 1.0
    """Power of one step of the converter: what digital silence counts as."""

    def __init__(self) -> None:
        self._first = 0
        self._probabilities: list[float] = []
        self._levels_db: list[float] = []

    def begin(self, window: int) -> None:
        self._first = window
        self._probabilities, self._levels_db = [], []

    def begin_again(self, window: int) -> None:
        passed = window - self._first
        self._first = window
        del self._probabilities[:passed], self._levels_db[:passed]

    def add(self, probability: float, sound: Samples) -> None:
        power = float(np.mean(np.square(sound, dtype=np.float64))) if len(sound) else 0.0
        self._probabilities.append(probability)
        self._levels_db.append(10 * float(np.log10(max(power, self._FLOOR))))

    def voiced(self, end: int, speech_from: float) -> int:
        """Count the windows of speech before a sample."""
        count = -(-end // WINDOW_SAMPLES) - self._first
        return sum(probability >= speech_from for probability in self._probabilities[:count])

    def quietest(self, from_window: int) -> int:
        """Return the window, not before another, around which it is quietest and least like speech."""
        skip = max(0, from_window - self._first)
        # Twenty decibels between surely speech and surely none: in noise the level alone says little.
        loudness = np.array(self._levels_db[skip:]) + 20 * np.array(self._probabilities[skip:])
        smooth = np.convolve(np.pad(loudness, 1, mode="edge"), np.ones(3) / 3, "valid")
        return self._first + skip + int(np.argmin(smooth))
