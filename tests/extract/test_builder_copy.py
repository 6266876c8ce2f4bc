"""What a copy of a builder hears leaves no trace in the builder that it is a copy of."""

from __future__ import annotations

import pytest

from extract.builder_copy import copied
from extract.pipeline import TalkPipeline
from extract.record_builder import RecordBuilder
from fixtures.narration_files import read_narration
from shared.job_sheet import load_job_sheet
from shared.speech import Utterance
from tests.extract.work import calls_of

NAMES = ("wash-water-end-suction", "wash-water-split-case", "booster-multistage")
#: What changes most of what went before.
UNSETTLING = (
    "strike that",
    "no make that nineteen thou",
    "pause recording",
    "resume recording",
    "vane two is seventy thou sorry seventeen",
    "same on the outboard",
    "all the others the same",
    "picture of the seat",
    "work order nine nine one two",
    "using dial indicator number four",
    "seal is renewed",
)


def utterances(name: str) -> list[Utterance]:
    said = read_narration(name)
    return [Utterance(line.text, 4.0 * n, 4.0 * n + 3) for n, line in enumerate(said)]


@pytest.mark.parametrize("name", NAMES)
def test_what_a_copy_hears_the_builder_never_knows(name: str) -> None:
    sheet = load_job_sheet(name)
    watched, alone = RecordBuilder(sheet), RecordBuilder(sheet)
    for number, utterance in enumerate(utterances(name)):
        before = watched.record().to_json() if number % 12 == 0 else None
        words = UNSETTLING[number % len(UNSETTLING)]
        copy = copied(watched)
        copy.hear(Utterance(words, utterance.start_s, utterance.end_s))
        copied(copy).hear(utterance)
        assert before is None or watched.record().to_json() == before
        assert [e.id for e in copied(watched).hear(utterance)] == [e.id for e in watched.hear(utterance)]
        alone.hear(utterance)
    assert watched.record().to_json() == alone.record().to_json()


@pytest.mark.parametrize("name", NAMES[:1])
def test_a_copy_makes_the_record_that_the_builder_would_make(name: str) -> None:
    sheet, said = load_job_sheet(name), utterances(name)
    whole, half = RecordBuilder(sheet), RecordBuilder(sheet)
    for utterance in said:
        whole.hear(utterance)
    for utterance in said[: len(said) // 2]:
        half.hear(utterance)
    copy = copied(half)
    for utterance in said[len(said) // 2 :]:
        copy.hear(utterance)
    assert copy.record().to_json() == whole.record().to_json()


def test_a_copy_of_a_long_job_takes_little() -> None:
    """The bench copies the job for every provisional line: it must not read the job again."""
    builder = RecordBuilder(load_job_sheet(NAMES[0]))
    for number, utterance in enumerate(utterances(NAMES[0]) * 4):
        builder.hear(Utterance(utterance.text, 4.0 * number, 4.0 * number + 3))
    one_more = calls_of(lambda: builder.hear(Utterance("end play two thou", 9000, 9002)))
    assert calls_of(lambda: copied(builder)) < 2 * one_more


def test_jobs_of_one_sheet_share_what_it_takes_long_to_make_and_nothing_that_was_said() -> None:
    sheet = load_job_sheet(NAMES[0])
    first = RecordBuilder(sheet)
    again = calls_of(lambda: RecordBuilder(load_job_sheet(NAMES[0])))
    assert again < calls_of(lambda: TalkPipeline(sheet)) / 10
    first.hear(Utterance("the strainer basket is torn and end play two thou", 0, 3))
    second = RecordBuilder(sheet)
    second.hear(Utterance("it is three", 0, 3))
    alone = RecordBuilder(sheet.model_copy(update={"title": "another"}))
    alone.hear(Utterance("it is three", 0, 3))
    assert second.record().readings == alone.record().readings == []
