"""How good a recording is for hearing: level, clipping, hum, noise, band, dropouts, with plain advice.

Measured while the sound streams by, in little memory; the same samples give the same figures, whatever
blocks they come in. The advice is common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from capture.mains_hum import Hum, HumEar
from capture.noise import estimate_snr_db
from capture.segments import Segment, SegmentCutter
from capture.sound_blocks import RATE_HZ, Samples
from capture.sound_faults import AmplitudeCounts, SpeechSpectrum, dropouts_of

Noise = Literal["quiet", "some noise", "noisy", "very noisy"]

_FULL_SCALE = 32768.0
_FRAME_SAMPLES = 320
#: Frames this far below an utterance's loud ones are pauses, not speech.
_SPEECH_SPAN_DB = 15.0
#: Of the samples of utterances. Clipping is what harms most: of 315 words in 42 quiet development phrases by
#: three voices 32 came out wrong, and 126 when the speech was raised to -5 dBFS. Below this share a cough
#: or a dropped spanner may be all that was clipped.
_CLIPPED_LEAST = 0.001
#: Signal-to-noise ratios, decibels, from which it is called so; at 30 the suppressor is left out.
_NOISE_FROM: tuple[tuple[float, Noise], ...] = (
    (30.0, "quiet"), (20.0, "some noise"), (12.0, "noisy"), (float("-inf"), "very noisy"),
)  # fmt: skip
#: A low level alone harms nothing (at -50 dBFS 31 of those 315 words wrong, raised before hearing just as
#: many, so nothing is raised); below this the converter's steps are near.
_QUIET_LEVEL_DBFS = -55.0
#: Hum this far below the speech is no longer in its way.
_HUM_HEARD_DB = -35.0
_DROPOUTS_LEAST = 3
_WIDE_ENOUGH_HZ = 5000.0


@dataclass(frozen=True, slots=True)
class SoundFinding:
    """One thing that makes a recording hard to hear."""

    code: Literal["no_speech", "clipped", "too_quiet", "hum", "noise", "narrow_band", "dropouts"]
    text: str
    """What it is and what to do, one line."""


@dataclass(frozen=True)
class SoundCheck:
    """What was measured of one recording. Levels in decibels below full scale (dBFS)."""

    length_s: float
    utterances: int
    speech_s: float
    """Seconds of utterances, the silence at their ends included."""
    level_dbfs: float | None
    """Of speech while speaking (root mean square); None where nobody speaks, as in all below."""
    clipped_share: float
    """Of the samples of utterances, 0 to 1."""
    snr_db: float | None
    """Median over the utterances."""
    noise: Noise | None
    hum: Hum | None
    band_top_hz: float | None
    """Where the speech is cut off; None where it is not."""
    dropouts: int
    """How often the sound breaks off within an utterance."""
    findings: tuple[SoundFinding, ...] = field(default=())


def noise_class(snr_db: float) -> Noise:
    """Return what a signal-to-noise ratio is called."""
    return next(name for least, name in _NOISE_FROM if snr_db >= least)


def check_sound(blocks: Iterable[Samples]) -> SoundCheck:
    """Measure a whole recording.

    Args:
        blocks: int16, mono, 16 kHz, of any lengths.
    """
    checker, cutter = SoundChecker(), SegmentCutter()
    for block in checker.passing(blocks):
        for segment in cutter.hear(block):
            checker.segment(segment)
    for segment in cutter.finish():
        checker.segment(segment)
    return checker.finish()


class SoundChecker:
    """Measures one recording while somebody else cuts it into utterances."""

    def __init__(self) -> None:
        self._samples = 0
        self._hum = HumEar()
        self._amplitudes = AmplitudeCounts()
        self._spectrum = SpeechSpectrum()
        self._levels: list[float] = []
        self._ratios_db: list[float] = []
        self._speech_s = 0.0
        self._dropouts = 0

    def passing(self, blocks: Iterable[Samples]) -> Iterator[Samples]:
        """Yield blocks as they come, having heard them."""
        for block in blocks:
            self._samples += len(block)
            self._hum.hear(block)
            yield block

    def segment(self, segment: Segment) -> None:
        """Take in an utterance of the sound that passed."""
        samples = segment.samples
        power = speech_power(samples)
        if not power:
            return
        self._levels.append(power)
        self._ratios_db.append(estimate_snr_db(samples))
        self._speech_s += len(samples) / RATE_HZ
        self._amplitudes.add(samples)
        self._spectrum.add(samples)
        self._dropouts += dropouts_of(samples)

    def finish(self) -> SoundCheck:
        """Return what was measured."""
        level = snr = None
        if self._levels:
            level = 10 * float(np.log10(np.mean(self._levels) / _FULL_SCALE**2))
            snr = float(np.median(self._ratios_db))
        check = SoundCheck(
            length_s=self._samples / RATE_HZ,
            utterances=len(self._levels),
            speech_s=self._speech_s,
            level_dbfs=level,
            clipped_share=self._amplitudes.clipped_share(),
            snr_db=snr,
            noise=None if snr is None else noise_class(snr),
            hum=self._hum.found(),
            band_top_hz=self._spectrum.top_hz(),
            dropouts=self._dropouts,
        )
        return SoundCheck(**{**vars(check), "findings": tuple(_findings(check))})


def speech_power(samples: Samples) -> float:
    """Return the mean power of the loud frames of an utterance, those that are speech.

    Args:
        samples: int16, mono, 16 kHz.

    Returns:
        Mean square of samples, 0 where there is nothing.
    """
    whole = samples[: len(samples) - len(samples) % _FRAME_SAMPLES].reshape(-1, _FRAME_SAMPLES)
    power: NDArray[np.float64] = np.square(whole, dtype=np.float64).mean(axis=1)
    if not power.size or not power.max():
        return 0.0
    loud = float(np.percentile(power, 95)) or float(power.max())
    return float(power[power >= loud * 10 ** (-_SPEECH_SPAN_DB / 10)].mean())


def _findings(check: SoundCheck) -> Iterator[SoundFinding]:
    if check.level_dbfs is None or check.snr_db is None:
        yield SoundFinding("no_speech", "no speech was found; is this the microphone that you speak into?")
        return
    if check.clipped_share >= _CLIPPED_LEAST:
        yield SoundFinding(
            "clipped",
            f"too loud: {100 * check.clipped_share:.1f} % of the samples are clipped; move the microphone"
            " away or turn its gain down",
        )
    if check.level_dbfs < _QUIET_LEVEL_DBFS:
        yield SoundFinding(
            "too_quiet",
            f"too quiet: speech at {check.level_dbfs:.0f} dBFS; bring the microphone nearer or turn its gain"
            " up",
        )
    if check.hum is not None and check.hum.level_dbfs - check.level_dbfs > _HUM_HEARD_DB:
        below = check.level_dbfs - check.hum.level_dbfs
        how_far = f"{below:.0f} dB below the speech" if below >= 1 else "as loud as the speech"
        yield SoundFinding(
            "hum",
            f"mains hum: {check.hum.base_hz} Hz and its harmonics, {how_far}; run the"
            " recorder on its battery, or keep its cable away from motors and drives",
        )
    if check.noise == "very noisy":
        yield SoundFinding(
            "noise",
            f"very noisy: the speech is only {check.snr_db:.0f} dB above the noise; bring the microphone to"
            " the mouth or stop what makes the noise while you say a reading; expect many questions",
        )
    if check.band_top_hz is not None and check.band_top_hz < _WIDE_ENOUGH_HZ:
        yield SoundFinding(
            "narrow_band",
            f"narrow sound: nothing above {check.band_top_hz / 1000:.1f} kHz, as over a telephone or a"
            " hands-free headset; record with the device's own microphone",
        )
    if check.dropouts >= _DROPOUTS_LEAST:
        yield SoundFinding(
            "dropouts",
            f"the sound breaks off {check.dropouts} times while somebody speaks, as over a weak wireless"
            " link; go nearer to the receiver or take a cable",
        )
