"""A vocabulary is compiled by a child, once, however many ears start; a child that fails says why."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest

from capture.vocabulary import apart, is_compiled
from shared.errors import VocabularyError
from shared.job_sheet import load_job_sheet

SHEET = load_job_sheet("wash-water-end-suction")


def test_ears_that_start_together_have_it_compiled_once(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    children = []
    finished: set[Path] = set()

    def child(sheet: object, cache_dir: Path) -> None:
        children.append(sheet)
        finished.add(cache_dir)

    monkeypatch.setattr(apart, "_compile_in_child", child)
    monkeypatch.setattr(apart, "is_compiled", lambda _sheet, cache_dir: cache_dir in finished)
    with ThreadPoolExecutor(8) as pool:
        made = list(pool.map(lambda _: apart.compile_apart(SHEET, tmp_path), range(8)))
    assert len(children) == 1
    assert sorted(made) == [False] * 7 + [True]


def test_a_cache_that_cannot_be_written_is_named(tmp_path: Path) -> None:
    taken = tmp_path / "cache"
    taken.write_text("a file, no folder")
    with pytest.raises(VocabularyError, match="WITNESSMARK_CACHE_DIR") as caught:
        apart.compile_apart(SHEET, taken)
    assert str(taken) in str(caught.value)


def test_a_child_that_fails_says_why(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(apart, "_MODULE", "capture.vocabulary.no_such_room")
    with pytest.raises(VocabularyError, match="no_such_room"):
        apart.compile_apart(SHEET, tmp_path)
    assert not is_compiled(SHEET, tmp_path)


@pytest.mark.long
def test_a_child_compiles_what_an_ear_finds(tmp_path: Path) -> None:
    assert apart.compile_apart(SHEET, tmp_path)
    assert is_compiled(SHEET, tmp_path)
    assert not apart.compile_apart(SHEET, tmp_path)
