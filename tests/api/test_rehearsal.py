"""A rehearsal tells what of a sheet would be misheard."""

from __future__ import annotations

import json
from collections.abc import Iterable
from pathlib import Path

import numpy as np
import pytest

from api.cli import run
from api.rehearsal import Rehearsal, Take, guessed_words, name_as_heard, names_alike, rehearse
from api.rehearsal_phrases import RehearsalPhrase, rehearsal_phrases, sample_values
from api.rehearsal_text import rehearsal_lines
from capture.engines.engine import SegmentEngine
from capture.segments import Segment
from shared.job_sheet import JobSheet, load_job_sheet, shipped_sheet_ids
from shared.speech import Utterance
from tests.api.processing import write_wav
from tests.capture.bench_talk import PHRASES, phrase_sound
from tests.conftest import need_program

SHEET = """
id: planter-gearbox
title: Right-angle gearbox of a planter
units: {length: mm, torque: N_m}
positions: {input: [input end], output: [output end]}
readings:
  - {item: backlash, say: [backlash], unit: mm, lower: 0.12, upper: 0.24, plausible: [0, 2]}
  - {item: suction_ring, say: suction ring, unit: mm, lower: 40.01, upper: 40.06, positions: [input, output]}
  - {item: section_ring, say: [section ring], unit: mm, lower: 20.0, upper: 20.4}
parts:
  - {part: zwurmel_disc, say: [zwurmel disc], policy: renew}
steps:
  - {step: oil_filled, say: [oil filled], required: true}
"""


@pytest.fixture
def path(tmp_path: Path) -> Path:
    path = tmp_path / "planter-gearbox.yaml"
    path.write_text(SHEET, "utf-8")
    return path


@pytest.fixture
def sheet(path: Path) -> JobSheet:
    return load_job_sheet(path)


class Hears(SegmentEngine):
    """An engine that is told what it hears."""

    name, model, reason, identity = "scripted", "", "", ""

    def __init__(self, texts: Iterable[str]) -> None:
        self._texts = iter(texts)

    def hear(self, segment: Segment) -> Utterance | None:
        text = next(self._texts)
        return Utterance(text, segment.start_s, segment.end_s) if text else None


def rehearsed(sheet: JobSheet, hearings: dict[str, str]) -> Rehearsal:
    quiet = np.zeros(16000, np.int16)
    sound = np.concatenate([quiet, phrase_sound(PHRASES[0].words), quiet])
    phrases = {phrase.text: phrase for phrase in rehearsal_phrases(sheet)}
    takes = [Take(phrases[said], "rms", sound) for said in hearings]
    return rehearse(sheet, Hears(hearings.values()), takes, lambda _: None)


def text_of(sheet: JobSheet, name: str, nth: int = 0) -> str:
    return [phrase.text for phrase in rehearsal_phrases(sheet) if phrase.name == name][nth]


def test_everything_on_a_sheet_is_said_and_numbered(sheet: JobSheet) -> None:
    phrases = rehearsal_phrases(sheet)
    assert [phrase.number for phrase in phrases] == list(range(1, len(phrases) + 1))
    assert {phrase.name for phrase in phrases} == {
        "backlash", "suction_ring", "section_ring", "zwurmel_disc", "oil_filled",
    }  # fmt: skip
    assert {phrase.position for phrase in phrases if phrase.name == "suction_ring"} == {"input", "output"}
    assert phrases == rehearsal_phrases(sheet)


@pytest.mark.parametrize("shipped", shipped_sheet_ids())
def test_values_lie_inside_and_outside_of_the_limits(shipped: str) -> None:
    sheet = load_job_sheet(shipped)
    for entry in sheet.measured.values():
        values = list(sample_values(entry))
        assert all(value >= 0 for value in values)
        if entry.upper is not None and (entry.plausible is None or entry.plausible[1] > entry.upper):
            assert any(value > entry.upper for value in values)
        low = entry.lower if entry.lower is not None else min(values)
        high = entry.upper if entry.upper is not None else max(values)
        assert any(low <= value <= high for value in values)
    said = {form for phrase in rehearsal_phrases(sheet) for form in [phrase.form]}
    for group in (sheet.readings, sheet.fasteners, sheet.parts, sheet.steps, sheet.consumables):
        assert said >= {form for entry in group for form in entry.spoken}


def test_what_is_heard_right_is_right(sheet: JobSheet) -> None:
    said = text_of(sheet, "backlash")
    (take,) = rehearsed(sheet, {said: said}).takes
    assert (take.outcome, take.name_as_heard, take.numbers_right) == ("right", None, True)


def test_a_wrong_number_filed_unasked_is_wrong_and_its_item_is_weak(sheet: JobSheet) -> None:
    said = text_of(sheet, "backlash")
    rehearsal = rehearsed(sheet, {said: "backlash point one five millimeters"})
    assert rehearsal.takes[0].outcome == "wrong"
    assert [(item, wrong, of) for item, wrong, of, _ in rehearsal.weak_numbers()] == [("backlash", 1, 1)]
    assert any("backlash, 1 of 1" in line for line in rehearsal_lines(rehearsal))


def test_a_reading_that_goes_to_another_item_is_a_confusion(sheet: JobSheet) -> None:
    said = text_of(sheet, "suction_ring")
    heard = said.replace("suction ring", "section ring").replace("input end", "")
    rehearsal = rehearsed(sheet, {said: heard})
    assert list(rehearsal.confused()) == [("suction_ring", "section_ring")]
    assert list(rehearsal.misheard_names()) == [("suction ring", 1, 1, "section ring")]


def test_nothing_heard_is_lost(sheet: JobSheet) -> None:
    rehearsal = rehearsed(sheet, {text_of(sheet, "oil_filled"): ""})
    assert rehearsal.counts() == {"right": 0, "asked": 0, "wrong": 0, "lost": 1, "not_read": 0}
    assert rehearsal.takes[0].name_as_heard == ""


def test_guessed_words_and_names_alike_are_told_without_any_sound(sheet: JobSheet) -> None:
    assert [word.word for word in guessed_words(sheet)] == ["zwurmel"]
    assert names_alike(sheet) == [("suction ring", "section ring")]


@pytest.mark.parametrize(
    ("said", "form", "heard", "instead"),
    [
        ("neck ring four thou", "neck ring", "neck ring five thou", None),
        ("neck ring four thou", "neck ring", "next ring four thou", "next ring"),
        ("new o ring fitted", "o ring", "new oh ring fitted", "oh ring"),
        ("oil filled", "oil filled", "", ""),
    ],
)
def test_what_stands_in_place_of_a_name(said: str, form: str, heard: str, instead: str | None) -> None:
    assert name_as_heard(said, form, heard) == instead


def test_phrases_are_printed_with_their_numbers(path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["sheet", "rehearse", str(path), "--print-phrases"]) == 0
    out = capsys.readouterr().out
    first: RehearsalPhrase = rehearsal_phrases(load_job_sheet(path))[0]
    assert f"\n1. {first.text}\n" in out


def test_a_folder_without_numbered_recordings_is_refused(
    path: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    write_wav(tmp_path / "mine.wav", np.zeros(16000))
    assert run(["sheet", "rehearse", str(path), "--recordings", str(tmp_path)]) == 2
    assert "named by the number" in capsys.readouterr().err


def test_without_voices_it_is_said_what_to_do(
    path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("PATH", "")
    assert run(["sheet", "rehearse", str(path)]) == 2
    assert "--print-phrases, then --recordings" in capsys.readouterr().err


@pytest.mark.long
def test_free_voices_read_own_recordings_are_heard(
    path: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    need_program("flite")
    from capture.free_voices import speak

    monkeypatch.setenv("WITNESSMARK_CACHE_DIR", str(tmp_path / "cache"))
    folder = tmp_path / "mine"
    folder.mkdir()
    for phrase in rehearsal_phrases(load_job_sheet(path))[:2]:
        write_wav(folder / f"{phrase.number:02}.wav", speak(phrase.text, "rms"))
    assert run(["sheet", "rehearse", str(path), "--recordings", str(folder), "--json"]) == 0
    told = capsys.readouterr()
    found = json.loads(told.out)
    assert [take["phrase"]["number"] for take in found["takes"]] == [1, 2]
    assert all(take["name_as_heard"] is None for take in found["takes"])
    assert found["guessed"][0]["word"] == "zwurmel"
    assert "2 of " in told.err
