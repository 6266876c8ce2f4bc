"""An archive read by two workers at once, and read again after the trade lexicon has learnt a word."""

from __future__ import annotations

import json
import os
import re
import shutil
import subprocess
import sys
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from sqlalchemy import select

from api.store.archive_tables import ArchivedEntry, ArchivedRecord
from api.store.database import Database, database_url
from api.store.task_tables import Task
from capture.sound import RATE_HZ
from tests.api.processing import RECORDING, SHEET, write_wav
from tests.recorded_sound import recorded_sound

TREE = Path(__file__).parents[3]
#: A word that no lexicon knows; what it is taken for once one does.
COINED, CONDITION = "frimpled", "worn"


def folder_of(tmp_path: Path, count: int, length_s: int) -> Path:
    """Recordings of another content each."""
    sound = recorded_sound(RECORDING)[: length_s * RATE_HZ]
    folder = tmp_path / "recordings"
    folder.mkdir()
    for number in range(count):
        write_wav(folder / f"{number}.wav", np.roll(sound, -number * RATE_HZ))
    return folder


def started(tree: Path, tmp_path: Path, *more: str, said: list[str]) -> subprocess.Popen[str]:
    """``witnessmark process`` over the folder, out of a source tree, heard by the scripted engine."""
    script = tmp_path / "script.json"
    script.write_text(json.dumps(said))
    command = [sys.executable, "-m", "api", "process", str(tmp_path / "recordings"), "--sheet", SHEET]
    command += ["--engine", "scripted", "--model", str(script), "--data", str(tmp_path / "data")]
    environment = {**os.environ, "PYTHONPATH": str(tree)}
    return subprocess.Popen(
        [*command, *more], cwd=tree, env=environment, stdout=subprocess.PIPE, stderr=subprocess.PIPE,
        text=True,
    )  # fmt: skip


def told(tree: Path, tmp_path: Path, *, said: list[str]) -> list[dict[str, Any]]:
    """What the command tells of each recording that it has read."""
    process = started(tree, tmp_path, "--json", said=said)
    out, err = process.communicate(timeout=240)
    assert process.returncode == 0, err
    recordings: list[dict[str, Any]] = json.loads(out)["recordings"]
    return recordings


@pytest.mark.long
def test_two_workers_read_a_folder_at_the_same_time_and_each_recording_once(tmp_path: Path) -> None:
    folder = folder_of(tmp_path, count=4, length_s=20)
    process = started(TREE, tmp_path, "--workers", "2", said=["seal setting one and a sixteenth"])
    out, err = process.communicate(timeout=240)
    assert process.returncode == 0

    progress = [line for line in err.splitlines() if " recordings read, " in line]
    at_work = [int(re.findall(r"(\d+) at work", line)[0]) for line in progress]
    assert progress[0].startswith("0 of 4 recordings read")
    assert max(at_work) == 2
    summary = out.splitlines()
    assert summary[-1] == "4 read and filed"
    told_of = {line.split(": ")[0]: line for line in summary if ".wav: " in line}
    assert set(told_of) == {str(path) for path in folder.iterdir()}
    assert all(": 1 readings, " in line for line in told_of.values())

    database = Database(database_url(tmp_path / "data", None))
    with database.reading() as session:
        tasks = list(session.scalars(select(Task)))
        sources = list(session.scalars(select(ArchivedRecord.source)))
    database.close()
    assert [(task.state, task.attempt) for task in tasks] == [("done", 1)] * 4
    assert len(sources) == len(set(sources)) == 4


@pytest.mark.long
def test_read_again_after_a_change_of_the_lexicon_both_readings_are_kept(tmp_path: Path) -> None:
    """The lexicon's own file is changed, in a tree of its own, as an update of the program changes it."""
    folder_of(tmp_path, count=1, length_s=12)
    said = [f"the impeller is {COINED}"]
    newer = tmp_path / "newer"
    shutil.copytree(TREE / "shared", newer / "shared")
    for room in ("api", "capture", "extract", "fixtures"):
        (newer / room).symlink_to(TREE / room)
    lexicon = newer / "shared" / "lexicon" / "conditions.yaml"
    text = lexicon.read_text("utf-8")
    assert COINED not in text
    assert text.count(f"\n{CONDITION}: [") == 1
    lexicon.write_text(text.replace(f"\n{CONDITION}: [", f"\n{CONDITION}: [{COINED}, "), "utf-8")

    (first,) = told(TREE, tmp_path, said=said)
    (again,) = told(newer, tmp_path, said=said)
    assert (first["version"], again["version"]) == (1, 2)
    assert first["folder"] != again["folder"]
    assert all(Path(one["folder"], "record.json").is_file() for one in (first, again))
    database = Database(database_url(tmp_path / "data", None))
    with database.reading() as session:
        versions = list(session.scalars(select(ArchivedRecord).order_by(ArchivedRecord.version)))
        read = [
            set(
                session.scalars(
                    select(ArchivedEntry.what).where(
                        ArchivedEntry.record_id == one.id, ArchivedEntry.kind == "condition"
                    )
                )
            )
            for one in versions
        ]
    database.close()
    assert [(one.version, one.stands) for one in versions] == [(1, False), (2, True)]
    assert len({one.rules_sha256 for one in versions}) == 2
    assert len({one.engine for one in versions}) == len({one.source for one in versions}) == 1
    assert read == [set(), {CONDITION}]
    # Going back to the older program is no third version: that reading is there.
    (back,) = told(TREE, tmp_path, said=said)
    assert back["version"] == 1
