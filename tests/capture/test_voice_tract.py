"""The speaker's vocal tract: resonances moved by a known factor are found, and what is known can be kept."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from capture.engines.sphinx_decoder import acoustic_model_folder
from capture.engines.voice_tract import FACTORS, VoiceTract, factor_known
from capture.engines.word_graph import WordGraph
from tests.recorded_sound import recorded_sound

RECORDINGS = Path(__file__).parents[2] / "fixtures" / "recordings"
RATE_HZ = 16_000
_LINES = 6


@pytest.fixture(scope="module")
def dictionary() -> Path:
    import pocketsphinx

    return Path(pocketsphinx.get_model_path()) / "en-us" / "cmudict-en-us.dict"


@pytest.fixture(scope="module")
def spoken(dictionary: Path) -> list[tuple[list[str], NDArray[np.int16]]]:
    """The first lines of the demo that the dictionary can spell, with their sound."""
    known = {line.partition(" ")[0] for line in dictionary.read_text("utf-8").splitlines()}
    name = "wash-water-end-suction"
    times = json.loads((RECORDINGS / f"{name}.times.json").read_text("utf-8"))["utterances"]
    sound = recorded_sound(RECORDINGS / f"{name}.ogg")
    found = []
    for line in times:
        words = line["text"].split()
        if len(words) >= 5 and known.issuperset(words):
            margin = RATE_HZ // 4
            at = round(line["start_s"] * RATE_HZ) - margin, round(line["end_s"] * RATE_HZ) + margin
            found.append((words, sound[at[0] : at[1]]))
    assert len(found) >= _LINES
    return found[:_LINES]


def tract(dictionary: Path) -> VoiceTract:
    return VoiceTract(WordGraph(acoustic_model_folder(), dictionary))


def faster(sound: NDArray[np.int16], factor: float) -> NDArray[np.int16]:
    """The sound played faster: every frequency is multiplied by the factor, as a shorter tract's are."""
    at = np.arange(0, len(sound) - 1, factor)
    return np.interp(at, np.arange(len(sound)), sound).astype(np.int16)


@pytest.mark.long
def test_moved_resonances_are_found(
    dictionary: Path, spoken: list[tuple[list[str], NDArray[np.int16]]]
) -> None:
    factors = {}
    for moved in (1.0, 1.2):
        learner = tract(dictionary)
        for words, sound in spoken:
            learner.learn(words, faster(sound, moved))
        factors[moved] = learner.factor
    # The grid is coarse and a voice is heard through its own tract first, so only the direction is exact.
    assert factors[1.2] - factors[1.0] in (pytest.approx(0.1), pytest.approx(0.2), pytest.approx(0.3))


@pytest.mark.parametrize("frames", [100.0, 5000.0])
@pytest.mark.parametrize("gains", [(-9.0, 0.0, 200.0, 40.0, -3.0), (0.0, 0.0, 20.0, 0.0, 0.0)])
def test_who_only_hears_by_a_voice_knows_its_factor(
    dictionary: Path, frames: float, gains: tuple[float, ...]
) -> None:
    learner = tract(dictionary)
    learner.recall((7.0, frames, *gains))
    assert factor_known((*learner.memory, 1.0, 2.0)) == learner.factor
    assert factor_known(()) == factor_known(learner.memory[:-1]) == 1.0


def test_nothing_is_moved_before_enough_was_heard(
    dictionary: Path, spoken: list[tuple[list[str], NDArray[np.int16]]]
) -> None:
    learner = tract(dictionary)
    assert learner.factor == 1.0
    words, sound = spoken[0]
    learner.learn(words[:3], faster(sound, 1.3)[: RATE_HZ * 2])
    assert learner.factor == 1.0


def test_what_is_known_can_be_kept_and_goes_on_the_same(
    dictionary: Path, spoken: list[tuple[list[str], NDArray[np.int16]]]
) -> None:
    first, then = tract(dictionary), tract(dictionary)
    for words, sound in spoken[:3]:
        first.learn(words, sound)
    then.recall(json.loads(json.dumps(first.memory)))
    assert then.memory == first.memory
    for learner in (first, then):
        learner.learn(*spoken[3])
    assert then.memory == first.memory
    assert len(first.memory) == 2 + len(FACTORS)


def test_memory_of_another_shape_and_words_that_do_not_fit_are_left_alone(
    dictionary: Path, spoken: list[tuple[list[str], NDArray[np.int16]]]
) -> None:
    learner = tract(dictionary)
    learner.recall([1.0, 2.0])
    before = learner.memory
    words, _ = spoken[0]
    learner.learn(words, np.zeros(800, np.int16))
    assert learner.memory[1:] == before[1:]
