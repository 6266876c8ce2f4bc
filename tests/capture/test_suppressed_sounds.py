"""What the noise suppressor leaves of words is known to the decoder of suppressed sound, and to it alone."""

from __future__ import annotations

from pathlib import Path

import pytest

from capture.engines.sphinx import SphinxEngine
from capture.engines.suppressed_sounds import suppressed_sounds, with_suppressed
from capture.vocabulary.pronunciations import pronunciations_of, read_dictionary
from shared.job_sheet import load_job_sheet
from shared.settings import Settings

PLAIN = "pint P AY N T\npoint P OY N T\npoint(2) P OY N\nzero Z IH R OW\nzero(2) Z IY R OW\n"


def entries(text: str, folder: Path) -> dict[str, list[str]]:
    path = folder / "some.dict"
    path.write_text(text, encoding="ascii")
    return read_dictionary(path)


def test_variants_are_added_once_and_numbered_on(tmp_path: Path) -> None:
    text = with_suppressed(PLAIN)
    added = entries(text, tmp_path)["point"]
    assert added[:2] == ["P OY N T", "P OY N"]
    assert set(suppressed_sounds()["point"]) <= set(added)
    assert len(added) == len(set(added))
    assert [line.split()[0] for line in text.splitlines() if line.startswith("point")] == [
        "point",
        *(f"point({n})" for n in range(2, len(added) + 1)),
    ]


def test_other_words_stay_as_they_were(tmp_path: Path) -> None:
    before, after = entries(PLAIN, tmp_path), entries(with_suppressed(PLAIN), tmp_path)
    assert {w: p for w, p in after.items() if w != "point"} == {
        w: p for w, p in before.items() if w != "point"
    }


def test_a_word_that_the_sheet_does_not_need_is_not_brought_in() -> None:
    assert with_suppressed("pint P AY N T\n") == "pint P AY N T\n"


@pytest.fixture(scope="module")
def engine() -> SphinxEngine:
    return SphinxEngine(load_job_sheet("wash-water-end-suction"), Path(Settings().cache_dir))


def test_only_the_decoder_of_suppressed_sound_knows_them(engine: SphinxEngine) -> None:
    first = len(pronunciations_of("point")) + 1
    assert engine._decoder._decoder.lookup_word(f"point({first})") is None
    known = engine._in_noise()._decoder
    assert known.lookup_word(f"point({first})") in suppressed_sounds()["point"]
    assert engine._in_noise()._decoder is known  # made once
