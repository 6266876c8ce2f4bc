"""Signal-to-noise ratio against known mixtures; suppression that keeps length and times."""

from __future__ import annotations

import subprocess
import sys
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from capture import noise
from capture.engines.sphinx import quieted
from capture.noise import depth_db, estimate_snr_db, suppress_noise
from capture.segments import cut_segments
from shared.errors import EngineFailed
from tests.capture.bench_talk import PHRASES, bench_talk, in_noise, shop_noise, speech_power

KINDS = ["white", "pink", "compressor", "grinder"]


@cache
def errors_db(kind: str, snr_db: int) -> list[float]:
    """Estimate minus truth for each utterance of the recording in known noise."""
    mixed = in_noise(kind, snr_db)
    hiss = shop_noise(len(mixed), kind) * np.sqrt(speech_power() / 10 ** (snr_db / 10))
    spoken = np.zeros(len(mixed), bool)
    for phrase in PHRASES:
        spoken[round(phrase.start_s * 16000) : round(phrase.end_s * 16000)] = True
    found = []
    for segment in cut_segments([mixed]):
        part = slice(round(segment.start_s * 16000), round(segment.end_s * 16000))
        voice = bench_talk()[part][spoken[part]].astype(float)
        truth_db = 10 * np.log10(np.mean(voice**2) / np.mean(hiss[part] ** 2))
        found.append(estimate_snr_db(segment.samples) - truth_db)
    return found


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("snr_db", [30, 15, 10, 5])
def test_snr_is_near_that_of_known_mixtures(kind: str, snr_db: int) -> None:
    errors = errors_db(kind, snr_db)
    assert len(errors) >= 7
    assert abs(np.mean(errors)) < 1.5
    assert np.abs(errors).max() < 4


@pytest.mark.parametrize("kind", KINDS)
def test_snr_falls_as_noise_rises(kind: str) -> None:
    medians = [float(np.median([e + snr for e in errors_db(kind, snr)])) for snr in (30, 15, 5)]
    assert medians[0] > medians[1] + 8 > medians[2] + 12


@pytest.mark.parametrize(
    "samples",
    [
        np.zeros(0, np.int16),
        np.zeros(100, np.int16),
        np.zeros(16000, np.int16),
        np.full(16000, 3000, np.int16),
    ],
    ids=["none", "too short", "silence", "direct current"],
)
def test_snr_of_what_holds_no_speech_is_the_least(samples: np.ndarray) -> None:
    assert estimate_snr_db(samples) == -20.0


def lag_samples(one: np.ndarray, other: np.ndarray) -> int:
    """By how much ``other`` lags behind ``one``: where their cross-correlation is highest."""
    size = 1 << (len(one) + len(other)).bit_length()
    correlation = np.fft.irfft(
        np.fft.rfft(other.astype(float), size) * np.conj(np.fft.rfft(one.astype(float), size))
    )
    best = int(np.argmax(correlation))
    return best if best < size // 2 else best - size


@pytest.mark.parametrize("count", [1, 159, 160, 161, 5000, 48123])
def test_suppression_keeps_the_length(count: int) -> None:
    sound = in_noise("pink", 10)[16000 : 16000 + count]
    quiet = suppress_noise(sound)
    assert (len(quiet), quiet.dtype) == (count, np.int16)


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("snr_db", [40, 10])
def test_suppression_keeps_times_to_a_sample(kind: str, snr_db: int) -> None:
    sound = in_noise(kind, snr_db)[16000 * 12 : 16000 * 15]
    assert abs(lag_samples(bench_talk()[16000 * 12 : 16000 * 15], suppress_noise(sound))) <= 1


@pytest.mark.parametrize("kind", KINDS)
def test_suppression_lowers_the_noise_and_keeps_the_voice(kind: str) -> None:
    sound = in_noise(kind, 10)[16000 * 13 : 16000 * 17]
    clean = bench_talk()[16000 * 13 : 16000 * 17].astype(float)
    quiet = suppress_noise(sound).astype(float)
    before, after = np.mean((sound - clean)[:16000] ** 2), np.mean((quiet - clean)[8000:16000] ** 2)
    assert 10 * np.log10(before / after) > 10
    assert np.corrcoef(quiet, clean)[0, 1] > 0.9


def test_suppression_of_one_utterance_does_not_depend_on_another() -> None:
    sound = in_noise("white", 10)[16000 * 4 : 16000 * 6]
    first = suppress_noise(sound)
    suppress_noise(in_noise("grinder", 0)[:16000])
    np.testing.assert_array_equal(suppress_noise(sound), first)


def test_full_scale_sound_does_not_wrap_round() -> None:
    t = np.arange(32000) / 16000
    loud = np.clip(60000 * np.sin(2 * np.pi * 180 * t) * (np.sin(2 * np.pi * 3 * t) > 0), -32768, 32767)
    jumps = np.abs(np.diff(suppress_noise(loud.astype(np.int16)).astype(int)))
    assert jumps.max() < 45000


def test_loading_the_suppressor_loads_nothing_heavy() -> None:
    program = (
        "import sys, numpy as np, capture.noise as n; n.suppress_noise(np.zeros(500, np.int16));"
        "print([m for m in ('pyrnnoise', 'audiolab', 'matplotlib', 'scipy', 'av') if m in sys.modules])"
    )
    root = Path(__file__).parents[2]
    done = subprocess.run(
        [sys.executable, "-c", program], cwd=root, capture_output=True, text=True, check=True
    )
    assert done.stdout.strip() == "[]"


def test_a_missing_suppressor_is_named(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(noise, "find_spec", lambda name: None)
    noise._library.cache_clear()
    with pytest.raises(EngineFailed, match="pyrnnoise is not installed"):
        suppress_noise(np.zeros(500, np.int16))


def silent_share(samples: np.ndarray) -> float:
    """Share of 10 ms frames in which nothing at all sounds."""
    frames = samples[: len(samples) // 160 * 160].reshape(-1, 160)
    return float((np.abs(frames).max(axis=1) == 0).mean())


@pytest.mark.parametrize("kind", KINDS)
def test_the_decoder_gets_no_digital_silence_of_a_noisy_room(kind: str) -> None:
    for segment in list(cut_segments([in_noise(kind, 15)]))[:3]:
        heard = quieted(segment.samples, estimate_snr_db(segment.samples))
        assert heard.dtype == np.int16
        assert len(heard) == len(segment.samples)
        assert silent_share(heard) < 0.02
        assert frame_power(heard) < frame_power(segment.samples) / 30  # and yet little of the noise


def frame_power(samples: np.ndarray) -> float:
    """Power that the quietest tenth of the 10 ms frames stay below."""
    frames = samples[: len(samples) // 160 * 160].reshape(-1, 160).astype(float)
    return float(np.percentile((frames**2).mean(axis=1), 10))


def test_a_quiet_room_goes_to_the_decoder_untouched() -> None:
    segment = next(cut_segments([in_noise("white", 45)]))
    assert quieted(segment.samples, estimate_snr_db(segment.samples)) is segment.samples


@pytest.mark.parametrize("kind", ["white", "compressor"])
def test_how_deep_the_quietest_moment_lies_tells_noise_from_quiet(kind: str) -> None:
    loud, quiet = (
        [depth_db(segment.samples) for segment in cut_segments([in_noise(kind, level)])] for level in (15, 40)
    )
    assert max(loud) < 25 < 38 < min(quiet)


def test_silence_has_no_depth() -> None:
    assert depth_db(np.zeros(16000, np.int16)) == 0.0
    assert depth_db(np.zeros(10, np.int16)) == 0.0
