"""The second pass over numbers, with a language model of the sheet alone."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from capture.engines import sphinx
from capture.engines.sphinx import SphinxEngine
from shared.job_sheet import load_job_sheet
from shared.settings import Settings
from shared.speech import Utterance, Word
from tests.capture.engine_sound import segment

SAID = "impeller bolt seventy foot pounds"


@pytest.fixture(scope="module")
def engine() -> SphinxEngine:
    return SphinxEngine(load_job_sheet("wash-water-end-suction"), Path(Settings().cache_dir))


def doubtful(text: str = SAID) -> Utterance:
    words = tuple(Word(word, n, n + 1, 0.3) for n, word in enumerate(text.split()))
    return Utterance(text, 0.0, 9.0, 0.3, words, alternatives=(text.replace("seventy", "seventeen"),))


def test_what_both_passes_hear_is_sure(engine: SphinxEngine) -> None:
    sure = engine._confirmed(doubtful(), "the impeller bolt is at seventy foot pounds")
    assert sure.confidence == 0.9
    assert sure.alternatives == ()


def test_only_words_that_both_passes_were_compared_in_are_sure(engine: SphinxEngine) -> None:
    sure = engine._confirmed(doubtful("casing bolts at seventy foot pounds"), "bolts seventy foot pounds")
    assert [word.confidence for word in sure.words] == [0.3, 0.3, 0.3, 0.9, 0.9, 0.9]


def test_letters_of_a_unit_and_words_within_a_number_are_as_sure_as_the_number(engine: SphinxEngine) -> None:
    said = "relief at a hundred and five p s i now dry"
    sure = engine._confirmed(doubtful(said), said)
    assert [word.text for word in sure.words if word.confidence == 0.3] == ["relief", "at", "now", "dry"]


@pytest.mark.parametrize("narrow", ["impeller bolt seventeen foot pounds", "impeller bolt foot pounds", ""])
def test_what_the_second_pass_hears_otherwise_stays_as_doubtful_as_it_was(
    engine: SphinxEngine, narrow: str
) -> None:
    assert engine._confirmed(doubtful(), narrow) == doubtful()


def test_surer_words_stay_as_sure_as_they_were(engine: SphinxEngine) -> None:
    surer = replace(doubtful(), confidence=0.97, words=(Word("seventy", 0, 1, 0.99),), text="seventy")
    assert engine._confirmed(surer, "seventy").confidence == 0.97
    assert engine._confirmed(surer, "seventy").words[0].confidence == 0.99


def test_a_plain_number_of_the_demo_is_heard_alike_by_both(engine: SphinxEngine) -> None:
    heard = engine.hear(segment())
    assert heard is not None
    assert heard.text.endswith("seventy foot pounds")
    assert heard.confidence >= 0.9
    assert heard.alternatives == ()


@pytest.mark.parametrize(
    ("estimated_db", "deep_db", "asked"),
    [(20.0, 45.0, True), (35.0, 30.0, True), (20.0, 30.0, False)],
    ids=["quiet, taken for noisy", "quiet", "noisy"],
)
def test_a_second_pass_is_asked_in_quiet_however_low_one_utterance_is_estimated(
    engine: SphinxEngine, monkeypatch: pytest.MonkeyPatch, estimated_db: float, deep_db: float, asked: bool
) -> None:
    second: list[str] = []

    def confirmed(utterance: Utterance, narrow: str) -> Utterance:
        second.append(narrow)
        return utterance

    monkeypatch.setattr(sphinx, "estimate_snr_db", lambda samples: estimated_db)
    monkeypatch.setattr(sphinx, "depth_db", lambda samples: deep_db)
    monkeypatch.setattr(engine, "_confirmed", confirmed)
    heard = engine.hear(segment())
    assert heard is not None
    assert heard.text.endswith("seventy foot pounds")
    assert [narrow.endswith("seventy foot pounds") for narrow in second] == [True] * asked
