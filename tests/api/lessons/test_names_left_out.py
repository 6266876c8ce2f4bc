"""Names go out of words and sound; everything else stays."""

from __future__ import annotations

import numpy as np
import pytest

from api.lessons.names_left_out import name_spans, name_words, silenced, without_names
from shared.speech import Utterance, Word

NAMES = name_words(["Rae Olsen", "Jo-Ann O'Brien", "Bo Li"])


@pytest.mark.parametrize(
    ("said", "kept"),
    [
        ("Rae vane three eighteen thou", "… vane three eighteen thou"),
        ("that is Olsen's gauge", "that is … gauge"),
        ("RAE, hand me that", "…, hand me that"),
        ("the rear bearing, raeburn type", "the rear bearing, raeburn type"),
        ("ann the seal is renewed", "… the seal is renewed"),
        # Two letters are an everyday word oftener than a name.
        ("bo the seal", "bo the seal"),
        ("", ""),
    ],
)
def test_names_go_and_words_like_them_stay(said: str, kept: str) -> None:
    assert without_names(said, NAMES) == kept


def test_a_name_is_silent_where_it_is_said() -> None:
    heard = Utterance("now Rae", 10.0, 11.0, words=(Word("now", 10.0, 10.5), Word("Rae", 10.5, 11.0)))
    ((start, end),) = name_spans([heard, Utterance("eighteen thou", 12.0, 13.0)], NAMES)
    assert start <= 10.5
    assert end >= 11.0
    samples = np.ones(3 * 16000, np.int16)
    quiet = silenced(samples, 9.5, [(10.5, 11.0)])
    assert not quiet[16000:24000].any()
    assert quiet[:16000].all()
    assert quiet[24000:].all()
    assert samples.all()


def test_where_nobody_knows_when_the_name_was_said_all_of_it_is_silent() -> None:
    assert name_spans([Utterance("now Rae", 10.0, 11.0)], NAMES) == [(10.0, 11.0)]
