import random

import pytest

from extract.cues import load_cues
from extract.packed_phrases import PackedPhrases
from extract.sheet_phrases import Phrase
from extract.spoken_forms import spellings


def test_every_phrase_is_found_by_its_words_and_by_no_others() -> None:
    phrases = [
        Phrase("cue", name, words, form, 0.0)
        for name, forms in load_cues().items()
        if len(forms) < 1500  # the others are the same over again
        for form in forms
        for words in spellings(form)
    ]
    packed = PackedPhrases(phrases)
    plain: dict[tuple[str, ...], list[Phrase]] = {}
    for phrase in phrases:
        plain.setdefault(phrase.words, []).append(phrase)
    assert len(plain) > 10_000
    for words, found in plain.items():
        assert packed.get(words) == found
    draw = random.Random(1)
    known = list(plain)
    for _ in range(3000):
        mixed = (*draw.choice(known)[:-1], *draw.choice(known)[-1:])
        assert packed.get(mixed) == plain.get(mixed)


def test_phrases_of_the_same_words_keep_their_order_and_their_forms() -> None:
    first = Phrase("cue", "denied", ("can", "not"), "can't", 0.0)
    second = Phrase("cue", "asked", ("can", "not"), "can not", 0.0)
    packed = PackedPhrases([first, Phrase("cue", "denied", ("no",), "no", 0.0), second])
    assert packed.get(("can", "not")) == [first, second]
    assert packed.get(("can",)) is None


def test_a_phrase_that_costs_something_is_refused() -> None:
    with pytest.raises(ValueError, match="costs something"):
        PackedPhrases([Phrase("cue", "denied", ("no",), "no", 0.5)])
