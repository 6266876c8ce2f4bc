"""Where the mate touched: the stretches of a band in which its contrast is missing."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from capture.face.track_profiles import SECTORS, Array

#: How much the contrast of a touched sector may stray from that of the others, as a share of it.
_STRAY = 0.3
#: Contrast that a gap has by chance, of the light across the face, as a share of the usual.
_REST = 0.25
#: A stretch is a gap when what is left of the contrast is less than this share ...
_LEFT = 0.55
#: ... it is this many sectors long (10 degrees) ...
_LEAST_SECTORS = 2
#: ... "nothing there" is likelier than "as elsewhere" by this (natural logarithm of the ratio) ...
_LEAST_EVIDENCE = 6.0
#: ... and at both its ends this share of the contrast goes within two sectors: a lamp's highlight in which a
#: shiny track fades, or turns from bright to dark, has soft ends.
_SHARP = 0.5
#: One sharp end is enough where no more than chance is left in it and the track is bright, or dark, on both
#: its sides: a highlight or a soft touch hides the other end. From so far to so far beside it, sectors.
_BESIDE = (2, 8)
#: Within it no sector has more than this share of the usual contrast, noise apart (in its standard
#: deviations): what has, dark or bright, is a deposit.
_NOTHING, _NOISE = 0.65, 2.0
#: Stretches that are looked at.
_MOST_LOOKED_AT = 5
#: Sectors on each side from which the usual contrast of a place is taken: 90 degrees.
_AROUND = 18
_USUAL = 0.75
#: Sectors beside one that is not seen that tell nothing either.
_HALO = 2
#: Sectors that a chip or a deposit can spoil: 20 degrees.
_LONGEST_CHIP = 4


def gaps(contrast: Array, seen: Array, sound: Array) -> NDArray[np.bool_]:
    """Return which sectors were not touched.

    Args:
        contrast: of each sector alone, in standard deviations of the noise, shape = (SECTORS,).
        seen: 1 where a sector can be judged, shape = (SECTORS,).
        sound: the same without the sectors that a chip, a deposit or the like spoils.
    """
    # Where a shiny track turns from bright to dark its contrast is brief and softly nothing: that is no gap.
    bright, contrast = np.sign(contrast), np.abs(contrast)
    # Beside glare its halo reaches farther than one sees.
    seen = np.min([np.roll(seen, way) for way in range(-_HALO, _HALO + 1)], axis=0)
    seen = seen * (_long_runs(sound == 0) | (sound > 0))
    gap, done = np.zeros(SECTORS, np.bool_), np.zeros(SECTORS, np.bool_)
    for _ in range(_MOST_LOOKED_AT):
        usual = _usual(contrast, (seen > 0) & ~gap)
        evidence = np.where(done, -1e3, _evidence(contrast, usual, seen))
        first, count, total = _best_run(evidence)
        if total < _LEAST_EVIDENCE:
            break
        run = (first + np.arange(count)) % SECTORS
        done[run] = True
        if _is_gap(contrast, bright, usual, run[seen[run] > 0]):
            gap[run] = True
            continue
        # Two gaps with a short touch between them make one stretch: each by itself then.
        for part in _untouched(contrast, usual, run[seen[run] > 0]):
            if evidence[part].sum() >= _LEAST_EVIDENCE and _is_gap(contrast, bright, usual, part):
                gap[part] = True
    return gap


def _untouched(contrast: Array, usual: Array, run: NDArray[np.intp]) -> list[NDArray[np.intp]]:
    """Return what is left of a stretch between the sectors in it that the mate touched."""
    touched = contrast[run] > _NOTHING * usual[run] + _NOISE
    cuts = np.flatnonzero(np.diff(touched)) + 1
    parts = np.split(run, cuts)
    return [part for part in parts if part.size and contrast[part[0]] <= _NOTHING * usual[part[0]] + _NOISE]


def _long_runs(spoilt: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Return the spoilt sectors that lie in a stretch longer than a chip: those are judged all the same."""
    ways = range(-_LONGEST_CHIP, _LONGEST_CHIP + 1)
    rolled = np.array([np.roll(spoilt, way) for way in ways])
    windows = [rolled[first : first + _LONGEST_CHIP + 1].all(axis=0) for first in range(_LONGEST_CHIP + 1)]
    return np.asarray(np.any(windows, axis=0), np.bool_)


def _evidence(contrast: Array, usual: Array, seen: Array) -> Array:
    """Return how much likelier the rest is than the usual, logarithm of the ratio, shape = (SECTORS,)."""
    spread = 1 + (_STRAY * usual) ** 2
    rest = _REST * usual
    inside = np.clip(contrast, rest, usual)
    return np.where(seen > 0, ((inside - usual) ** 2 - (inside - rest) ** 2) / (2 * spread), 0.0)


def _is_gap(contrast: Array, bright: Array, usual: Array, run: NDArray[np.intp]) -> bool:
    if not _LEAST_SECTORS <= run.size <= SECTORS // 2:
        return False
    if contrast[run].mean() > _LEFT * usual[run].mean():
        return False
    if np.any(contrast[run[1:-1]] > _NOTHING * usual[run[1:-1]] + _NOISE):
        return False
    sharp = _falls(contrast, usual, int(run[0]), -1) + _falls(contrast, usual, int(run[-1]), 1)
    if sharp == 1:
        return bool(contrast[run].mean() <= _REST * usual[run].mean() and _stays(contrast * bright, run))
    return sharp == 2


def _stays(contrast: Array, run: NDArray[np.intp]) -> bool:
    """Return whether the track is brighter, or darker, than the face on both sides of a stretch alike."""
    beside = np.arange(*_BESIDE)
    before, after = (
        contrast[(end + way * beside) % SECTORS].sum() for end, way in ((run[0], -1), (run[-1], 1))
    )
    return bool(before * after > 0)


def _falls(contrast: Array, usual: Array, end: int, way: int) -> bool:
    """Return whether the contrast falls sharply at this end of a stretch; the end may be a sector off."""
    for _ in range(_LONGEST_CHIP):
        if contrast[(end + way) % SECTORS] > _NOTHING * usual[(end + way) % SECTORS]:
            break
        end += way
    ends = end + np.arange(-1, 2)
    fall = contrast[(ends + way) % SECTORS] - contrast[(ends - way) % SECTORS]
    return bool(fall.max() > _SHARP * usual[(end + 3 * way) % SECTORS] + _NOISE)


def _usual(contrast: Array, known: NDArray[np.bool_]) -> Array:
    """Return the contrast that the sectors around each one have, its upper quantile, shape = (SECTORS,)."""
    near = (np.arange(SECTORS)[:, None] + np.arange(-_AROUND, _AROUND + 1)) % SECTORS
    few = known[near].sum(axis=1) < _AROUND // 2
    values = np.where(known[near], contrast[near], np.nan)
    values[few, 0] = np.median(contrast[known]) if known.any() else 0.0
    # As numpy's own, which goes row by row: between the two nearest of the values there are.
    values.sort(axis=1)
    place = _USUAL * (np.isfinite(values).sum(axis=1, keepdims=True) - 1)
    low = np.floor(place).astype(np.intp)
    before = np.take_along_axis(values, low, axis=1)
    after = np.take_along_axis(values, np.ceil(place).astype(np.intp), axis=1)
    return np.asarray(before + (place - low) * (after - before), np.float64)[:, 0]


def _best_run(evidence: Array) -> tuple[int, int, float]:
    """Return first sector, length and sum of the stretch of most evidence; the ring is closed."""
    best = (0, 0, 0.0)
    twice = np.concatenate([evidence, evidence])
    total = np.concatenate([[0.0], np.cumsum(twice)])
    for count in range(1, SECTORS // 2 + 2):
        sums = total[count : count + SECTORS] - total[:SECTORS]
        at = int(np.argmax(sums))
        if sums[at] > best[2]:
            best = (at, count, float(sums[at]))
    return best
