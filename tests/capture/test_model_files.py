"""Where a model is looked for, and what is said where it is not. Tiny models in a cache of our own."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from capture.engines.model_files import _REPOSITORIES, NEEDED_FILES, PREFERRED, find_model
from shared.errors import WeightsMissing
from tests.capture.tiny_whisper import build_tiny_whisper, put_into_cache


@pytest.fixture(scope="module")
def model(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return build_tiny_whisper(tmp_path_factory.mktemp("models") / "bench-ear", "shim pack forty two")


@pytest.fixture
def cache(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """An empty cache of the hub's library."""
    from huggingface_hub import constants

    monkeypatch.setattr(constants, "HF_HUB_CACHE", str(tmp_path / "hub"))
    return tmp_path / "hub"


def test_a_folder_with_all_files_is_taken(model: Path) -> None:
    assert find_model(str(model)) == model


def test_a_name_in_the_cache_is_taken(model: Path, cache: Path) -> None:
    files = put_into_cache(model, cache, "Systran/faster-whisper-base.en")
    assert find_model("base.en") == files
    assert find_model("Systran/faster-whisper-base.en") == files
    own = put_into_cache(model, cache, "some-shop/bench-ear")
    assert find_model("some-shop/bench-ear") == own


def test_without_a_name_the_best_that_is_there_is_taken(model: Path, cache: Path) -> None:
    put_into_cache(model, cache, "Systran/faster-whisper-tiny.en")
    base = put_into_cache(model, cache, "Systran/faster-whisper-base.en")
    assert find_model(None) == base
    distilled = put_into_cache(model, cache, "Systran/faster-distil-whisper-small.en")
    assert find_model(None) == distilled


def test_a_half_fetched_one_is_passed_over(model: Path, cache: Path) -> None:
    small = put_into_cache(model, cache, "Systran/faster-whisper-small.en")
    tiny = put_into_cache(model, cache, "Systran/faster-whisper-tiny.en")
    (small / "tokenizer.json").unlink()
    assert find_model(None) == tiny


@pytest.mark.parametrize("name", [*NEEDED_FILES, "vocabulary.json"])
def test_the_missing_file_is_named(name: str, model: Path, tmp_path: Path) -> None:
    for file in model.iterdir():
        if file.name != name:
            (tmp_path / file.name).write_bytes(file.read_bytes())
    with pytest.raises(WeightsMissing, match=f"a speech model without {name}; expected .*fetch-model"):
        find_model(str(tmp_path))


@pytest.mark.parametrize(
    ("name", "said"),
    [
        (None, r"none of small\.en, .* is in the local cache.*about 485 MB.*fetch-model small\.en$"),
        ("base.en", r"'base\.en' is neither a folder nor in the local cache.*145 MB.*fetch-model base\.en$"),
        ("large-v3", r"'large-v3' is neither .*fetch it once: witnessmark fetch-model large-v3$"),
        ("some-shop/bench-ear", r"fetch-model some-shop/bench-ear$"),
        ("no such name", r"'no such name' is neither"),
        ("/srv/models/ear", r"give the folder that its model\.bin lies in$"),
    ],
)
def test_what_is_not_there_says_what_to_fetch_and_how_large(
    name: str | None, said: str, cache: Path, tmp_path: Path
) -> None:
    with pytest.raises(WeightsMissing, match=said):
        find_model(name)


def test_our_short_table_says_what_the_library_says() -> None:
    from faster_whisper.utils import _MODELS

    assert {name: _MODELS[name] for name in PREFERRED} == _REPOSITORIES


def test_looking_for_a_model_loads_no_network_and_no_engine(tmp_path: Path) -> None:
    """It is done at every start; the engine's import takes as long as the whole search."""
    program = (
        "import sys\n"
        "from capture.engines.model_files import find_model\n"
        "try: find_model(None)\n"
        "except Exception as exc: print(type(exc).__name__)\n"
        "from huggingface_hub import constants\n"
        "print(constants.HF_HUB_OFFLINE, 'ctranslate2' in sys.modules, 'faster_whisper' in sys.modules)"
    )
    shown = subprocess.run(
        [sys.executable, "-c", program],
        capture_output=True,
        text=True,
        check=True,
        env={"HF_HUB_CACHE": str(tmp_path), "PYTHONPATH": str(Path(__file__).parents[2]), "PATH": ""},
    )
    assert shown.stdout.split() == ["WeightsMissing", "True", "False", "False"]
