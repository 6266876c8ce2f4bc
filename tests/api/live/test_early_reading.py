"""What is shown of words that the ear has not heard to the end."""

from __future__ import annotations

from api.live.early_reading import EarlyReading
from api.live.presses import Press, Said, said_by
from shared.job_sheet import load_job_sheet
from shared.record import Job
from shared.settings import Settings
from shared.speech import Utterance

SHEET = load_job_sheet("wash-water-end-suction")


def said(words: str, start_s: float, length_s: float = 2.0) -> Utterance:
    return Utterance(words, start_s, start_s + length_s, recording="001")


def reading() -> EarlyReading:
    return EarlyReading(SHEET, Job(), Settings())


def test_early_words_are_lines_of_their_own_and_leave_no_trace() -> None:
    ahead = reading()
    early = ahead.read(said("front clearance vane one eighteen thou", 1))
    (line,) = early.lines
    assert (line.value, line.mark, line.provisional) == ("0.018 in", "within", True)
    assert line.heard == ""  # whether it is talk of the job at all is not sure yet
    assert early.ended_s == 3
    ahead.know([Said(said("front clearance vane one nineteen thou", 1, 2.2))], 3.8)
    (line,) = ahead.read(said("vane two seventeen thou", 5)).lines
    assert line.value == "0.017 in"
    assert line.what.endswith("vane two")


def test_words_behind_a_pause_take_the_place_of_those_before_it() -> None:
    ahead = reading()
    ahead.read(said("front clearance vane one eighteen thou", 1))
    early = ahead.read(said("front clearance vane one eighteen thou vane two nineteen", 1, 4))
    assert [line.value for line in early.lines] == ["0.019 in", "0.018 in"]


def test_a_phrase_that_the_ear_still_hears_is_what_the_next_one_goes_on_from() -> None:
    ahead = reading()
    ahead.read(said("front clearance vane one eighteen thou", 1))
    assert [line.value for line in ahead.read(said("two nineteen", 4)).lines] == ["0.019 in", "0.018 in"]
    # However long the ear takes: it has not come to those words yet, and what follows is still about them.
    assert [line.value for line in ahead.read(said("three seventeen", 90)).lines] == [
        "0.017 in", "0.019 in", "0.018 in",
    ]  # fmt: skip


def test_what_the_ear_passed_over_was_nothing() -> None:
    ahead = reading()
    ahead.read(said("front clearance vane one eighteen thou", 1))
    ahead.know([], 2.9)  # it has not heard the end of it
    assert len(ahead.read(said("two nineteen", 4)).lines) == 2
    ahead.know([], 7.0)
    assert ahead.read(said("two nineteen", 8)).lines == ()


def test_what_came_to_nothing_shows_nothing_and_nothing_is_filed_in_a_pause() -> None:
    ahead = reading()
    assert ahead.read(said("did you see the match on saturday", 1)).lines == ()
    ahead.know([Said(said("pause recording", 4))], 6.6)
    assert ahead.read(said("front clearance vane one eighteen thou", 7)).lines == ()


def test_an_ear_that_begins_again_is_followed_from_the_beginning() -> None:
    ahead = reading()
    ahead.know([Said(said("front clearance vane one eighteen thou", 1))], 3.6)
    ahead.know([Said(said("shim pack fifty thou", 1))], 3.6, anew=True)
    assert ahead.read(said("two nineteen", 4)).lines == ()


def test_presses_are_known_as_well() -> None:
    ahead = reading()
    ahead.know([Said(said("front clearance vane one thirteen or thirty thou", 1))], 3.6)
    ahead.know([said_by(Press("pause", at_s=4.0), "001")], 4.0)
    assert ahead.read(said("vane two nineteen", 7)).lines == ()
