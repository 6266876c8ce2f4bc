"""Speech probabilities, streamed, equal to those of the library's own helper on the whole."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

from capture import voice_activity
from capture.voice_activity import WINDOW_SAMPLES, VoiceActivity
from shared.errors import EngineFailed
from tests.capture.bench_talk import PHRASES, bench_talk


def streamed(sound: np.ndarray, block_samples: int) -> np.ndarray:
    activity = VoiceActivity()
    heard = [activity.hear(sound[at : at + block_samples]) for at in range(0, len(sound), block_samples)]
    return np.concatenate([*heard, activity.finish()])


def test_streamed_probabilities_equal_the_library_helper() -> None:
    """Outside check: faster_whisper.vad.SileroVADModel over the whole recording at once."""
    from faster_whisper.vad import get_vad_model

    sound = bench_talk()
    padded = np.pad(sound, (0, -len(sound) % WINDOW_SAMPLES + WINDOW_SAMPLES)).astype(np.float32) / 32768
    expected = get_vad_model()(padded)[: -(-len(sound) // WINDOW_SAMPLES)]
    np.testing.assert_allclose(streamed(sound, 8000), expected, atol=1e-4)


@pytest.mark.parametrize("block_samples", [160, 512, 5001, 100_000])
def test_probabilities_do_not_depend_on_the_blocks(block_samples: int) -> None:
    sound = bench_talk()[: 16000 * 6]
    np.testing.assert_array_equal(streamed(sound, block_samples), streamed(sound, 8000))


def test_words_are_likely_and_pauses_are_not() -> None:
    probabilities = streamed(bench_talk(), 8000)
    for phrase in PHRASES:
        first, last = (round(s * 16000) // WINDOW_SAMPLES for s in (phrase.start_s, phrase.end_s))
        assert np.mean(probabilities[first:last] > 0.5) > 0.7
    assert probabilities[: round(1.3 * 16000) // WINDOW_SAMPLES].max() < 0.1


@pytest.mark.parametrize("count", [0, 1, 511, 512, 513])
def test_the_last_window_is_filled_up(count: int) -> None:
    activity = VoiceActivity()
    assert len(activity.hear(np.zeros(count, np.int16))) == 0
    assert len(activity.finish()) == -(-count // WINDOW_SAMPLES)
    assert len(activity.finish()) == 0


def test_importing_it_does_not_import_the_speech_engine() -> None:
    program = (
        "import sys, capture.voice_activity as v; v.VoiceActivity(); print('faster_whisper' in sys.modules)"
    )
    root = Path(__file__).parents[2]
    done = subprocess.run(
        [sys.executable, "-c", program], cwd=root, capture_output=True, text=True, check=True
    )
    assert done.stdout.strip() == "False"


def test_a_missing_network_is_named(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(voice_activity, "find_spec", lambda name: None)
    with pytest.raises(EngineFailed, match="not installed"):
        voice_activity.network_file()
