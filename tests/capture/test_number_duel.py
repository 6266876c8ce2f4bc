"""Numbers that the sound alone decides: on the demo's recordings, spoken by free voices."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from capture.engines.number_duel import NumberDuel
from capture.engines.sphinx_decoder import acoustic_model_folder
from capture.engines.word_graph import WordGraph
from tests.recorded_sound import recorded_sound

RECORDINGS = Path(__file__).parents[2] / "fixtures" / "recordings"
RATE_HZ = 16_000
BOLTS = "cap bolts seventy five drive end seventy eight non drive end"
SPEED = "running speed fourteen eighty two"


@pytest.fixture(scope="session")
def duel() -> NumberDuel:
    import pocketsphinx

    whole = Path(pocketsphinx.get_model_path()) / "en-us" / "cmudict-en-us.dict"
    return NumberDuel(WordGraph(acoustic_model_folder(), whole))


@pytest.fixture(scope="session")
def sounds() -> dict[str, NDArray[np.int16]]:
    """Lines of a recording by their text, with a quarter of a second of room at both ends."""
    name = "wash-water-split-case"
    times = json.loads((RECORDINGS / f"{name}.times.json").read_text("utf-8"))["utterances"]
    sound = recorded_sound(RECORDINGS / f"{name}.m4a")
    margin = RATE_HZ // 4
    return {
        line["text"]: sound[
            round(line["start_s"] * RATE_HZ) - margin : round(line["end_s"] * RATE_HZ) + margin
        ]
        for line in times
    }


@pytest.mark.parametrize(
    ("said", "heard"),
    [
        (BOLTS, BOLTS.replace("eight", "five")),
        (BOLTS, BOLTS.replace("seventy five", "sixteen nine")),
        (SPEED, SPEED.replace("two", "eight")),
        (SPEED, SPEED.replace("fourteen eighty", "forty eighteen")),
    ],
)
def test_number_that_does_not_sound_as_it_was_heard_loses(
    duel: NumberDuel, sounds: dict[str, NDArray[np.int16]], said: str, heard: str
) -> None:
    assert duel.winner(heard.split(), sounds[said]) == said.split()


@pytest.mark.parametrize("said", [BOLTS, SPEED])
def test_number_that_sounds_as_it_was_heard_wins(
    duel: NumberDuel, sounds: dict[str, NDArray[np.int16]], said: str
) -> None:
    assert duel.winner(said.split(), sounds[said]) == said.split()


@pytest.mark.parametrize("words", [["cap", "bolts"], []])
def test_words_without_a_number_do_not_compete(
    duel: NumberDuel, sounds: dict[str, NDArray[np.int16]], words: list[str]
) -> None:
    assert duel.winner(words, sounds[BOLTS]) is None


def test_sound_too_short_for_the_words_decides_nothing(duel: NumberDuel) -> None:
    assert duel.winner(["seventy", "eight"], np.zeros(160, np.int16)) is None


def test_word_without_pronunciation_decides_nothing_and_leaves_nothing_behind(
    duel: NumberDuel, sounds: dict[str, NDArray[np.int16]]
) -> None:
    assert duel.winner(["qqqq", "eight"], sounds[SPEED]) is None
    assert duel.winner(SPEED.split(), sounds[SPEED]) == SPEED.split()
