"""An ear whose server was killed and one of the server started again: never both in the same journals."""

from __future__ import annotations

from dataclasses import replace
from multiprocessing.connection import Connection
from multiprocessing.process import BaseProcess
from pathlib import Path
from shutil import copytree

import pytest

from api.listening import HEARD_JOURNAL, SOUND_JOURNAL
from api.live import one_ear
from api.live.ear_context import ear_context
from api.live.ear_process import EarWork, Ended, Heard, Ready, run_ear
from api.live.one_ear import alone_in
from capture.sound_journal import SoundJournal
from shared.errors import OutputBusy
from shared.job_sheet import load_job_sheet
from shared.record import Job, RebuildRecord
from shared.settings import Settings
from tests.api.live.bench_sound import frames, script_file, spoken


def start(work: EarWork) -> tuple[BaseProcess, Connection]:
    context = ear_context()
    ours, theirs = context.Pipe()
    process = context.Process(target=run_ear, args=(work, theirs), daemon=True)
    process.start()
    theirs.close()
    return process, ours


def next_of(kind: type, pipe: Connection) -> object:
    """Return the next message of a kind; others are passed over."""
    while pipe.poll(60):
        message = pipe.recv()
        if isinstance(message, kind):
            return message
    raise AssertionError(f"no {kind.__name__}")


@pytest.mark.long
def test_the_ear_of_a_new_server_waits_for_that_of_a_killed_one(tmp_path: Path) -> None:
    folder = tmp_path / "001"
    folder.mkdir()
    sound = [frame.samples for frame in frames(spoken(4))]
    with SoundJournal.create(folder / SOUND_JOURNAL, {"recording": "001"}) as journal:
        for block in sound:
            journal.append(block)
    work = EarWork(
        folder=folder, sheet=load_job_sheet("wash-water-end-suction"), job=Job(), engine="scripted",
        model=str(script_file(tmp_path)), settings=Settings(), earlier=(), saved_samples=0,
    )  # fmt: skip
    old, of_old = start(work)
    next_of(Ready, of_old)
    elsewhere = copytree(folder, tmp_path / "002")
    (elsewhere / HEARD_JOURNAL).unlink()
    again = replace(work, saved_samples=sum(len(block) for block in sound))
    new, of_new = start(again)
    # One that begins the same work later, with the folder for itself, has long heard something by now.
    other, of_other = start(replace(again, folder=elsewhere))
    next_of(Ready, of_other)
    assert not of_new.poll(0.5)
    for block in sound[: len(sound) // 2]:
        of_old.send(block)
    heard = next_of(Heard, of_old)
    assert isinstance(heard, Heard)
    assert not of_new.poll()
    of_old.close()  # what a killed server's end of the pipe does
    ready = next_of(Ready, of_new)
    assert isinstance(ready, Ready)
    assert ready.known is not None
    assert heard.text in [one.utterance.text for one in ready.known.said]
    of_new.send(None)
    ended = next_of(Ended, of_new)
    assert isinstance(ended, Ended)
    record = RebuildRecord.model_validate_json(ended.record)
    assert [(one.position, one.value) for one in record.readings] == [("1", 0.018), ("2", 0.06)]
    of_other.close()
    for process in (old, new, other):
        process.join(60)
        assert process.exitcode == 0


def test_one_that_does_not_end_is_told_in_one_line(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(one_ear, "_ENDS_IN_S", 0.0)
    heard_by_another = pytest.raises(OutputBusy, match="another process hears this recording")
    with alone_in(tmp_path), heard_by_another, alone_in(tmp_path):
        raise AssertionError("two at once")
    with alone_in(tmp_path):
        assert list(tmp_path.iterdir()) == []  # nothing is left that a backup or an export would meet
