"""The bench answers: commands by screen and voice, a question once, what is missing before it is too late."""

from __future__ import annotations

import pytest

from api.live.answers import Answer
from api.live.bench_talk import BenchTalk
from api.live.presses import Press, Said, said_by
from shared.job_sheet import load_job_sheet
from shared.record import Job
from shared.settings import Settings
from shared.speech import Utterance

SHEET = load_job_sheet("wash-water-end-suction")
UNSURE = "front clearance vane one thirteen // front clearance vane one thirty"
ROUND = (
    "front clearance vane one eighteen vane two nineteen vane three thirty one "
    "vane four twenty vane five twenty"
)
LAST_THREE = (
    "Front clearance, vane three, thirty one, outside. vane four, twenty, within. vane five, twenty, within"
)


class Bench:
    """A bench that is talked to; "//" parts what the ear heard from what else it may have been."""

    def __init__(self, *said: str) -> None:
        self.talk = BenchTalk(SHEET, Job(), Settings())
        self.count = 0
        for words in said:
            self.say(words)

    def say(self, words: str) -> Answer:
        text, *others = words.split(" // ")
        at = 4.0 * self.count
        self.count += 1
        return self.talk.hear(Said(Utterance(text, at, at + 2, alternatives=tuple(others))))

    def press(self, press: Press) -> Answer:
        return self.talk.refuses(press) or self.talk.hear(said_by(press, ""))

    @property
    def entries(self) -> int:
        return len(self.talk.record().entries())

    def standing(self) -> list[tuple[str | None, float | None]]:
        return [(r.position, r.value) for r in self.talk.record().readings if r.standing]


def test_readings_are_read_back_three_at_most_and_no_question_is() -> None:
    bench = Bench()
    said = bench.say(ROUND)
    assert said.tone == "out"
    assert said.say == (
        "vane one, eighteen, within. vane two, nineteen, within. vane three, thirty one, outside. And 2 more"
    )
    assert bench.say("runout at the seal half a thou, shim pack fifty").say == (
        "Shaft runout, at the seal, half a thou, within. Shim pack, fifty, within"
    )


def test_a_question_is_asked_once_and_the_next_words_answer_it() -> None:
    bench = Bench()
    asked = bench.say(UNSURE)
    assert (asked.tone, asked.say) == ("ask", "thirteen or thirty?")
    assert bench.say("did you see the match").say == ""
    put = bench.talk.board().put
    assert put is not None
    assert [(reply.label, reply.words) for reply in put.replies] == [
        ("0.013 in", "the first choice"),
        ("0.030 in", "the second choice"),
    ]
    settled = bench.say("thirty")
    assert (settled.tone, settled.say) == ("out", "vane one, thirty, outside")
    assert bench.talk.board().put is None


def test_a_question_that_was_passed_over_can_be_answered_by_a_press_later() -> None:
    bench = Bench(UNSURE, "impeller is scored", "seal is renewed", "vane two eighteen")
    put = bench.talk.board().put
    assert put is not None
    assert not put.now
    answered = bench.press(Press("answer", about=put.entry, words=put.replies[0].words, at_s=900))
    assert answered.say == "vane one, thirteen, within"
    assert bench.standing() == [("2", 0.018), ("1", 0.013)]
    again = bench.press(Press("answer", about=put.entry, words=put.replies[1].words, at_s=901))
    assert again.title == "Not answered"
    assert bench.standing() == [("2", 0.018), ("1", 0.013)]


@pytest.mark.parametrize(
    ("said", "answer"),
    [
        ("read back the last one", "Front clearance, vane five, twenty, within"),
        ("read back vane two", "Front clearance, vane two, nineteen, within"),
        ("read back the shim pack", "Shim pack: no reading yet"),
        ("read back", LAST_THREE),
        ("read back the runout at the seal", "Shaft runout, at the seal: no reading yet"),
        ("read me back the front clearance", f"{LAST_THREE}. And 2 more"),
    ],
)
def test_readings_are_read_back_when_asked_for(said: str, answer: str) -> None:
    bench = Bench(ROUND)
    before = bench.entries
    told = bench.say(said)
    assert told.say == answer
    assert told.rows
    assert bench.entries == before


def test_a_value_in_question_is_not_read_back() -> None:
    assert Bench(UNSURE).say("read back").say == "Front clearance, vane one, still a question"
    assert Bench().say("read back").say == "no reading yet"


def test_a_strike_and_its_undoing_are_told_and_file_nothing() -> None:
    bench = Bench("front clearance vane one eighteen thou", "shim pack fifty thou")
    before = bench.entries
    struck = bench.say("strike that")
    assert (struck.say, struck.title, struck.rows) == (
        "struck: Shim pack, fifty, within", "Struck", ["Shim pack 0.050 in"]
    )  # fmt: skip
    assert bench.standing() == [("1", 0.018)]
    assert bench.talk.board().struck_last
    assert bench.say("undo the strike").say == "put back: Shim pack, fifty, within"
    assert bench.standing() == [("1", 0.018), (None, 0.05)]
    assert bench.entries == before
    assert Bench().say("strike that").say == "nothing to strike"


def test_what_took_its_place_is_not_thrown_out_by_an_undoing() -> None:
    bench = Bench("shim pack fifty thou", "strike that", "shim pack sixty thou", "undo the strike")
    assert bench.standing() == [(None, 0.06)]


def test_an_undoing_without_a_strike_strikes_nothing() -> None:
    bench = Bench("shim pack fifty thou")
    assert bench.say("undo that strike").say == "nothing to put back"
    assert bench.standing() == [(None, 0.05)]


@pytest.mark.parametrize(
    "said", ["put that back in the drawer", "put that back in", "bring that back tomorrow", "keep that one"]
)
def test_talk_of_parts_undoes_no_strike(said: str) -> None:
    bench = Bench("shim pack fifty thou", "strike that", said)
    assert bench.standing() == []


def test_pause_and_go_on_are_told_and_a_pause_answers_nothing() -> None:
    bench = Bench()
    assert bench.say("pause recording").say == "paused"
    assert bench.say("what's left") == Answer()
    assert bench.say("buttoning it up") == Answer()
    assert bench.say("resume recording").say == "listening"


def test_what_is_left_is_told_in_short_and_shown_in_full() -> None:
    bench = Bench()
    told = bench.say("what's left")
    assert told.say.startswith("left: Front clearance, all 5 places, photo of the stationary seat, ")
    assert told.say.endswith(" more")
    assert len(told.say.split()) < 30
    assert "renewed or reused: seal" in told.rows
    assert bench.entries == 0
    assert bench.say("finish the job").rows == told.rows


def test_closing_up_warns_once_of_what_cannot_wait() -> None:
    bench = Bench(ROUND)
    warned = bench.say("right, putting the casing back on")
    assert warned.title == "Before it is closed up"
    assert warned.say.startswith("before it goes together: ")
    for text in ("Shim pack", "Lock screw torque", "photo of the stationary seat", "renewed or reused: seal"):
        assert text in warned.rows
    # What is done on the pump once it is together can wait; what was said is not asked for.
    assert not [row for row in warned.rows if "Leak" in row or "Casing bolt" in row or "Front" in row]
    assert bench.say("buttoning it up now") == Answer()
    assert bench.talk.board().closing == warned.rows
    bench.say("shim pack fifty thou")
    assert "Shim pack" not in (bench.talk.board().closing or [])
    assert bench.say("closing up now") == Answer()
    # Struck: missing again, but named already. Taken apart and put together: another state.
    bench.say("taking it apart again")
    assert bench.talk.board().closing is None
    assert bench.say("going back together").title == "Before it is closed up"


def test_a_caution_comes_up_once_when_its_part_is_talked_of() -> None:
    bench = Bench()
    assert sum(one.up for one in bench.talk.board().cautions) == 3
    gloves = "Vane and plate edges are sharp; wear cut-resistant gloves."
    assert bench.say("the wheel is scored").cautions == [gloves]
    assert bench.say("the impeller is worn").cautions == []
    # Chatter brings none up.
    assert bench.say("my nephew does springboard diving").cautions == []
    assert bench.say("leak test next, then the heated inboard bearing").cautions == [
        "Heated bearings burn; dry insulated gloves, no open flame, never above 250 degrees Fahrenheit.",
        "Air under pressure stores energy; stand clear, shield the pump and never exceed the test pressure.",
    ]
    assert len(bench.talk.board().cautions) == len(SHEET.cautions)


def test_a_clearance_outside_shows_what_the_shims_would_do() -> None:
    board = Bench(ROUND).talk.board()
    (advice,) = board.advice
    assert "pack" in advice.text
    assert advice.formula
    assert advice.sources
    assert "does not authorise" in advice.holds
    within = ROUND.replace("thirty one", "twenty one")
    assert Bench(within).talk.board().advice == []


def test_a_press_strikes_what_its_screen_showed_and_nothing_else() -> None:
    bench = Bench("front clearance vane one eighteen thou")
    shown = bench.talk.board().last
    bench.say("shim pack fifty thou")
    assert bench.press(Press("strike", about=shown)).title == "Not struck"
    assert bench.standing() == [("1", 0.018), (None, 0.05)]
    assert bench.press(Press("strike", about=bench.talk.board().last)).title == "Struck"
    assert bench.press(Press("restore")).title == "Put back"
    assert bench.press(Press("pause")).say == "paused"
    assert bench.press(Press("resume")).say == "listening"
    assert bench.press(Press("left")).title == "What is left"
    assert bench.press(Press("read_back")).title == "Read back"
    assert bench.standing() == [("1", 0.018), (None, 0.05)]


def test_replayed_it_comes_to_the_same() -> None:
    said = [
        UNSURE,
        "the second one",
        "right, putting the casing back on",
        "impeller is scored",
        "strike that",
    ]
    first, again = Bench(*said), Bench()
    for number, words in enumerate(said):
        text, *others = words.split(" // ")
        at = 4.0 * number
        again.talk.replay(Said(Utterance(text, at, at + 2, alternatives=tuple(others))))
    assert again.talk.board() == first.talk.board()
    assert again.talk.record() == first.talk.record()
