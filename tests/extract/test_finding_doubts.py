"""Conditions, part actions and consumables whose words the ear was not sure of."""

from __future__ import annotations

import pytest

from extract.part_sounds import parts_sounding_like
from extract.record_builder import RecordBuilder
from shared.job_sheet import load_job_sheet
from shared.record import ConditionEntry, ConsumableEntry, PartEntry
from shared.speech import Utterance, Word

SHEET = "wash-water-end-suction"


def heard(*said: str) -> list[ConditionEntry | PartEntry | ConsumableEntry]:
    """Read lines in which a word may bear its confidence behind a slash; all others are sure."""
    builder = RecordBuilder(SHEET)
    for n, line in enumerate(said):
        pairs = [word.partition("/") for word in line.split()]
        words = tuple(Word(w, n * 9.0, n * 9.0 + 1, float(share or 1)) for w, _, share in pairs)
        builder.hear(Utterance(" ".join(w for w, _, _ in pairs), n * 9.0, n * 9.0 + 5, 1.0, words))
    record = builder.record()
    return [*record.conditions, *record.parts, *record.consumables]


@pytest.mark.parametrize(
    "said",
    [
        "impeller is cracked/0.2",
        "impeller/0.2 is cracked",
        "impeller is/0.1 cracked",
        "impeller is knocked/0.1 cracked",
        "put/0.1 a new/0.1 seal in",
        "anti seize/0.1 on the casing bolts",
    ],
)
def test_entry_that_an_unclear_word_decides_is_asked_about(said: str) -> None:
    (entry,) = heard(said)
    assert entry.needs_review
    assert entry.reason == "the words were not heard clearly"
    assert entry.candidates


@pytest.mark.parametrize(
    "said",
    [
        "the/0.1 impeller is cracked",
        "so/0.1 the impeller is cracked honestly/0.1",
        "casing bolts are as/0.1 good as new",
        "anti seize on the/0.1 casing bolts",
    ],
)
def test_unclear_words_that_decide_nothing_ask_nothing(said: str) -> None:
    assert not any(entry.needs_review for entry in heard(said))


def test_typed_words_are_taken_as_they_stand() -> None:
    builder = RecordBuilder(SHEET)
    builder.hear(Utterance("impeller is cracked", 0.0, 3.0, 0.2))
    assert [entry.needs_review for entry in builder.record().conditions] == [False]


def test_unclear_name_that_another_part_sounds_like_offers_both() -> None:
    (entry,) = heard("inboard/0.55 bearing is pitted")
    assert entry.needs_review
    assert [c.part for c in entry.candidates] == ["inboard_bearing", "outboard_bearing"]


def test_parts_that_sound_alike_are_those_that_differ_by_little() -> None:
    sheet = load_job_sheet(SHEET)
    assert parts_sounding_like(sheet, "inboard_bearing", "inboard bearing") == ("outboard_bearing",)
    assert parts_sounding_like(sheet, "impeller", "impeller") == ()


@pytest.mark.parametrize(
    ("said", "asked"),
    [
        ("it's bent", False),
        ("put a new one in", False),
        ("come out can you please", True),
        ("number six new and bent wallowed", True),
    ],
)
def test_finding_without_a_part_is_only_of_the_one_before_where_a_word_stands_for_it(
    said: str, asked: bool
) -> None:
    found = heard("impeller is cracked", said)
    later = [entry for entry in found if entry.evidence.utterance == 1]
    assert all(entry.needs_review == asked for entry in later)


@pytest.mark.parametrize(
    ("said", "conditions"),
    [
        ("the impeller is worn in the seal has deposits", {("impeller", "worn"), ("seal", "deposits")}),
        (
            "seat's chipped on the edge of the impeller is cracked",
            {("stationary_seat", "chipped"), ("impeller", "cracked")},
        ),
        (
            "carbon is chipped on the seat and the impeller is cracked",
            {("rotating_face", "chipped"), ("impeller", "cracked")},
        ),
    ],
)
def test_second_verb_of_a_clause_has_a_subject_of_its_own(
    said: str, conditions: set[tuple[str, str]]
) -> None:
    builder = RecordBuilder(SHEET)
    builder.hear(Utterance(said, 0.0, 5.0))
    assert {(e.part, e.condition) for e in builder.record().conditions} == conditions
