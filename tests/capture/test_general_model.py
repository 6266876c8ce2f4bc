"""Everyday English out of the library's own file, against the library's own answers."""

from __future__ import annotations

import hashlib
import struct
from pathlib import Path

import numpy as np
import pytest
from pocketsphinx import LogMath, NGramModel

from capture.vocabulary.general_model import (
    GeneralSource,
    general_model_path,
    is_left_out,
    read_general_model,
)
from capture.vocabulary.ngrams import Floats, WordNumbers, bigram_key, trigram_key
from shared.errors import VocabularyError

ASKED = ["one of the", "i think that", "the water pump", "we got a", "turn the radio", "down the night"]


@pytest.fixture(scope="module")
def library() -> tuple[NGramModel, LogMath]:
    return NGramModel.readfile(str(general_model_path())), LogMath()


@pytest.fixture(scope="module")
def ours() -> tuple[WordNumbers, GeneralSource]:
    general = read_general_model()
    numbers = WordNumbers(general.words)
    return numbers, GeneralSource(general, numbers)


@pytest.mark.parametrize("words", ASKED)
def test_probabilities_are_those_that_the_library_gives(
    words: str, library: tuple[NGramModel, LogMath], ours: tuple[WordNumbers, GeneralSource]
) -> None:
    (model, math), (numbers, source) = library, ours
    first, second, third = (np.array([numbers.number(word)]) for word in words.split())

    # The library wants the word first, then what stood before it, nearest first.
    one, two, three = words.split()
    expected = math.exp(model.prob([three, two, one])), math.exp(model.prob([three, two]))
    got = (
        source.trigram_probability(trigram_key(first, second, third)),
        source.bigram_probability(bigram_key(second, third)),
    )
    assert [float(p[0]) for p in got] == pytest.approx(expected, rel=2e-3)


def test_over_fewer_words_probabilities_are_scaled_so_that_they_sum_to_one() -> None:
    general = read_general_model()
    numbers = WordNumbers(["circlip_of_ours", *general.common[:3000]])
    source = GeneralSource(general, numbers)
    assert source.unigrams.sum() == pytest.approx(1.0)
    assert 0 < source.unigrams[numbers.number("circlip_of_ours")] < 1e-8
    every = np.arange(len(numbers))
    for word in ("the", "of"):
        after: Floats = source.bigram_probability(
            bigram_key(np.full_like(every, numbers.number(word)), every)
        )
        assert 0.6 < after.sum() < 1.3
    assert (np.diff(source.bigram_keys) > 0).all()
    assert (np.diff(source.trigram_keys) > 0).all()


def test_coarse_words_cannot_be_heard() -> None:
    common = read_general_model().common
    assert len(common) == len(set(common))
    assert {"water", "the", "don't"} <= set(common)
    listed = frozenset([hashlib.sha256(b"rude").hexdigest()[:12]])
    assert is_left_out("rude", listed)
    assert not is_left_out("crude", listed)
    left_out = Path(is_left_out.__code__.co_filename).with_name("left_out.txt").read_text("ascii").split()
    assert len(left_out) > 50
    assert not any(is_left_out(word, frozenset(left_out)) for word in common)


@pytest.mark.parametrize(
    "content",
    [
        b"",
        b"Trie Language Model",
        b"something else entirely",
        b"Trie Language Model\x03" + struct.pack("<3I", 9, 9, 9),
    ],
    ids=["empty", "head only", "another file", "cut"],
)
def test_a_file_that_is_no_such_model_is_named(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "other.lm.bin"
    path.write_bytes(content)
    with pytest.raises(VocabularyError, match="general language model"):
        read_general_model(path)
