"""A question that is put aloud, and the words that answer it; a wrong settlement is the worst there is."""

from __future__ import annotations

import pytest

from extract.asked_choices import choices_of
from extract.record_builder import RecordBuilder
from extract.spoken_answers import Put, answer_in
from shared.job_sheet import load_job_sheet
from shared.record import Candidate, ConditionEntry, Evidence, PartEntry, ReadingEntry
from shared.speech import Utterance, Word

SHEET = load_job_sheet("wash-water-end-suction")
#: A reading that the ear heard in two ways.
UNSURE = ("front clearance vane one thirteen", "front clearance vane one thirty")
#: A reading that has to be confirmed: out of limits and not heard clearly.
TO_CONFIRM = "front clearance vane one thirty one thou"


def utterance(said: str | tuple[str, ...], number: int, confidence: float = 1.0) -> Utterance:
    text, *others = (said,) if isinstance(said, str) else said
    return Utterance(text, 4.0 * number, 4.0 * number + 2, confidence, alternatives=tuple(others))


def heard(*said: str | tuple[str, ...], asks: bool = True) -> RecordBuilder:
    builder = RecordBuilder(SHEET, asks=asks)
    for number, one in enumerate(said):
        builder.hear(utterance(one, number))
    return builder


def to_confirm(*said: str) -> RecordBuilder:
    builder = RecordBuilder(SHEET, asks=True)
    builder.hear(utterance(TO_CONFIRM, 0, confidence=0.8))
    for number, one in enumerate(said, 1):
        builder.hear(utterance(one, number))
    return builder


def standing(builder: RecordBuilder) -> list[tuple[str | None, float | None, bool]]:
    return [(r.position, r.value, r.needs_review) for r in builder.record().readings if r.standing]


def reading(**fields: object) -> ReadingEntry:
    evidence = Evidence(utterance=0, start_s=0, end_s=1, words="", confidence=1, rule="")
    given = {"id": "r1", "item": "front_clearance", "unit": "in", "evidence": evidence, "needs_review": True}
    return ReadingEntry.model_validate({**given, **fields})


VALUE = [Candidate(value_exact="0.013", unit="in"), Candidate(value_exact="0.03", unit="in")]


def put(entry: ReadingEntry) -> Put:
    choices = choices_of(SHEET, entry)
    assert choices is not None
    return Put(SHEET, entry, choices, None)


def value_answered(said: str, entry: ReadingEntry) -> str | None:
    answer = answer_in(said, put(entry))
    return None if answer is None or answer.choice is None else answer.choice.value_exact


TWO_WAYS = reading(position="1", candidates=VALUE)
CONFIRM = reading(position="1", value_exact="0.031")


@pytest.mark.parametrize(
    ("answer", "value"),
    [
        ("thirty", "0.03"),
        ("thirty thou", "0.03"),
        ("three zero", "0.03"),
        ("point oh three oh", "0.03"),
        ("it's thirty", "0.03"),
        ("okay thirty please", "0.03"),
        ("i said thirty", "0.03"),
        ("thirty not thirteen", "0.03"),
        ("thirteen", "0.013"),
        ("thirteen is right", "0.013"),
        ("the first", "0.013"),
        ("the second one", "0.03"),
        ("the latter", "0.03"),
        ("the lower one", "0.013"),
        ("the bigger one", "0.03"),
        ("no, twenty nine", "0.029"),
        ("no it's twenty nine thou", "0.029"),
    ],
)
def test_an_answer_chooses(answer: str, value: str) -> None:
    assert value_answered(answer, TWO_WAYS) == value


def test_an_answer_settles_the_entry_on_its_own_words() -> None:
    builder = heard(UNSURE, "it's thirty")
    assert standing(builder) == [("1", 0.03, False)]
    record = builder.record()
    before, after = record.readings
    assert (before.superseded_by, before.superseded_why) == (after.id, "corrected")
    assert after.evidence.words == "it's thirty"
    assert after.verdict == "outside"
    assert [q.answered_by for q in record.questions] == [after.id]


@pytest.mark.parametrize(
    "said",
    [
        "about thirty",
        "thirty or so",
        "maybe thirty",
        "i think thirty",
        "thirty one",
        "not thirteen",
        "yes",
        "right",
        "one",
        "no one",
        "that one",
        "the third",
        "give me the thirty mil socket",
        "thirty minutes to lunch",
        "he said thirty",
        "thirty pounds for that",
        "vane two thirty",
        "did you say thirty",
        "thirteen thirty",
    ],
)
def test_what_can_be_meant_otherwise_is_no_answer(said: str) -> None:
    assert answer_in(said, put(TWO_WAYS)) is None


@pytest.mark.parametrize("others", [("thirteen",), ("",), ("thirty", "thirteen")])
def test_an_answer_heard_in_two_ways_settles_nothing(others: tuple[str, ...]) -> None:
    assert standing(heard(UNSURE, ("thirty", *others))) == [("1", None, True)]


@pytest.mark.parametrize(
    "yes", ["yes", "yeah that's right", "correct", "that's it", "thirty one", "yep thirty one"]
)
def test_a_value_to_be_confirmed_is_confirmed(yes: str) -> None:
    assert value_answered(yes, CONFIRM) == "0.031"


def test_yes_files_the_value_that_was_asked_about() -> None:
    assert standing(to_confirm()) == [("1", 0.031, True)]
    assert standing(to_confirm("yes")) == [("1", 0.031, False)]


@pytest.mark.parametrize(
    ("said", "stands"),
    [
        ("no", [("1", 0.031, True)]),
        ("no, twenty nine", [("1", 0.029, False)]),
        ("scratch it", []),
        ("yes no", [("1", 0.031, True)]),
    ],
)
def test_a_value_to_be_confirmed_is_denied_put_right_or_struck(
    said: str, stands: list[tuple[str | None, float | None, bool]]
) -> None:
    assert standing(to_confirm(said)) == stands


def test_nobody_answers_what_was_not_put_aloud() -> None:
    assert standing(heard(UNSURE, "the second", asks=False)) == [("1", None, True)]


def test_a_question_holds_for_the_next_words_only() -> None:
    assert standing(heard(UNSURE, "the impeller looks good", "thirty"))[0] == ("1", None, True)
    assert standing(heard(UNSURE, "did you see the match", "and the weather", "thirty"))[0] == (
        "1",
        None,
        True,
    )


def test_behind_talk_to_somebody_else_a_value_answers_and_a_bare_yes_does_not() -> None:
    chatter = "did you see the match on saturday"
    assert standing(heard(UNSURE, chatter, "thirty")) == [("1", 0.03, False)]
    assert standing(to_confirm(chatter, "yes")) == [("1", 0.031, True)]


def test_an_answer_much_later_is_none() -> None:
    builder = heard(UNSURE)
    builder.hear(Utterance("thirty", 60, 61))
    assert standing(builder) == [("1", None, True)]


def test_words_hardly_heard_and_numbers_in_noise_answer_nothing() -> None:
    builder = heard(UNSURE)
    builder.hear(Utterance("thirty", 4, 5, 0.9, (Word("thirty", 4, 5, 0.3),)))
    assert standing(builder) == [("1", None, True)]
    builder = heard(UNSURE)
    builder.hear(Utterance("thirty", 4, 5, 0.9, noisy=True))
    assert standing(builder) == [("1", None, True)]


def test_a_pause_ends_the_question() -> None:
    assert standing(heard(UNSURE, "pause recording", "thirty", "resume recording", "thirty")) == [
        ("1", None, True)
    ]


def test_what_was_kept_of_answers_makes_the_same_record() -> None:
    said = [UNSURE, "did you see the match", "thirty", UNSURE, "no", "yes", "vane two nineteen"]
    first = RecordBuilder(SHEET, asks=True)
    for number, one in enumerate(said):
        first.hear(utterance(one, number))
    again = RecordBuilder(SHEET, asks=True)
    for number in range(len(said)):
        again.hear(first.kept(number))
    assert again.record() == first.record()
    assert standing(first)


def test_questions_of_one_breath_are_put_one_after_the_other() -> None:
    both = (
        "front clearance vane one thirteen vane two fifteen",
        "front clearance vane one thirty vane two fifty",
    )
    assert standing(heard(both, "thirty", "fifteen")) == [("1", 0.03, False), ("2", 0.015, False)]


def test_a_press_puts_its_own_question() -> None:
    builder = heard(UNSURE, "the impeller looks good", "seal is renewed")
    assert builder.asked() is None
    builder.ask("r1")
    asked = builder.asked()
    assert asked is not None
    assert [choice.value_exact for choice in asked.choices.offered] == ["0.013", "0.03"]
    builder.hear(Utterance("the second", 13, 13, engine="pressed"))
    assert standing(builder) == [("1", 0.03, False)]


@pytest.mark.parametrize(
    ("entry", "offered"),
    [
        (reading(position="1", candidates=VALUE), ["0.013", "0.03"]),
        (reading(position="1", value_exact="0.03", candidates=VALUE[:1]), ["0.03", "0.013"]),
        (reading(position="1", value_exact="0.03"), ["0.03"]),
        (reading(position="1"), []),
        # Two things in doubt, a place without a name, no place at all: a few words settle nothing.
        (reading(position="1", candidates=[*VALUE, Candidate(position="2")]), None),
        (reading(position="1", value_exact="0.03", candidates=[Candidate()]), None),
        (reading(candidates=VALUE), None),
        (reading(position="1", candidates=[Candidate(value_exact="0.3", unit="mm"), VALUE[0]]), None),
        (reading(position="1", candidates=[Candidate(unit="mm"), Candidate(unit="in")]), None),
    ],
)
def test_only_what_a_few_words_can_settle_is_put(entry: ReadingEntry, offered: list[str] | None) -> None:
    choices = choices_of(SHEET, entry)
    assert (choices and [choice.value_exact for choice in choices.offered]) == offered


def test_places_and_parts_are_answered_by_name() -> None:
    places = reading(position="1", value_exact="0.02", candidates=[Candidate(position="2")])
    found = choices_of(SHEET, places)
    assert found is not None
    assert [(c.position, c.value_exact) for c in found.offered] == [("1", "0.02"), ("2", "0.02")]
    evidence = places.evidence
    part = PartEntry(
        id="p1", part="inboard_bearing", action="renewed", evidence=evidence, needs_review=True,
        candidates=[Candidate(part="outboard_bearing")],
    )  # fmt: skip
    found = choices_of(SHEET, part)
    assert found is not None
    assert [c.part for c in found.offered] == ["inboard_bearing", "outboard_bearing"]
    strange = ConditionEntry(
        id="c1", part="doodah", condition="worn", evidence=evidence, needs_review=True, unlisted=True
    )
    assert choices_of(SHEET, strange) is None
