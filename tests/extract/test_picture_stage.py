"""The stage that a picture is asked for at."""

from __future__ import annotations

import pytest

from extract.picture_stage import stage_said


@pytest.mark.parametrize(
    ("words", "stage"),
    [
        ("picture of the seat face", "either"),
        ("picture of the seat face as found", "as_found"),
        ("photo of the carbon as left", "as_left"),
        ("snap the sleeve before cleaning", "as_found"),
        ("picture of the face as found and one as left", "either"),
        ("", "either"),
    ],
)
def test_the_stage_is_the_one_that_the_words_name(words: str, stage: str) -> None:
    assert stage_said(words) == stage
