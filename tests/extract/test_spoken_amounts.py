"""Say any amount in any of the bench's ways, with its unit, and read it back: never a wrong one."""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Iterator
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from extract.quantities import find_quantities
from tests.extract.shop_speech import BELOW_ZERO_WAYS, INCH_WAYS, METRIC_WAYS, OTHER_WAYS, Way
from tests.extract.work import calls_of

_SEED = 20_261_125
_AMOUNTS = 6_000
#: Before and behind an amount, as people go on talking; none of it says a unit.
_FRAMES = ("{}", "it's {}", "i get {} today", "{} on the drive end", "that came out at {} okay", "so {} now")


def amounts(count: int) -> Iterator[tuple[Fraction, tuple[Way, ...]]]:
    """Values with the ways that fit their kind: thousandths, sizes, fractions, millimetres, torques."""
    rng = random.Random(_SEED)
    for _ in range(count):
        kind = rng.randrange(8)
        if kind == 0:
            yield Fraction(rng.randrange(1, 200), 1000), INCH_WAYS
        elif kind == 1:
            yield Fraction(rng.randrange(1, 400), rng.choice([2000, 4000, 10_000])), INCH_WAYS
        elif kind == 2:
            yield Fraction(rng.randrange(1000, 9000), 1000), INCH_WAYS
        elif kind == 3:
            yield Fraction(rng.randrange(10_000, 90_000), 10_000), INCH_WAYS
        elif kind == 4:
            yield (
                rng.randrange(13) + Fraction(rng.randrange(1, 64), rng.choice([2, 4, 8, 16, 32, 64])),
                INCH_WAYS,
            )
        elif kind == 5:
            yield -Fraction(rng.randrange(1, 80), rng.choice([1000, 2000])), BELOW_ZERO_WAYS
        elif kind == 6:
            yield Fraction(rng.randrange(1, 60_000), rng.choice([10, 100, 1000])), METRIC_WAYS
        else:
            yield Fraction(rng.randrange(4, 1999), rng.choice([1, 1, 1, 2, 10])), OTHER_WAYS


@pytest.mark.long
def test_no_amount_comes_back_as_another_and_nearly_all_come_back() -> None:
    rng = random.Random(_SEED)
    said: Counter[str] = Counter()
    kept: Counter[str] = Counter()
    wrong: list[tuple[str, object]] = []
    for value, ways in amounts(_AMOUNTS):
        fitting = [(way, text) for way in ways if (text := way.say(value)) is not None]
        for way, text in rng.sample(fitting, min(3, len(fitting))):
            phrase = rng.choice(_FRAMES).format(text)
            found = find_quantities(phrase)
            said[way.name] += 1
            if [(q.value, q.unit) for q in found] == [(float(value), way.unit)]:
                kept[way.name] += 1
            elif any(q.unit is not None and not q.approximate for q in found):
                wrong.append((phrase, [(q.value, q.unit) for q in found]))
    assert not wrong, f"{len(wrong)} of {said.total()}: {wrong[:20]}"
    assert said.total() >= 10_000
    assert {way.name for way in (*INCH_WAYS, *BELOW_ZERO_WAYS, *METRIC_WAYS, *OTHER_WAYS)} == set(said)
    lost = {name: f"{kept[name]}/{count}" for name, count in said.items() if kept[name] < 0.97 * count}
    assert not lost


@given(
    st.fractions(min_value=0, max_value=200, max_denominator=64),
    st.sampled_from([*INCH_WAYS, *METRIC_WAYS, *OTHER_WAYS]),
    st.sampled_from(_FRAMES),
)
def test_any_amount_is_read_rightly_or_left_open(value: Fraction, way: Way, frame: str) -> None:
    text = way.say(value)
    if text is None:
        return
    for quantity in find_quantities(frame.format(text)):
        assert quantity.unit in (None, way.unit)
        if quantity.unit is not None and not quantity.approximate:
            assert quantity.value == pytest.approx(float(value), rel=1e-12)


@pytest.mark.parametrize(
    ("word", "most"),
    [("one", 100_000), ("thirty", 10_000), ("point", 10_000), ("thou", 10_000), ("9", 10_000),
     ("oh", 10_000), ("-", 10_000), ("half", 4_000), ("1/4", 2_000), ("to", 10_000)],
)  # fmt: skip
def test_words_without_end_take_work_that_grows_with_them(word: str, most: int) -> None:
    """Ten times the words take about ten times the work, whatever word it is; none raises."""

    def work(count: int) -> int:
        text = " ".join([word] * count)
        return calls_of(lambda: find_quantities(text))

    assert work(most) < 11 * work(most // 10)
