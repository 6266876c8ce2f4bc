"""Faults of recorded speech that show in its samples: clipped peaks, a cut-off band, dropouts."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from capture.sound_blocks import RATE_HZ, Samples

# --- clipping -------------------------------------------------------------------------------------------

_BINS = 512
_BIN_SAMPLES = 32768 // _BINS
#: Amplitudes round a limit, and an equally wide span below it to compare with, as shares of the limit. Speech
#: gets rarer the louder it is; where more samples lie at a limit than below it, something held them there.
_AT_LIMIT = (0.98, 1.02)
_BELOW_LIMIT = (0.90, 0.94)
_HELD_RATIO = 2.5
#: A limit below this is not looked for: speech that quiet is not clipped by anything met on a bench.
_LOWEST_LIMIT = 3000


class AmplitudeCounts:
    """How often each amplitude occurs in utterances.

    Clipping is seen by its flat tops, not by full scale: a microphone's own limit may lie below it, and a
    lossy codec or a change of rate moves the tops a little.
    """

    def __init__(self) -> None:
        self._counts = np.zeros(_BINS + 1, np.int64)

    def add(self, samples: Samples) -> None:
        """Count the samples of one utterance, int16."""
        bins = np.abs(samples.astype(np.int32)) // _BIN_SAMPLES
        self._counts += np.bincount(bins, minlength=_BINS + 1)

    def clipped_share(self) -> float:
        """Return the share of samples that a limit holds, 0 to 1."""
        total = int(self._counts.sum())
        if not total:
            return 0.0
        # From zero up: counts[:n] of the running sum are the samples below bin n.
        running = np.concatenate([[0], np.cumsum(self._counts)])
        held = 0
        for limit in range(_LOWEST_LIMIT // _BIN_SAMPLES, _BINS + 1):
            at, below = _between(running, limit, _AT_LIMIT), _between(running, limit, _BELOW_LIMIT)
            above = total - int(running[_edge(limit * _AT_LIMIT[1])])
            if at > _HELD_RATIO * max(1, below) and above < at / 10:
                # As many as just below would be there without any limit.
                held = max(held, at - below)
        return held / total


def _edge(bins: float) -> int:
    return min(_BINS + 1, round(bins))


def _between(running: NDArray[np.int64], limit: int, span: tuple[float, float]) -> int:
    return int(running[_edge(limit * span[1])] - running[_edge(limit * span[0])])


# --- band -----------------------------------------------------------------------------------------------

_FFT = 512
_HZ_A_BIN = RATE_HZ / _FFT
#: A telephone's edge falls by more than this within a few hundred hertz; speech itself never does.
_EDGE_DB = 22.0
_EDGE_FROM_HZ, _EDGE_TO_HZ = 2500, 6500


class SpeechSpectrum:
    """The mean power spectrum of utterances."""

    def __init__(self) -> None:
        self._sum = np.zeros(_FFT // 2 + 1)
        self._taper = np.hanning(_FFT)

    def add(self, samples: Samples) -> None:
        """Add one utterance; int16, mono, 16 kHz."""
        frames = samples[: len(samples) - len(samples) % _FFT].reshape(-1, _FFT)
        if len(frames):
            self._sum += (np.abs(np.fft.rfft(frames * self._taper, axis=1)) ** 2).sum(axis=0)

    def top_hz(self) -> float | None:
        """Return the frequency at which the speech is cut off, None where it is not."""
        if not self._sum.any():
            return None
        level_db = 10 * np.log10(np.maximum(self._sum, self._sum.max() * 1e-12))
        best, top = _EDGE_DB, None
        for hz in range(_EDGE_FROM_HZ, _EDGE_TO_HZ, 100):
            below = level_db[_bin(hz - 600) : _bin(hz - 100)].mean()
            above = level_db[_bin(hz + 200) : _bin(hz + 1200)].max()
            if below - above > best:
                best, top = float(below - above), float(hz)
        return top


def _bin(hz: float) -> int:
    return round(hz / _HZ_A_BIN)


# --- dropouts -------------------------------------------------------------------------------------------

_LEAST_GAP = RATE_HZ // 100
_BESIDE = RATE_HZ // 100
#: What is on both sides of a gap must be at least this share of the utterance's level: a word, not a pause.
_LOUD_SHARE = 0.15


def dropouts_of(samples: Samples) -> int:
    """Count where the sound of an utterance breaks off and comes back: 10 ms or more of one value.

    Args:
        samples: int16, mono, 16 kHz.
    """
    if len(samples) < 3 * _LEAST_GAP:
        return 0
    still = np.concatenate([[False], np.abs(np.diff(samples.astype(np.int32))) == 0, [False]])
    edges = np.flatnonzero(np.diff(still.astype(np.int8)))
    starts, ends = edges[::2], edges[1::2] + 1
    loud = _LOUD_SHARE * _rms(samples)
    return sum(
        _rms(samples[max(0, start - _BESIDE) : start]) > loud and _rms(samples[end : end + _BESIDE]) > loud
        for start, end in zip(starts.tolist(), ends.tolist(), strict=True)
        # A limit holds one value too, at full height: that is clipping.
        if end - start >= _LEAST_GAP and abs(int(samples[start])) < loud
    )


def _rms(samples: Samples) -> float:
    return float(np.sqrt(np.mean(np.square(samples, dtype=np.float64)))) if len(samples) else 0.0
