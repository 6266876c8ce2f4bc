"""Which of several copies of one recording is taken: that of which the list beside them tells something."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from api.office.clips import wav_bytes
from api.past.finding import LIST, find_recordings
from shared.errors import SoundUnreadable


@pytest.fixture
def copies(tmp_path: Path) -> Path:
    sound = wav_bytes(np.full(1600, 9, np.int16))
    for name in ("a.wav", "b.wav", "c.wav"):
        (tmp_path / name).write_bytes(sound)
    return tmp_path


def listed(folder: Path, *lines: str) -> None:
    (folder / LIST).write_text("\n".join(["file,work_order,pump_tag", *lines]) + "\n")


@pytest.mark.parametrize("name", ["a.wav", "b.wav", "c.wav"])
def test_what_the_list_tells_of_any_copy_is_kept(copies: Path, name: str) -> None:
    listed(copies, f"{name},WO 42,P-109")
    found = find_recordings([copies])
    (one,) = found.recordings
    assert (one.path.name, one.job.work_order, one.job.pump_tag) == (name, "WO 42", "P-109")
    assert {of.name for _, of in found.duplicates} == {name}
    assert sorted(copy.name for copy, _ in found.duplicates) == sorted({"a.wav", "b.wav", "c.wav"} - {name})


def test_of_copies_that_no_list_tells_of_the_first_is_taken(copies: Path) -> None:
    listed(copies, "b.wav,,")
    found = find_recordings([copies])
    assert [one.path.name for one in found.recordings] == ["a.wav"]
    assert [(copy.name, of.name) for copy, of in found.duplicates] == [("b.wav", "a.wav"), ("c.wav", "a.wav")]


def test_two_lines_that_say_different_things_of_one_recording_are_refused(copies: Path) -> None:
    listed(copies, "a.wav,WO 42,", "b.wav,WO 43,")
    with pytest.raises(SoundUnreadable, match="say different things"):
        find_recordings([copies])
    listed(copies, "a.wav,WO 42,", "b.wav,WO 42,")
    assert [one.path.name for one in find_recordings([copies]).recordings] == ["a.wav"]
