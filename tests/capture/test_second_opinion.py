"""Two engines together: what each heard goes along, whoever heard a number."""

from __future__ import annotations

import pytest

from capture.engines.engine import SegmentEngine
from capture.engines.numbers_heard import carries_number, number_words_of
from capture.engines.scripted import ScriptedEngine
from capture.engines.second_opinion import SecondOpinion
from capture.segments import Segment
from shared.errors import EngineFailed
from shared.speech import Utterance
from tests.capture.engine_sound import segment


class Broken(SegmentEngine):
    """An engine that always gives up."""

    name, model, reason, identity = "broken", "none", "test", "0"

    def hear(self, segment: Segment) -> Utterance | None:
        raise EngineFailed("gave up")


class Unasked(Broken):
    """An engine that nobody may ask."""

    def hear(self, segment: Segment) -> Utterance | None:
        pytest.fail("was asked")


def says(text: str | None, **more: object) -> ScriptedEngine:
    return ScriptedEngine([{"text": text, **more}] if text else [None], model=f"says {text}")


def hear(first: str | None, second: str | None, judge: str | None = "") -> tuple[str, tuple[str, ...]] | None:
    """(text, alternatives); the second one is the judge where none is given."""
    other = says(second, job_score=0.4)
    together = SecondOpinion(says(first), other, judge=other if judge == "" else says(judge, job_score=0.4))
    heard = together.hear(segment())
    return heard and (heard.text, heard.alternatives)


@pytest.mark.parametrize(
    ("first", "second", "heard"),
    [
        ("vane one eighteen", "vane one eighteen", ("vane one eighteen", ())),
        ("vane one eighteen", "vane one nineteen", ("vane one eighteen", ("vane one nineteen",))),
        ("Vane 1, 0.018", "vane one eighteen thou", ("Vane 1, 0.018", ("vane one eighteen thou",))),
        ("vane one eighteen", "rain on a teen", ("vane one eighteen", ("rain on a teen",))),
        ("vane one eighteen", None, ("vane one eighteen", ("",))),
        ("a teen", "eighteen", ("a teen", ("eighteen",))),
        (None, "vane one eighteen", ("vane one eighteen", ("",))),
        (None, "renewed the seal", None),
        (None, None, None),
        ("renewed the seal", "renew the seat", ("renewed the seal", ())),
        ("renewed the seal", None, ("renewed the seal", ())),
    ],
)
def test_what_both_heard(
    first: str | None, second: str | None, heard: tuple[str, tuple[str, ...]] | None
) -> None:
    assert hear(first, second) == heard


@pytest.mark.parametrize(
    ("first", "second", "judge", "heard"),
    [
        # The judge's words are no third opinion where both heard the number …
        ("eighteen thou", "eighteen thou", "eighty thou", ("eighteen thou", ())),
        ("eighteen thou", "nineteen thou", "eighteen thou", ("eighteen thou", ("nineteen thou",))),
        # … but a number that only he heard makes the second one listen,
        ("a teen", "eighteen thou", "eighteen thou", ("a teen", ("eighteen thou",))),
        # and where the others heard nothing at all it is not lost.
        (None, None, "eighteen thou", ("eighteen thou", ("",))),
    ],
)
def test_a_judge_beside_two_opinions(
    first: str | None, second: str | None, judge: str, heard: tuple[str, tuple[str, ...]]
) -> None:
    assert hear(first, second, judge) == heard


def test_without_a_number_the_second_one_is_not_asked() -> None:
    heard = SecondOpinion(says("renewed the seal"), Unasked(), judge=says("new the seal")).hear(segment())
    assert heard is not None
    assert heard.text == "renewed the seal"


def test_the_judge_tells_chatter() -> None:
    judge = says("the guard was on about ninety", job_score=-0.7)
    heard = SecondOpinion(says("the garden was about ninety"), judge, judge=judge).hear(segment())
    assert heard is not None
    assert heard.job_score == -0.7


def test_a_helper_that_gives_up_leaves_the_number_unconfirmed_and_loses_nothing() -> None:
    heard = SecondOpinion(says("vane one eighteen"), Broken(), judge=Broken()).hear(segment())
    assert heard is not None
    assert (heard.text, heard.alternatives, heard.job_score) == ("vane one eighteen", ("",), None)
    with pytest.raises(EngineFailed):
        SecondOpinion(Broken(), says("vane one eighteen")).hear(segment())


def test_the_identity_is_that_of_all() -> None:
    one, two, three = says("one"), says("two"), says("three")
    identities = {
        SecondOpinion(*pair, judge=judge).identity
        for pair in ((one, two), (two, one))
        for judge in (None, three)
    }
    assert len(identities) == 4


@pytest.mark.parametrize(
    "text",
    [
        "Eighteen.",
        "vane 2",
        "0.018",
        "half a thou",
        "Vane one, eighteen.",
        "thirty-one",
        "two to three",
        "10,000",
    ],
)
def test_a_number_in_words_or_figures_is_noticed(text: str) -> None:
    assert carries_number(text)


@pytest.mark.parametrize("text", ["that one's good", "One.", "a new seal", "", "tend to it"])
def test_what_is_no_number_is_not(text: str) -> None:
    assert not carries_number(text)


def test_number_words_come_without_print_around_them() -> None:
    assert number_words_of('"Zero, point: one-two."') == ("oh", "point", "one", "two")
