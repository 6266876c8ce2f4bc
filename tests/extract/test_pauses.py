"""Pausing and going on: orders in all words, other people's affairs, and a pause that nobody ended."""

from __future__ import annotations

import pytest

from extract.paused_talk import MARK
from extract.record_builder import RecordBuilder
from shared.record import RebuildRecord
from shared.speech import Utterance

SHEET = "wash-water-end-suction"
OF_JOB = ("seal setting one inch", "new casing gasket fitted", "end play one and a half thou")


def told(*lines: str | Utterance) -> RebuildRecord:
    builder = RecordBuilder(SHEET)
    for n, line in enumerate(lines):
        builder.hear(Utterance(line, 10.0 * n, 10.0 * n + 4.0) if isinstance(line, str) else line)
    return builder.record()


@pytest.mark.parametrize(
    "order",
    [
        "hold up pause the thing",
        "could you stop the recording please",
        "eighteen thou pause the thing my wife's calling",
        "please you stop to record now",
        "Let's hold the recording there.",
        "switch the mike off for a minute",
        "don't record this",
        "off the record",
        "pause the recording dai's after me",
    ],
)
def test_an_order_to_stop_listening_pauses(order: str) -> None:
    assert [e.event for e in told(order).events] == ["pause"]


@pytest.mark.parametrize(
    "talk",
    [
        "stop the machine",
        "there was a pause in the noise",
        "don't listen to him",
        "stop listening to the radio",
        "the tape is off the flange",
        "hold the tape for me",
        "they paused the job in march",
    ],
)
def test_talk_of_other_machines_and_people_pauses_nothing(talk: str) -> None:
    assert told(talk).events == []


@pytest.mark.parametrize(
    "order",
    [
        "you may resume the recording",
        "continue recording please",
        "okay resume",
        "now we go on",
        "let us proceed",
        "please to continue with the recording",
        "i want you to listen again",
        "Sorry about that. Carry on, please.",
        "turn the mike back on",
        "kindly restart the recording sir",
        "right we're back",
        "go ahead and start the tape again",
        "i told him no okay resume please",
    ],
)
def test_an_order_to_go_on_ends_a_pause(order: str) -> None:
    assert [e.event for e in told("pause recording", order).events] == ["pause", "resume"]


@pytest.mark.parametrize(
    "talk",
    [
        "we continue the holiday on monday",
        "he'll be back on thursday",
        "i'm back on monday",
        "go on tell me",
        "Go on. What did the doctor say?",
        "they may resume the recording tomorrow",
        "don't start recording yet",
        "are we still recording",
        "i'll pick it up",
        "start it again",
        "carry on luggage is what it costs",
        "we go on to spain",
        "the trial will resume",
        "i want to record my daughter again",
    ],
)
def test_talk_of_other_things_ends_no_pause(talk: str) -> None:
    assert [e.event for e in told("pause recording", talk).events] == ["pause"]


@pytest.mark.parametrize("order", ["carry on", "resume", "right i'm back", "continue with", "now we go on"])
def test_a_plain_order_ends_a_pause_where_the_job_goes_straight_on(order: str) -> None:
    record = told("pause recording", f"{order} seal setting one and a sixteenth inch")
    assert [r.value_exact for r in record.readings] == ["1.0625"]


@pytest.mark.parametrize(
    ("hearing", "ends"), [("resume please", True), ("go on", False), ("he did resume it", False)]
)
def test_another_hearing_ends_a_pause_only_by_a_plain_order_and_nothing_else(
    hearing: str, ends: bool
) -> None:
    record = told("pause recording", Utterance("sue me", 10.0, 12.0, alternatives=(hearing,)))
    assert ("resume" in [e.event for e in record.events]) == ends


def test_job_talk_on_and_on_in_a_pause_is_told_of_and_files_nothing() -> None:
    record = told("pause recording", "yes dear", *OF_JOB, "vane two nineteen")
    (note,) = record.notes
    assert (note.evidence.rule, note.evidence.words, note.evidence.start_s) == ("paused", "", 20.0)
    assert "0:20 to 0:44" in note.text
    assert [q.about for q in record.questions] == [note.id]
    assert [*record.readings, *record.parts] == []
    assert "inch" not in record.to_json()


@pytest.mark.parametrize(
    "talk",
    [
        OF_JOB[:2],
        (
            "two pounds of sausages",
            "it was eighty degrees in the shade",
            "new tyres on the truck",
            "a new kitchen",
        ),
        (*OF_JOB[:2], "resume recording", "pause recording", *OF_JOB[:1]),
        (OF_JOB[0], *["and then he said so"] * 6, OF_JOB[1], *["well i never"] * 6, OF_JOB[2]),
    ],
)
def test_private_talk_in_a_pause_is_not_told_of(talk: tuple[str, ...]) -> None:
    assert told("pause recording", *talk).notes == []


def test_of_job_talk_in_a_pause_a_mark_is_kept_and_no_word() -> None:
    builder = RecordBuilder(SHEET)
    for text in ("pause recording", *OF_JOB):
        builder.hear(Utterance(text, 0.0, 1.0))
    assert [builder.kept(n).text for n in range(1, 4)] == [MARK] * 3
