"""Models that decoders share are those that a decoder reads by itself, read once."""

from __future__ import annotations

import os
from pathlib import Path
from typing import Any

import pocketsphinx
import pytest

from capture.engines.language_models import sheet_language
from capture.engines.sphinx_decoder import FRONT_END, LANGUAGE_WEIGHT, WORD_PENALTY, acoustic_model_folder

#: Made up, in the ARPA format.
ARPA = """\\data\\
ngram 1=4
ngram 2=3
ngram 3=1

\\1-grams:
-1.2 </s>
-99 <s> -0.3
-0.7 vane -0.2
-0.9 one -0.1

\\2-grams:
-0.4 <s> vane -0.1
-0.2 vane one
-0.5 one </s>

\\3-grams:
-0.1 <s> vane one

\\end\\
"""
ASKED = (["one", "vane", "<s>"], ["vane", "<s>"], ["vane", "one"], ["one", "one", "vane"], ["</s>", "one"])


def written(folder: Path, arpa: str = ARPA) -> Path:
    path = folder / "model.arpa"
    path.write_text(arpa, encoding="ascii")
    return path


def read(path: Path) -> Any:
    file = path.stat()
    return sheet_language(path, file.st_mtime_ns, file.st_size, LANGUAGE_WEIGHT, WORD_PENALTY)


def test_words_are_as_likely_as_to_a_decoder_that_reads_the_file_itself(tmp_path: Path) -> None:
    path = written(tmp_path)
    words = tmp_path / "words.dict"
    words.write_text("vane V EY N\none W AH N\n", encoding="ascii")
    decoder = pocketsphinx.Decoder(
        hmm=str(acoustic_model_folder()),
        dict=str(words),
        lm=None,
        lw=LANGUAGE_WEIGHT,
        wip=WORD_PENALTY,
        **FRONT_END,
    )
    decoder.add_lm_file("own", str(path))
    own, shared = decoder.get_lm("own"), read(path)
    assert [shared.prob(asked) for asked in ASKED] == [own.prob(asked) for asked in ASKED]
    assert len({shared.prob(asked) for asked in ASKED}) == len(ASKED)


def test_a_file_is_read_once_until_it_is_another(tmp_path: Path) -> None:
    path = written(tmp_path)
    first = read(path)
    assert read(path) is first
    written(tmp_path, ARPA.replace("-0.7 vane", "-1.7 vane"))
    os.utime(path, ns=(1, 1))
    assert read(path).prob(["vane"]) < first.prob(["vane"])


def test_what_is_no_model_is_refused(tmp_path: Path) -> None:
    with pytest.raises(ValueError, match="language model"):
        read(written(tmp_path, "nothing\n"))
