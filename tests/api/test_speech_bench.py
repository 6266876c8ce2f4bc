"""The speech bench's own parts: alignment, bounds, labels, records, design. Nothing is spoken here."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from bench.speech import NOISES_DB, VOICES, design
from bench.speech_jobs import SaidReading, SpokenJob, development_jobs
from bench.speech_plot import reliability_plot, reliability_table
from bench.speech_scoring import (
    Score,
    WordErrors,
    lines_of_words,
    plain_words,
    score_record,
    score_words,
    spoken_numbers,
    upper_bound,
    word_errors,
)
from fixtures.narration_files import Line, Spoken
from shared.job_sheet import load_job_sheet
from shared.speech import Utterance, Word


@pytest.mark.parametrize(
    ("reference", "heard", "errors"),
    [
        ("front clearance eighteen thou", "front clearance eighteen thou", WordErrors(4)),
        ("front clearance eighteen thou", "front clearance eighty thou", WordErrors(4, substituted=1)),
        (
            "front clearance eighteen thou",
            "clearance eighteen thou now",
            WordErrors(4, deleted=1, inserted=1),
        ),
        ("no that's eighteen", "", WordErrors(3, deleted=3)),
        ("", "the the", WordErrors(0, inserted=2)),
        # By hand: b is left out, x comes for d.
        ("a b c d e", "a c x e", WordErrors(5, substituted=1, deleted=1)),
    ],
)
def test_word_errors_are_those_of_the_alignment_of_least_edits(
    reference: str, heard: str, errors: WordErrors
) -> None:
    assert word_errors(reference.split(), heard.split()) == errors


def test_spelling_is_no_word_error() -> None:
    assert plain_words("Forty PSI, two millimeters") == plain_words("forty p s i two millimetres")


@pytest.mark.parametrize(
    ("wrong", "of", "bound"),
    [
        (0, 100, 0.02951),  # 1 - 0.05 ** (1 / 100)
        (0, 598, 0.00500),  # so many without an error show at most 1 in 200
        (1, 100, 0.04656),  # tables of the binomial distribution; scipy.stats.beta.ppf(0.95, 2, 99)
        (3, 3, 1.0),
    ],
)
def test_upper_bound_is_exact(wrong: int, of: int, bound: float) -> None:
    assert upper_bound(wrong, of) == pytest.approx(bound, abs=5e-5)


def _utterance(text: str, start_s: float, *, score: float | None = None) -> Utterance:
    words = tuple(Word(w, start_s + n * 0.4, start_s + n * 0.4 + 0.4) for n, w in enumerate(text.split()))
    return Utterance(text, start_s, start_s + 0.4 * len(words), words=words, job_score=score)


SPOKEN = (Spoken("runout", 1.0, 1.5), Spoken("one thou five", 3.0, 4.0), Spoken("right then", 6.0, 7.0))


@pytest.mark.parametrize(
    ("line", "numbers"),
    [
        ("oh that one is fifteen", ("one", "fifteen")),
        ("one point oh five", ("one", "point", "oh", "five")),
        ("vane two oh sorry three", ("two", "oh", "three")),  # beside a number it may be a nought
        ("oh", ()),
    ],
)
def test_an_oh_by_itself_is_no_number(line: str, numbers: tuple[str, ...]) -> None:
    assert spoken_numbers(line.split()) == numbers


def test_words_belong_to_the_line_nearest_in_time() -> None:
    both = _utterance("runout is one thou five", 1.0)  # heard as one, from 1.0 to 3.0 s
    later = _utterance("then", 6.4)
    assert lines_of_words(SPOKEN, [both, later]) == [["runout", "is", "one"], ["thou", "five"], ["then"]]


def test_numbers_count_as_right_only_where_all_of_a_line_are() -> None:
    heard = [_utterance("runout", 1.0), _utterance("one thou nine", 3.0)]
    score = score_words(SPOKEN, heard)
    assert (score.words, score.word_errors) == (6, 1 + 2)
    assert (score.number_lines, score.number_lines_right) == (1, 0)
    assert score_words(SPOKEN, [_utterance("run one thousandth five", 3.0)]).number_lines_right == 1


def _job(*readings: SaidReading, chatter: frozenset[int] = frozenset()) -> SpokenJob:
    lines = (Line("", 1.0),) * 3
    return SpokenJob("small", load_job_sheet("wash-water-end-suction"), lines, readings, chatter)


def _spoken(*texts: str) -> tuple[Spoken, ...]:
    return tuple(Spoken(text, 10.0 * n, 10.0 * n + 3) for n, text in enumerate(texts))


def _scored(job: SpokenJob, *texts: str) -> Score:
    return score_record(job, _spoken(*texts), [_utterance(t, 10.0 * n) for n, t in enumerate(texts) if t])


def test_readings_are_right_missed_or_silently_wrong() -> None:
    end_play = SaidReading(0, "end_play", None, Fraction("0.003"))
    torque = SaidReading(1, "impeller_bolt_torque", None, Fraction(70))
    score = _scored(_job(end_play, torque), "end play three thou", "impeller bolt seventy two foot pounds")
    assert (score.readings, score.readings_right, score.readings_missed) == (2, 1, 1)
    assert (score.filed_sure, score.silently_wrong) == (2, 1)
    assert "impeller_bolt_torque" in score.faults[0]


def test_what_is_asked_is_neither_missed_nor_wrong() -> None:
    torque = SaidReading(0, "impeller_bolt_torque", None, Fraction(70))
    score = _scored(_job(torque), "impeller bolt about seventy i think")
    assert (score.readings_asked, score.readings_missed, score.silently_wrong) == (1, 0, 0)


@pytest.mark.parametrize("said", ["0.003", "0.004"])
def test_asked_with_the_right_value_is_to_be_confirmed(said: str) -> None:
    play = SaidReading(0, "end_play", None, Fraction(said))
    spoken = _spoken("end play three thou")
    unsure = replace(_utterance(spoken[0].text, 0.0), confidence=0.2)
    unsure = replace(unsure, words=tuple(replace(word, confidence=0.2) for word in unsure.words))
    score = score_record(_job(play), spoken, [unsure])
    assert (score.readings_asked, score.asked_right) == (1, said == "0.003")


def test_a_value_that_was_put_right_and_stands_is_stale() -> None:
    wrong = SaidReading(0, "end_play", None, Fraction("0.003"), stands=False)
    right = SaidReading(1, "end_play", None, Fraction("0.004"))
    score = _scored(_job(wrong, right), "end play three thou", "mumble mumble")
    assert (score.stale, score.silently_wrong, score.readings_missed) == (1, 0, 1)


def test_a_value_is_right_where_it_was_filed_and_put_right_later() -> None:
    first = SaidReading(0, "end_play", None, Fraction("0.003"), stands=False)
    then = SaidReading(1, "end_play", None, Fraction("0.004"))
    score = _scored(_job(first, then), "end play three thou", "correction end play is four thou")
    assert (score.readings_right, score.readings_missed, score.filed_sure) == (2, 0, 1)


def test_an_entry_out_of_chatter_is_counted() -> None:
    job = _job(chatter=frozenset([0]))
    score = _scored(job, "end play three thou")
    assert (score.chatter_lines, score.chatter_filed) == (1, 1)


def test_development_jobs_are_read_with_what_is_to_come_of_them() -> None:
    jobs = {job.name: job for job in development_jobs()}
    assert {"wash-water-end-suction", "dust-fan"} <= set(jobs)
    fan = jobs["dust-fan"]
    runout = [(r.position, r.value) for r in fan.readings if r.item == "shaft_runout"]
    assert ("drive", Fraction("0.0015")) in runout
    assert fan.chatter
    assert any(not r.stands for r in jobs["wash-water-end-suction"].readings)


def test_every_voice_meets_every_noise_and_every_job_both_usual_ones() -> None:
    jobs = [f"job {n}" for n in range(6)]
    tasks = design(jobs, "evaluation")
    usual = [t for t in tasks if t.condition.voice in VOICES]
    assert {(t.condition.voice, t.condition.snr_db) for t in usual} >= {
        (voice, noise) for voice in VOICES for noise in NOISES_DB[:2]
    }
    for noise in (None, 15.0):
        assert [t.job for t in usual if t.condition.snr_db == noise] == jobs
    assert len({t.condition.seed for t in usual}) == len(usual)
    assert len(design(jobs, "evaluation", part="quick")) < len(tasks) / 1.5


def test_reliability_is_shown_by_confidence() -> None:
    pairs = [(0.97, True), (0.98, True), (0.55, False), (1.0, True)]
    table = reliability_table(pairs)
    assert table["0.95 to 1.00"] == "3 of 3 right"
    assert table["0.50 to 0.60"] == "0 of 1 right"
    assert reliability_plot(pairs).count("<circle") == 2
