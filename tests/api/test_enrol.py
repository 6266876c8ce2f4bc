"""``witnessmark enrol`` and ``process --speaker``."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest

from api.cli import run
from capture.engines.speaker import Enrolled
from capture.engines.sphinx import SphinxEngine
from capture.engines.sphinx_decoder import acoustic_model_folder
from capture.engines.voice import Voice
from capture.engines.word_graph import WordGraph
from capture.enrolment_phrases import enrolment_phrases
from capture.segments import Segment
from capture.speaker_files import find_speaker
from capture.vocabulary.accents import Shift
from capture.vocabulary.pronunciations import general_dictionary_path
from shared.job_sheet import load_job_sheet
from shared.speech import Utterance
from tests.api.processing import RECORDING, SHEET, write_wav
from tests.conftest import need_program


@pytest.fixture
def cache(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("WITNESSMARK_CACHE_DIR", str(tmp_path / "cache"))
    return tmp_path / "cache"


def test_the_phrases_are_printed_without_a_name(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["enrol", "--print-phrases"]) == 0
    out = capsys.readouterr().out
    assert all(f". {phrase}\n" in out for phrase in enrolment_phrases())


@pytest.mark.parametrize(("arguments", "missing"), [([], "NAME"), (["sam"], "--recordings")])
def test_what_is_missing_is_said(
    arguments: list[str], missing: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["enrol", *arguments]) == 2
    assert missing in capsys.readouterr().err


def test_a_speaker_whom_nobody_enrolled_is_refused_before_anything_is_made(
    cache: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "out"
    arguments = ["process", str(RECORDING), "--sheet", SHEET, "--out", str(out), "--speaker", "sam"]
    assert run(arguments) == 2
    told = capsys.readouterr().err
    assert "no speaker 'sam' is enrolled, and nobody else is; see: witnessmark enrol --help" in told
    assert "[speaker-unknown]" in told
    assert not out.exists()
    assert run(["enrol", "sam", "--forget"]) == 2


def test_a_name_that_no_folder_can_have_is_refused_before_listening(
    cache: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    sound = write_wav(tmp_path / "phrases.wav", np.zeros(16000, np.int16))
    assert run(["enrol", "../sam", "--recordings", str(sound)]) == 2
    told = capsys.readouterr().err
    assert "'../sam' cannot be a speaker's name" in told
    assert "listening" not in told


def hear(engine: SphinxEngine, samples: np.ndarray) -> Utterance | None:
    return engine.hear(Segment(0, 0.0, len(samples) / 16000, samples))


def shifts_of(memory: tuple[float, ...]) -> tuple[Shift, ...]:
    voice = Voice(WordGraph(acoustic_model_folder(), general_dictionary_path()))
    voice.recall(memory)
    return voice.shifts


@pytest.mark.long
def test_a_reading_by_a_free_voice_is_learnt_from_and_forgotten(
    cache: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    need_program("flite")
    from capture.free_voices import speak

    sound = np.concatenate([speak(phrase, "slt") for phrase in enrolment_phrases()[:7]])
    path = write_wav(tmp_path / "phrases.wav", sound)
    assert run(["enrol", "sam", "--recordings", str(path), "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert told["phrases"] >= 6
    assert told["words_wrong"] < 0.5 * told["words"]
    speaker = find_speaker("sam", cache)
    assert speaker.enrolled.transform is not None
    assert told["accent"] == [{"phone": s.phone, "said": s.said} for s in shifts_of(speaker.enrolled.voice)]
    sheet = load_job_sheet(SHEET)
    plain = SphinxEngine(sheet, cache, enrolled=Enrolled(None, speaker.enrolled.voice))
    adapted = SphinxEngine(sheet, cache, enrolled=speaker.enrolled)
    assert len({SphinxEngine(sheet, cache).identity, plain.identity, adapted.identity}) == 3
    assert adapted.model.endswith("adapted to a speaker")
    # His voice is known from the first word on; his own means are for noise alone.
    assert adapted.memory == plain.memory
    assert adapted.memory[-len(speaker.enrolled.voice) :] == speaker.enrolled.voice
    said = speak("shaft runout at the seal two thou", "slt")
    assert hear(adapted, said) == hear(plain, said)
    noise = np.random.default_rng(2).standard_normal(len(said)) * np.std(said) / 4
    noisy = np.clip(said + noise, -32768, 32767).astype(np.int16)
    before = adapted.memory
    first = hear(adapted, noisy)
    adapted.recall(before)  # the room is noisier for having been heard
    assert hear(adapted, noisy) == first
    assert first != hear(plain, noisy)
    assert run(["enrol", "sam", "--forget"]) == 0
    assert not speaker.folder.exists()
