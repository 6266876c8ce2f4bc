"""Names that are hard to tell apart by ear are named; others are not."""

from __future__ import annotations

import pytest

from capture.vocabulary.sound_alikes import alike, sound_alikes


@pytest.mark.parametrize(
    ("one", "other", "hard"),
    [
        ("suction ring", "section ring", True),
        ("neck ring clearance", "deck ring clearance", True),
        ("front clearance", "back clearance", False),
        ("drive end", "non drive end", False),
        ("wear ring", "wear ring", False),
        ("impeller", "inducer", False),
    ],
)
def test_phrases_are_told_apart_by_the_words_that_differ(one: str, other: str, hard: bool) -> None:
    assert alike(one, other) is alike(other, one) is hard


def test_forms_of_one_name_are_no_pair() -> None:
    assert not list(sound_alikes({"a": ("suction ring", "section ring"), "b": ("casing",)}))
    pairs = sound_alikes({"a": ("suction ring",), "b": ("section ring", "casing")})
    assert list(pairs) == [("suction ring", "section ring")]
