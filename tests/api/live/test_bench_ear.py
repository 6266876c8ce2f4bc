"""What the bench answers, and that a crash changes nothing."""

from __future__ import annotations

import os
import time
from itertools import pairwise
from pathlib import Path

import pytest

from api.heard_journal import HeardJournal
from api.listening import HEARD_JOURNAL
from api.live.bench_ear import BenchEar
from api.live.bench_recording import BenchRecording
from api.live.ear_process import EarWork, Ended, Failed, Heard, Ready
from api.live.presses import PRESS_JOURNAL, Press, presses_in, said_in_order
from api.reading_rules import reading_rules_sha256
from capture.engines.scripted import ScriptedEngine
from shared.job_sheet import load_job_sheet
from shared.record import Job, RebuildRecord
from shared.settings import Settings
from shared.speech import Utterance
from tests.api.live.bench_sound import SCRIPT, frames, script_file, spoken

SHEET = load_job_sheet("wash-water-end-suction")


def ear(folder: Path) -> BenchEar:
    folder.mkdir(exist_ok=True)
    return BenchEar(folder, SHEET, Job(work_order="7"), ScriptedEngine(SCRIPT), Settings())


def test_every_utterance_is_answered_by_what_it_came_to(tmp_path: Path) -> None:
    listening = ear(tmp_path / "001")
    told = [one for frame in frames(spoken(4)) for one in listening.hear(frame.samples)]
    told += listening.finish()
    assert [one.answer.tone for one in told] == ["taken", "out", None, "taken"]
    assert "eighteen" in told[0].heard
    assert told[0].answer.say == "vane one, eighteen, within"
    assert "OUTSIDE" in told[1].board.lines[0].word
    assert told[1].board.deviations >= 1
    # Chatter is answered by nothing, and no word of it is shown.
    assert told[2].heard == ""
    assert "saturday" not in told[2].board.model_dump_json()
    # Whoever says that he is done is told what nobody said.
    assert told[3].answer.say.startswith("left: ")
    assert told[3].board.finished


def test_an_ear_knows_how_far_it_has_come(tmp_path: Path) -> None:
    listening, sound = ear(tmp_path / "001"), list(frames(spoken(2)))
    places, words_at = [], []
    for frame in sound:
        words_at += [listening.place_s for _ in listening.hear(frame.samples)]
        places.append(listening.place_s)
    # Never back, but by what is left on before speech.
    assert all(later > place - 0.35 for place, later in pairwise(places))
    # Not past the beginning of what is being said, then past its end at once.
    behind_s = [(frame.number + 1) / 10 - place for frame, place in zip(sound, places, strict=True)]
    assert 1.6 < max(behind_s) < 3.0
    assert words_at
    assert all(place in places for place in words_at)
    list(listening.finish())
    # Where nothing is said it comes along with the sound.
    quiet = ear(tmp_path / "002")
    for frame in sound[:8]:
        assert list(quiet.hear(frame.samples)) == []
        assert quiet.place_s == pytest.approx((frame.number + 1) / 10, abs=0.31)
    quiet.abandon()


def test_an_ear_begun_again_goes_on_and_makes_the_same_record(tmp_path: Path) -> None:
    whole = ear(tmp_path / "whole")
    sound = spoken(4)
    for frame in frames(sound):
        list(whole.hear(frame.samples))
    list(whole.finish())
    broken = ear(tmp_path / "001")
    for frame in frames(sound):
        if frame.number == 50:
            break
        list(broken.hear(frame.samples))
    broken.abandon()
    # What begins again reads the sound from its beginning.
    again = ear(tmp_path / "001")
    told = [one for frame in frames(sound) for one in again.hear(frame.samples)]
    told += again.finish()
    assert 0 < len(told) < 4
    assert again.record().to_json() == whole.record().to_json().replace('"whole"', '"001"')


def test_presses_are_kept_in_their_place_and_a_new_ear_comes_to_the_same_record(tmp_path: Path) -> None:
    whole, sound = ear(tmp_path / "001"), list(frames(spoken(4)))
    heard = 0
    for frame in sound:
        for _ in whole.hear(frame.samples):
            heard += 1
            if heard == 1:
                struck = whole.press(Press("strike", about=whole.board().last, by="tom"))
                assert struck.answer.title == "Struck"
            if heard == 2:
                assert whole.press(Press("pause")).board.paused
    assert whole.press(Press("resume")).answer.say == "listening"
    record = whole.record()
    assert [(r.value, r.superseded_why) for r in record.readings] == [(0.018, "struck"), (0.06, None)]
    assert [event.event for event in record.events] == ["strike_last", "pause", "resume"]
    whole.abandon()
    # Begun again after a crash; and with the words heard anew, as after a change of the rules of reading.
    taken_up = ear(tmp_path / "001")
    assert taken_up.record() == record
    taken_up.abandon()
    (tmp_path / "001" / HEARD_JOURNAL).unlink()
    anew = ear(tmp_path / "001")
    told = [one for frame in sound for one in anew.hear(frame.samples)]
    told += anew.finish()
    assert len(told) == 4
    assert anew.record() == record
    # What comes after in the job begins with all of it.
    (tmp_path / "002").mkdir()
    kept = list(said_in_order(*_kept(tmp_path / "001"), "001"))
    after = BenchEar(tmp_path / "002", SHEET, Job(work_order="7"), ScriptedEngine([]), Settings(), kept)
    assert after.record() == record
    after.abandon()


def _kept(folder: Path) -> tuple[list[Utterance | None], list[Press]]:
    rules = reading_rules_sha256(SHEET, Settings(), asks=True)
    with HeardJournal(folder / HEARD_JOURNAL, rules) as journal:
        return journal.heard, presses_in(folder / PRESS_JOURNAL)


class Listener:
    def __init__(self) -> None:
        self.messages: list[object] = []

    def __call__(self, message: object) -> None:
        self.messages.append(message)

    def wait_for(self, kind: type, seconds: float = 60) -> object:
        until = time.monotonic() + seconds
        while time.monotonic() < until:
            for message in self.messages:
                if isinstance(message, kind):
                    return message
            time.sleep(0.02)
        raise AssertionError(f"no {kind.__name__} in {self.messages}")


@pytest.fixture
def work(tmp_path: Path) -> EarWork:
    return EarWork(
        folder=tmp_path / "001", sheet=SHEET, job=Job(), engine="scripted", model=str(script_file(tmp_path)),
        settings=Settings(), earlier=(), saved_samples=0,
    )  # fmt: skip


@pytest.mark.long
def test_frames_are_safe_before_they_are_said_to_be_and_come_in_order(work: EarWork) -> None:
    recording = BenchRecording(work.folder, work, Listener())
    some = list(frames(spoken(1)))
    assert [recording.take(frame) for frame in some[:5]] == [None] * 4 + [5]
    assert recording.take(some[2]) == 5  # sent again
    assert recording.take(some[9]) == 5  # too early: 5 is wanted
    assert recording.take(some[5]) is None
    assert recording.flush() == 6
    recording.abandon()
    taken_up = BenchRecording(work.folder, work, Listener())
    assert taken_up.next_frame == 6
    taken_up.abandon()


def test_a_dead_ear_is_followed_by_one_that_hears_it_all(work: EarWork) -> None:
    listener = Listener()
    recording = BenchRecording(work.folder, work, listener)
    sound = list(frames(spoken(4)))
    for frame in sound[:40]:
        recording.take(frame)
    listener.wait_for(Ready)
    listener.wait_for(Heard)
    recording._process.kill()
    for frame in sound[40:]:
        recording.take(frame)
    recording.end()
    ended = listener.wait_for(Ended)
    assert isinstance(ended, Ended)
    record = RebuildRecord.model_validate_json(ended.record)
    assert [(r.position, r.value) for r in record.readings] == [("1", 0.018), ("2", 0.06)]


def test_an_ear_gives_way_to_the_server_and_what_hears_ahead(work: EarWork) -> None:
    listener = Listener()
    recording = BenchRecording(work.folder, work, listener)
    listener.wait_for(Ready)
    of_server = os.getpriority(os.PRIO_PROCESS, 0)
    # getpriority(2): a higher number goes behind a lower one, and none is above 19.
    assert os.getpriority(os.PRIO_PROCESS, recording._process.pid or 0) >= min(19, of_server + 5)
    recording.abandon()


def test_an_ear_that_cannot_hear_says_so_in_one_line(work: EarWork, tmp_path: Path) -> None:
    (tmp_path / "script.json").write_text("no script")
    listener = Listener()
    recording = BenchRecording(work.folder, work, listener)
    failed = listener.wait_for(Failed)
    assert isinstance(failed, Failed)
    assert "script" in failed.line
    assert recording.take(next(frames(spoken(1)))) is None
    assert recording.flush() == 1  # the sound is kept all the same
    recording.abandon()
