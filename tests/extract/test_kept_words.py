"""What may be kept of talk: no word of chatter or of a pause, and enough to make the same record again."""

from __future__ import annotations

import random

import pytest

from extract.paused_talk import MARK
from extract.record_builder import RecordBuilder
from fixtures.narration_files import REBUILDS, read_narration
from shared.speech import Utterance, Word

PRIVATE = (
    "did you see the flamingo last night",
    "the flamingo was forty bucks",
    "flamingo the impeller of his truck was cracked he said",
)
PAUSES = ("pause recording", "pause", "stop listening please", "mic off")
RESUMES = ("resume recording", "resume", "continue", "okay go on recording", "i'm back")


@pytest.mark.parametrize(
    ("said", "kept"),
    [
        (["seal setting one inch"], ["seal setting one inch"]),
        (["how was the game"], [""]),
        (["pause recording how was the game"], ["pause recording"]),
        (["how was the game pause recording"], ["pause recording"]),
        (["Seal setting 1 1/16, pause recording. Well then."], ["Seal setting 1 1/16, pause recording"]),
        (
            ["pause", "seal setting one inch", "she said resume recording nice"],
            ["pause", MARK, "resume recording"],
        ),
        (["pause it", "yes i'm back on monday", "go on tell me"], ["pause it", "", ""]),
        (["pause it", "right i'm back lock screws twenty"], ["pause it", "i'm back lock screws twenty"]),
        (["the logger will stop recording vibration when the seal is out"], ["*"]),
        (["pause", "so resume lock screws twenty three"], ["pause", "resume lock screws twenty three"]),
        (
            ["seal setting one inch pause recording she said resume recording lock screws twenty three"],
            ["seal setting one inch pause recording . resume recording lock screws twenty three"],
        ),
    ],
)  # fmt: skip
def test_only_what_is_said_to_the_record_is_kept(said: list[str], kept: list[str]) -> None:
    builder = RecordBuilder("wash-water-end-suction")
    for n, text in enumerate(said):
        builder.hear(Utterance(text, 4.0 * n, 4.0 * n + 3.0))
    whole = [text if keep == "*" else keep for text, keep in zip(said, kept, strict=True)]
    assert [builder.kept(n).text for n in range(len(said))] == whole


def test_other_hearings_and_single_words_go_with_the_text() -> None:
    builder = RecordBuilder("wash-water-end-suction")
    word = Word("flamingo", 0.0, 0.5)
    for text in ("that flamingo", "pause recording flamingo"):
        builder.hear(Utterance(text, 0.0, 1.0, 0.8, (word,), alternatives=("a flamingo",), job_score=-1.0))
        kept = builder.kept(-1)
        assert "flamingo" not in repr(kept)
        assert (kept.start_s, kept.end_s, kept.confidence, kept.job_score) == (0.0, 1.0, 0.8, -1.0)


def test_doubtful_talk_that_becomes_a_question_keeps_its_words() -> None:
    builder = RecordBuilder("wash-water-end-suction")
    builder.hear(Utterance("casing bolt torque ninety foot pounds", 0.0, 1.0, job_score=-0.1))
    assert builder.record().questions
    assert builder.kept(0).text == "casing bolt torque ninety foot pounds"


def test_a_pause_that_ends_within_the_utterance_does_not_swallow_what_follows() -> None:
    builder = RecordBuilder("wash-water-end-suction")
    builder.hear(
        Utterance("pause recording that flamingo. resume recording. seal setting one inch", 0.0, 9.0)
    )
    builder.hear(Utterance("front clearance vane one eighteen thou", 10.0, 12.0))
    record = builder.record()
    assert {r.item for r in record.readings} == {"seal_setting", "front_clearance"}
    assert [e.event for e in record.events] == ["pause", "resume"]
    assert "flamingo" not in record.to_json()


def talk_with_private_words(rng: random.Random, name: str) -> list[Utterance]:
    """A narration with chatter, pauses at any place of an utterance and scores of every kind strewn in."""
    lines = [line.text for line in read_narration(name)]
    said = []
    for line in lines:
        private, pause, resume = rng.choice(PRIVATE), rng.choice(PAUSES), rng.choice(RESUMES)
        ways = [line] * 12 + [
            private,
            f"{line} {pause} {private}",
            f"{private} {resume} {line}",
            f"{line}, {pause}. {private} {resume} {rng.choice(lines)}",
            f"{private}. {pause}",
            resume,
        ]
        said.append(rng.choice(ways))
    return [
        Utterance(
            text, 5.0 * n, 5.0 * n + 4, round(rng.random(), 2), engine="test",
            alternatives=(rng.choice(lines),) if rng.random() < 0.1 else (),
            job_score=rng.choice([None, 0.5, 0.2, -0.1, -0.2, -0.8]),
        )
        for n, text in enumerate(said)
    ]  # fmt: skip


@pytest.mark.parametrize("name", REBUILDS)
@pytest.mark.parametrize("seed", [1, 2])
def test_what_is_kept_makes_the_same_record_and_is_kept_the_same(name: str, seed: int) -> None:
    said = talk_with_private_words(random.Random(f"{name} {seed}"), name)
    first, again = RecordBuilder(name), RecordBuilder(name)
    for utterance in said:
        first.hear(utterance)
        again.hear(first.kept(-1))
    numbers = range(len(said))
    assert [again.kept(n) for n in numbers] == [first.kept(n) for n in numbers]
    assert [again.talk_of(n) for n in numbers] == [first.talk_of(n) for n in numbers]
    assert again.record().to_json() == first.record().to_json()
    assert not all(first.kept(n) == said[n] for n in numbers)


def test_a_resume_that_only_another_hearing_has_is_what_is_kept() -> None:
    first, again = RecordBuilder("wash-water-end-suction"), RecordBuilder("wash-water-end-suction")
    said = [
        Utterance("pause recording", 0.0, 2.0),
        Utterance(
            "the rest you more the flamingo", 4.0, 6.0, alternatives=("", "please resume the recording")
        ),
        Utterance("seal setting one inch", 8.0, 10.0),
    ]
    for utterance in said:
        first.hear(utterance)
        again.hear(first.kept(-1))
    assert [first.kept(n).text for n in range(3)] == [
        "pause recording", "resume the recording", "seal setting one inch"
    ]  # fmt: skip
    assert [r.item for r in first.record().readings] == ["seal_setting"]
    assert again.record().to_json() == first.record().to_json()
