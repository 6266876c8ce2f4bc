"""How sure a word is, all its forms at about one place taken together."""

from __future__ import annotations

from dataclasses import replace

import pytest

from capture.engines.lattice import read_lattice
from capture.engines.sphinx_decoder import DecodedWord
from capture.engines.word_doubts import word_confidences

#: <s> rotor (scrap | scrapped | scrapped later | strapped) </s>
HTK = """VERSION=1.0
start=0
end=5
N=7 L=9
I=0 t=0.00 W=!SENT_START v=1
I=1 t=0.10 W=rotor's v=1
I=2 t=0.60 W=scrap v=1
I=3 t=0.60 W=scrapped v=1
I=4 t=0.64 W=scrapped(2) v=1
I=5 t=1.20 W=!SENT_END v=1
I=6 t=0.60 W=strapped v=1
J=0 S=0 E=1 a=-10.0 p=1.0
J=1 S=1 E=2 a=-10.0 p=0.2
J=2 S=1 E=3 a=-10.0 p=0.3
J=3 S=1 E=4 a=-10.0 p=0.25
J=4 S=1 E=6 a=-10.0 p=0.25
J=5 S=2 E=5 a=-40.0 p=0.2
J=6 S=3 E=5 a=-40.0 p=0.3
J=7 S=4 E=5 a=-40.0 p=0.25
J=8 S=6 E=5 a=-40.0 p=0.25
"""
WORDS = (DecodedWord("rotor", 10, 60, 0.4), DecodedWord("scrap", 60, 120, 0.2))


def test_forms_of_a_word_and_its_places_near_by_are_taken_together() -> None:
    assert word_confidences(WORDS, read_lattice(HTK)) == pytest.approx([1.0, 0.75])


def test_the_same_word_elsewhere_does_not_count() -> None:
    later = HTK.replace("t=0.64", "t=1.10")
    assert word_confidences(WORDS, read_lattice(later))[1] == pytest.approx(0.5)


def test_without_a_lattice_the_decoder_is_believed() -> None:
    untimed = replace(read_lattice(HTK), starts_s=())
    assert word_confidences(WORDS, None) == word_confidences(WORDS, untimed) == [0.4, 0.2]


def test_a_joined_word_is_as_sure_as_the_surest_of_its_pieces() -> None:
    joined = (DecodedWord("rotor_shaft", 10, 60, 0.1),)
    assert word_confidences(joined, read_lattice(HTK)) == pytest.approx([1.0])
