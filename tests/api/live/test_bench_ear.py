"""What the bench answers, and that a crash changes nothing."""

from __future__ import annotations

import time
from pathlib import Path

import pytest

from api.live.bench_ear import BenchEar
from api.live.bench_recording import BenchRecording, Message
from api.live.ear_process import EarWork, Ended, Failed, Heard, Ready
from capture.engines.scripted import ScriptedEngine
from shared.job_sheet import load_job_sheet
from shared.record import Job, RebuildRecord
from shared.settings import Settings
from tests.api.live.bench_sound import SCRIPT, frames, script_file, spoken

SHEET = load_job_sheet("wash-water-end-suction")


def ear(folder: Path) -> BenchEar:
    folder.mkdir(exist_ok=True)
    return BenchEar(folder, SHEET, Job(work_order="7"), ScriptedEngine(SCRIPT), Settings())


def test_every_utterance_is_answered_by_what_it_came_to(tmp_path: Path) -> None:
    listening = ear(tmp_path / "001")
    told = [one for frame in frames(spoken(4)) for one in listening.hear(frame.samples)]
    told += listening.finish()
    assert [one.answer.tone for one in told] == ["taken", "out", None, None]
    assert "eighteen" in told[0].heard
    assert told[0].answer.say == "vane one, 0.018 in, within"
    assert "OUTSIDE" in told[1].board.lines[0].word
    assert told[1].board.deviations >= 1
    # Chatter is answered by nothing, and no word of it is shown.
    assert told[2].heard == ""
    assert "saturday" not in told[2].board.model_dump_json()
    # Whoever says that he is done is told what nobody said.
    assert told[3].answer.say.startswith("left: ")
    assert told[3].board.finished


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


class Listener:
    def __init__(self) -> None:
        self.messages: list[Message] = []

    def __call__(self, message: Message) -> None:
        self.messages.append(message)

    def wait_for(self, kind: type, seconds: float = 60) -> Message:
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
