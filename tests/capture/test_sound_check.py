"""What is wrong with a recording's sound is found, what is right is left alone."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import soxr

from capture.expected_hearing import Expected, ExpectedHearing, load_expected_hearing
from capture.sound import read_sound
from capture.sound_check import SoundCheck, check_sound, noise_class
from tests.capture.bench_talk import bench_talk, in_noise

RECORDINGS = Path(__file__).parents[2] / "fixtures" / "recordings"
T = np.arange(len(bench_talk())) / 16000


def int16(sound: np.ndarray) -> np.ndarray:
    return np.clip(np.rint(sound), -32768, 32767).astype(np.int16)


def codes(check: SoundCheck) -> list[str]:
    return [finding.code for finding in check.findings]


def too_loud(gain: float) -> np.ndarray:
    talk = bench_talk().astype(float)
    return int16(talk * gain * 32767 / np.abs(talk).max())


def hum(base_hz: float, level: float) -> np.ndarray:
    return sum(np.sin(2 * np.pi * base_hz * k * T + k) / k for k in (1, 2, 3, 5, 7)) * level


@pytest.mark.parametrize("name", ["wash-water-end-suction.ogg", "wash-water-split-case.m4a"])
@pytest.mark.long
def test_a_good_recording_is_left_alone(name: str) -> None:
    check = check_sound(read_sound(RECORDINGS / name))
    assert not check.findings
    assert check.utterances > 30
    assert check.hum is None
    assert check.band_top_hz is None


@pytest.mark.parametrize("gain", [1.5, 3.0, 6.0])
@pytest.mark.parametrize("way", ["full scale", "microphone's own limit", "another rate"])
def test_clipping_is_found_however_it_came_about(gain: float, way: str) -> None:
    clipped = too_loud(gain)
    sound = {
        "full scale": lambda: clipped,
        "microphone's own limit": lambda: int16(clipped * 0.4),
        "another rate": lambda: int16(
            soxr.resample(soxr.resample(clipped * 0.7, 16000, 48000), 48000, 16000)
        ),
    }[way]()
    check = check_sound([sound])
    assert "clipped" in codes(check)
    # Silence between the utterances does not count, so it is more than of the whole recording.
    held = np.mean(np.abs(clipped.astype(int)) >= 32767)
    assert held < check.clipped_share < 2.5 * held
    assert "too loud" in check.findings[0].text


def test_loud_speech_that_just_fits_is_not_clipped() -> None:
    assert "clipped" not in codes(check_sound([too_loud(0.98)]))


@pytest.mark.parametrize("base_hz", [50, 60])
def test_mains_hum_is_found_with_its_frequency(base_hz: int) -> None:
    check = check_sound([int16(bench_talk() + hum(base_hz, 300))])
    assert "hum" in codes(check)
    assert check.hum is not None
    assert check.hum.base_hz == base_hz
    assert check.hum.level_dbfs == pytest.approx(-42.4, abs=1)


def test_hum_far_below_the_speech_is_in_nobodys_way() -> None:
    check = check_sound([int16(bench_talk() + hum(50, 30))])
    assert check.hum is not None
    assert "hum" not in codes(check)


@pytest.mark.parametrize("kind", ["white", "pink", "compressor", "grinder"])
def test_other_noise_is_no_hum_and_is_classed_by_its_level(kind: str) -> None:
    for snr_db, wanted in ((30, "some noise"), (5, "very noisy")):
        check = check_sound([in_noise(kind, snr_db)])
        assert check.hum is None
        assert check.noise == wanted
        assert ("noise" in codes(check)) == (wanted == "very noisy")


def test_telephone_sound_is_found() -> None:
    narrow = soxr.resample(soxr.resample(bench_talk().astype(float), 16000, 8000), 8000, 16000)
    check = check_sound([int16(narrow)])
    assert codes(check) == ["narrow_band"]
    assert check.band_top_hz == pytest.approx(3800, abs=300)


def test_sound_that_breaks_off_is_found() -> None:
    broken = bench_talk().copy()
    for at in np.random.default_rng(1).integers(0, len(broken) - 2000, 60):
        broken[at : at + 480] = 0
    assert "dropouts" in codes(check_sound([broken]))


@pytest.mark.parametrize("samples", [np.zeros(0, np.int16), np.zeros(160000, np.int16)])
def test_silence_says_that_nobody_spoke(samples: np.ndarray) -> None:
    assert codes(check_sound([samples])) == ["no_speech"]


def test_quiet_speech_is_told_to_come_nearer() -> None:
    assert codes(check_sound([int16(bench_talk() * 0.01)])) == ["too_quiet"]


def test_the_blocks_do_not_matter() -> None:
    sound = int16(bench_talk() + hum(50, 300))
    pieces = np.split(sound, np.sort(np.random.default_rng(3).integers(0, len(sound), 40)))
    assert check_sound(pieces) == check_sound([sound])


@pytest.mark.parametrize(
    ("snr_db", "name"),
    [(40, "quiet"), (30, "quiet"), (29, "some noise"), (12, "noisy"), (-9, "very noisy")],
)
def test_noise_classes(snr_db: float, name: str) -> None:
    assert noise_class(snr_db) == name


@pytest.mark.parametrize(("snr_db", "level"), [(40, None), (24, 15), (15, 15), (13, 15), (9, 10), (3, None)])
def test_a_recording_is_compared_with_a_level_no_quieter_than_itself(
    snr_db: float, level: float | None
) -> None:
    levels = tuple(Expected(at, 0.1, 0.9, 0.8, 0.1, 10, 0, 0.26) for at in (None, 15.0, 10.0))
    found = ExpectedHearing("2026-11-25", "abc", "bench", levels).at(snr_db)
    if snr_db == 3:
        assert found is None
    else:
        assert found is not None
        assert found.snr_db == level


def test_without_a_table_nothing_is_expected(tmp_path: Path) -> None:
    assert load_expected_hearing(tmp_path / "none.yaml") is None
