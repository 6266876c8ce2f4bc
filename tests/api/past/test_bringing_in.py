"""Recordings from before are found, read once each, and filed; what cannot be read is named."""

from __future__ import annotations

import json
import os
import shutil
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import av
import numpy as np
import pytest
from sqlalchemy import select

from api.cli import run
from api.data_folder import MARK
from api.failure import DONE, FOUND, NOT_DONE
from api.past.clock import recorded_when
from api.past.finding import _LONGEST, AGREED, find_recordings
from api.store.archive_tables import ArchivedRecord
from api.store.database import Database, database_url
from api.store.past_voices import PastVoices
from api.work_folder import held_folder
from capture.sound import read_sound
from shared.errors import OutputForeign, SoundUnreadable
from tests.api.processing import SHEET, write_wav

NOW = datetime(2026, 11, 1, tzinfo=UTC)
LONG_AGO = datetime(2019, 5, 4, 9, 30, tzinfo=UTC)


@pytest.fixture
def archive(tmp_path: Path, talk: Path) -> Path:
    """Two recordings, one of them twice, one cut, and what else lies about in such folders."""
    folder = tmp_path / "archive"
    (folder / "2019").mkdir(parents=True)
    shutil.copy(talk, folder / "2019" / "a.wav")
    shutil.copy(talk, folder / "again.wav")
    whole = talk.read_bytes()
    (folder / "cut.wav").write_bytes(whole[: len(whole) // 2])
    (folder / "broken.mp4").write_bytes(b"no video at all" * 100)
    (folder / "empty.wav").write_bytes(b"")
    (folder / "copying.wav.part").write_bytes(whole[:1000])
    (folder / "more.zip").write_bytes(b"PK")
    (folder / "notes.txt").write_text("not a recording")
    (folder / "2019" / "recordings.csv").write_text(
        "file,work_order,pump_tag,crew,running_hours\na.wav,7003,P-7,late,8412\n"
    )
    return folder


@pytest.fixture
def bring_in(tmp_path: Path, script: Path, capsys: pytest.CaptureFixture[str]) -> Any:
    def run_it(*places: Path | str, status: int = DONE) -> dict[str, Any]:
        wanted = ["process", *(str(place) for place in places), "--sheet", SHEET, "--json"]
        wanted += ["--data", str(tmp_path / "data"), "--engine", "scripted", "--model", str(script)]
        assert run(wanted) == status
        told: dict[str, Any] = json.loads(capsys.readouterr().out)
        return told

    return run_it


def filed(tmp_path: Path) -> list[ArchivedRecord]:
    database = Database(database_url(tmp_path / "data", None))
    with database.reading() as session:
        found = list(session.scalars(select(ArchivedRecord).order_by(ArchivedRecord.id)))
    database.close()
    return found


@pytest.mark.parametrize("command", [["migrate"], ["worker", "--until-done"]])
def test_the_server_takes_a_folder_that_another_command_began(tmp_path: Path, command: list[str]) -> None:
    data = tmp_path / "data"
    assert run([*command, "--data", str(data)]) == DONE
    with held_folder(data, MARK):
        pass
    # One with other files is nobody's.
    (tmp_path / "other").mkdir()
    (tmp_path / "other" / "letter.txt").write_text("theirs")
    assert run([*command, "--data", str(tmp_path / "other")]) == DONE
    with pytest.raises(OutputForeign), held_folder(tmp_path / "other", MARK):
        pass


@pytest.mark.long
def test_a_folder_is_read_filed_and_told_of_file_by_file(
    archive: Path, tmp_path: Path, bring_in: Any
) -> None:
    told = bring_in(archive)
    with held_folder(tmp_path / "data", MARK):
        pass  # a shop may begin with its past: the server takes the folder
    by_name = {Path(one["file"]).name: one for one in told["recordings"]}
    assert {name: one["state"] for name, one in by_name.items()} == {
        "a.wav": "done", "cut.wav": "done", "broken.mp4": "failed",
    }  # fmt: skip
    assert "sound-unreadable" in by_name["broken.mp4"]["failure"]
    # Half-written: what there is was read, and that it is not all is said.
    assert any("cut" in remark for remark in by_name["cut.wav"]["remarks"])
    assert [Path(one["same_as"]).name for one in told["duplicates"]] == ["a.wav"]
    assert {Path(one["file"]).name: one["why"].split(":")[0] for one in told["passed_over"]} == {
        "empty.wav": "empty", "copying.wav.part": "half written", "more.zip": "packed",
    }  # fmt: skip
    kept = {one.work_order: one for one in filed(tmp_path)}
    assert len(kept) == 2
    assert (kept["7003"].pump_tag, kept["7003"].crew, kept["7003"].running_hours) == ("P-7", "late", 8412.0)
    assert kept["7003"].source.startswith("file:")
    assert kept["7003"].record is not None
    assert Path(by_name["a.wav"]["folder"], "record.json").exists()


@pytest.mark.long
def test_given_again_it_reads_nothing_twice_and_another_engine_files_another_version(
    archive: Path, tmp_path: Path, bring_in: Any
) -> None:
    bring_in(archive / "2019")
    folder = Path(bring_in(archive / "2019")["recordings"][0]["folder"])
    made = (folder / "record.json").stat().st_mtime_ns
    told = bring_in(archive / "2019")
    assert (folder / "record.json").stat().st_mtime_ns == made
    assert [one["version"] for one in told["recordings"]] == [1]
    other = tmp_path / "script.json"
    other.write_text(json.dumps(["front clearance vane one nineteen thou"]))
    wanted = ["process", str(archive / "2019"), "--sheet", SHEET, "--data", str(tmp_path / "data")]
    assert run([*wanted, "--engine", "scripted", "--model", str(other)]) == DONE
    versions = [(one.version, one.stands) for one in filed(tmp_path)]
    assert versions == [(1, False), (2, True)]


@pytest.mark.long
def test_what_cannot_be_read_is_the_exit_status_only_where_it_is_asked_for_or_all(
    archive: Path, bring_in: Any, tmp_path: Path, script: Path
) -> None:
    bring_in(archive / "broken.mp4", archive / "empty.wav", status=NOT_DONE)
    wanted = [
        "process",
        str(archive / "2019"),
        "--sheet",
        SHEET,
        "--data",
        str(tmp_path / "data"),
        "--strict",
    ]
    assert run([*wanted, "--engine", "scripted", "--model", str(script)]) == FOUND


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (["--out", "x"], "--out is for one FILE"),
        (["--work-order", "7"], "stands in their recordings.csv"),
    ],
)
def test_options_of_one_recording_are_refused_for_folders(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], arguments: list[str], told: str
) -> None:
    assert run(["process", str(tmp_path), "--sheet", SHEET, *arguments]) == NOT_DONE
    assert told in capsys.readouterr().err


def test_a_folder_without_a_recording_is_told_in_one_line(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "notes.txt").write_text("nothing")
    assert run(["process", str(tmp_path), "--sheet", SHEET, "--data", str(tmp_path / "d")]) == NOT_DONE
    assert "no recording in here" in capsys.readouterr().err


@pytest.mark.parametrize(
    "text",
    ["name,work_order\na.wav,1\n", "file,colour\na.wav,red\n", "file,running_hours\na.wav,many\n"],
)
def test_a_list_that_cannot_be_used_is_told_with_its_name(tmp_path: Path, talk: Path, text: str) -> None:
    shutil.copy(talk, tmp_path / "a.wav")
    (tmp_path / "recordings.csv").write_text(text)
    with pytest.raises(SoundUnreadable, match=r"recordings\.csv"):
        find_recordings([tmp_path])


@pytest.mark.parametrize(
    ("column", "text", "told"),
    [
        ("work_order", "w" * 129, "work_order of a.wav is 129 characters long"),
        ("pump_tag", "p" * 129, "pump_tag of a.wav is 129"),
        ("pump_serial", "s" * 129, "pump_serial of a.wav is 129"),
        ("crew", "c" * 65, "crew of a.wav is 65"),
        ("crew", "c\x00", "crew of a.wav holds a NUL"),
        ("voices_agreed", "v" * 201, "voices_agreed of a.wav is 201"),
    ],
)
def test_what_the_archive_cannot_keep_is_refused_before_anything_is_read(
    tmp_path: Path, talk: Path, column: str, text: str, told: str
) -> None:
    shutil.copy(talk, tmp_path / "a.wav")
    (tmp_path / "recordings.csv").write_text(f"file,{column}\na.wav,{text}\n")
    with pytest.raises(SoundUnreadable, match=rf"recordings\.csv: {told}.*at most \d+"):
        find_recordings([tmp_path])


def test_what_it_can_keep_at_most_is_as_the_archive_has_it() -> None:
    for name, most in _LONGEST.items():
        kept = PastVoices.stated_by if name == AGREED else getattr(ArchivedRecord, name)
        assert getattr(kept.type, "length", None) in (most, None), name


@pytest.mark.long
def test_it_is_stated_beside_a_recording_that_all_agreed_and_can_be_taken_back(
    archive: Path, tmp_path: Path, bring_in: Any
) -> None:
    listing = archive / "2019" / "recordings.csv"

    def stated() -> list[tuple[str, str]]:
        bring_in(archive / "2019")
        database = Database(database_url(tmp_path / "data", None))
        with database.reading() as session:
            found = [(one.source, one.stated_by) for one in session.scalars(select(PastVoices))]
        database.close()
        return found

    assert stated() == []
    listing.write_text("file,voices_agreed\na.wav,Ida Keeper\n")
    assert stated() == [(filed(tmp_path)[0].source, "Ida Keeper")]
    # A list that says nothing of it changes nothing; one that leaves the name out takes it back.
    listing.write_text("file,crew\na.wav,late\n")
    assert len(stated()) == 1
    listing.write_text("file,voices_agreed\na.wav,\n")
    assert stated() == []


def _dated(path: Path, talk: Path, said: str | None, changed: datetime = LONG_AGO) -> Path:
    """Write sound into an MP4 whose header says when it was made."""
    sound = np.concatenate(list(read_sound(talk)))[:16_000]
    with av.open(str(path), "w", format="mp4") as container:
        if said:
            container.metadata["creation_time"] = said
        stream = container.add_stream("aac", rate=16_000)
        frame = av.AudioFrame.from_ndarray(sound.reshape(1, -1), format="s16", layout="mono")
        frame.sample_rate = 16_000
        for packet in [*stream.encode(frame), *stream.encode(None)]:
            container.mux(packet)
    os.utime(path, (changed.timestamp(), changed.timestamp()))
    return path


@pytest.mark.parametrize(
    ("said", "began", "doubt"),
    [
        ("2019-05-04T08:15:00.000000Z", datetime(2019, 5, 4, 8, 15, tzinfo=UTC), None),
        ("1970-01-01T00:03:00.000000Z", None, "it says 1970-01-01"),
        ("2031-01-01T00:00:00.000000Z", None, "it says 2031-01-01"),
        # Nobody changes a file before it is made.
        ("2020-02-02T00:00:00.000000Z", None, "the file was last changed 2019-05-04"),
    ],
)
def test_a_recorder_whose_clock_was_wrong_is_not_believed(
    tmp_path: Path, talk: Path, said: str, began: datetime | None, doubt: str | None
) -> None:
    when = recorded_when(_dated(tmp_path / "a.mp4", talk, said), 1.0, now=NOW)
    assert when.began == began
    assert (when.doubt is None) == (doubt is None)
    assert (doubt or "") in (when.doubt or "")


def test_a_file_without_a_date_is_dated_by_its_change_and_says_so(tmp_path: Path, talk: Path) -> None:
    path = write_wav(tmp_path / "a.wav", np.zeros(16_000))
    os.utime(path, (LONG_AGO.timestamp(), LONG_AGO.timestamp()))
    when = recorded_when(path, 60.0, now=NOW)
    assert when.began == datetime(2019, 5, 4, 9, 29, tzinfo=UTC)
    assert "last changed" in (when.doubt or "")
    os.utime(path, (0, 0))
    assert recorded_when(path, 60.0, now=NOW).began is None
