"""The speaker's accent: a shift that is made again and again is found, kept, and given up when it is gone."""

from __future__ import annotations

import json
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from capture.engines.accent import Accent
from capture.engines.sphinx_decoder import acoustic_model_folder
from capture.engines.word_graph import WordGraph
from capture.vocabulary.accents import Shift, known_shifts, shifted, with_accent
from capture.vocabulary.pronunciations import dictionary_text
from tests.recorded_sound import recorded_sound

RECORDINGS = Path(__file__).parents[2] / "fixtures" / "recordings"
RATE_HZ = 16_000
_MARGIN = RATE_HZ // 4


@cache
def spoken() -> list[tuple[list[str], NDArray[np.int16]]]:
    """Lines of the demo with their sound: those with the phone that is asked about."""
    name = "wash-water-end-suction"
    times = json.loads((RECORDINGS / f"{name}.times.json").read_text("utf-8"))["utterances"]
    sound = recorded_sound(RECORDINGS / f"{name}.ogg")
    lines = [(line["text"].split(), line["start_s"], line["end_s"]) for line in times]
    return [
        (words, sound[round(start * RATE_HZ) - _MARGIN : round(end * RATE_HZ) + _MARGIN])
        for words, start, end in lines
        if len(words) < 12 and PHONE in dictionary_text({*words} - {"i"}).split()
    ][:10]


#: The dictionary is given AW wherever it has AY, so that the voice says AY for it: a shift that is known.
PHONE, OTHER = "AY", "AW"
MADE = Shift(OTHER, PHONE)


def dictionary(folder: Path, shifts: list[Shift]) -> Path:
    """As the dictionary is, with the phones of the shifts exchanged: the voice then shifts them back."""
    path = folder / f"{len(shifts)}.dict"
    words = (word for line, _ in spoken() for word in line)
    lines = [line.partition(" ") for line in dictionary_text(words).splitlines()]
    path.write_text("".join(f"{word} {shifted(phones, shifts)}\n" for word, _, phones in lines), "ascii")
    return path


def accent(path: Path) -> Accent:
    return Accent(WordGraph(acoustic_model_folder(), path))


def heard(learner: Accent, lines: slice = slice(None)) -> Accent:
    for words, sound in spoken()[lines]:
        learner.learn(words, sound, 1.0)
    return learner


@pytest.fixture(scope="module")
def learnt(tmp_path_factory: pytest.TempPathFactory) -> tuple[Accent, Accent]:
    """The same voice heard against a dictionary with one phone wrong, and against the right one."""
    folder = tmp_path_factory.mktemp("accent")
    wrong = dictionary(folder, [Shift(PHONE, OTHER)])
    return heard(accent(wrong)), heard(accent(dictionary(folder, [])))


def test_every_phone_is_one_that_the_acoustic_model_knows() -> None:
    from capture.engines.acoustic_model import read_acoustic_model

    phones = set(read_acoustic_model(acoustic_model_folder()).phones)
    for phone, shifts in known_shifts().items():
        assert {phone, *(said for shift in shifts for said in shift.said.split())} <= phones
        assert len({shift.said for shift in shifts}) == len(shifts)
    assert MADE in known_shifts()[OTHER]


def test_a_phone_that_is_said_otherwise_is_found(learnt: tuple[Accent, Accent]) -> None:
    with_shift, without = learnt
    assert MADE in with_shift.shifts
    assert MADE not in without.shifts


def test_little_talk_shifts_nothing(tmp_path: Path) -> None:
    assert heard(accent(dictionary(tmp_path, [Shift(PHONE, OTHER)])), slice(1)).shifts == ()


def test_what_is_known_can_be_kept_and_goes_on_the_same(tmp_path: Path) -> None:
    path = dictionary(tmp_path, [Shift(PHONE, OTHER)])
    first, then = accent(path), accent(path)
    heard(first, slice(6))
    then.recall(json.loads(json.dumps(first.memory)))
    assert (then.memory, then.shifts) == (first.memory, first.shifts)
    assert heard(then, slice(6, 10)).memory == heard(first, slice(6, 10)).memory


def test_memory_of_another_shape_is_left_alone(learnt: tuple[Accent, Accent]) -> None:
    with_shift, _ = learnt
    before = with_shift.memory
    with_shift.recall([1.0, 2.0])
    assert with_shift.memory == before


def test_a_word_of_one_phone_is_left_as_it_is() -> None:
    assert with_accent("oh OW\nold OW L D\n", [Shift("OW", "AH")]) == "oh OW\nold OW L D\nold(2) AH L D\n"


def test_a_shift_adds_pronunciations_and_takes_none() -> None:
    plain = "out AW T\nthirty TH ER D IY\nthirty(2) TH ER T IY\nvane V EY N\n"
    text = with_accent(plain, [Shift("AW", "AY"), Shift("ER", "AH R"), Shift("TH", "T")])
    assert text.splitlines() == [
        "out AW T",
        "out(2) AY T",
        "thirty TH ER D IY",
        "thirty(2) TH ER T IY",
        "thirty(3) T AH R D IY",
        "thirty(4) T AH R T IY",
        "thirty(5) TH AH R D IY",
        "thirty(6) T ER D IY",
        "vane V EY N",
    ]
    assert with_accent(plain, []) == plain
