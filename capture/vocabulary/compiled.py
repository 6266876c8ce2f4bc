"""The vocabulary of one job sheet, compiled for the engines and kept by content.

Everything that goes in (sheet, lexicon, text, dictionaries, this code) makes the key; a folder of that
name in the cache holds the result. It appears by one rename, so that a second process sees all of
it or nothing, and two that compile at once give the same bytes.
"""

from __future__ import annotations

import hashlib
import json
import os
import shutil
import tempfile
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from capture.vocabulary.general_model import general_model_path, read_general_model
from capture.vocabulary.hotwords import hotwords_of
from capture.vocabulary.language_model import build_language_model, build_template_model
from capture.vocabulary.mixture import BackOffModel
from capture.vocabulary.pronunciations import dictionary_text, general_dictionary_path
from shared.errors import VocabularyError
from shared.job_sheet import JobSheet
from shared.lexicon import lexicon_sha256, load_lexicon

_HERE = Path(__file__).parent
_MODEL, _NARROW, _DICTIONARY, _ABOUT = "language_model.bin", "narrow_model.bin", "words.dict", "about.json"
_COMPLETE = (_MODEL, _NARROW, _DICTIONARY, _ABOUT)


@dataclass(frozen=True)
class Vocabulary:
    """What the engines need to hear one sheet's rebuild."""

    language_model: Path
    """Trigram model in pocketsphinx's binary form."""
    narrow_model: Path
    """The same of what the sheet's own items, places and numbers make, for a second pass over numbers."""
    dictionary: Path
    """Pronunciations of all its words, CMU format."""
    hotwords: str
    sha256: str
    """Over all that went into it; hexadecimal."""
    words: int
    """How many words it can hear."""


def compile_vocabulary(sheet: JobSheet, cache_dir: Path) -> Vocabulary:
    """Return the vocabulary of a sheet, compiled now or found in the cache.

    Raises:
        VocabularyError: it cannot be compiled, or the cache cannot be written.
    """
    key = vocabulary_sha256(sheet)
    folder = cache_dir / "vocabulary" / key
    found = _load(folder, key)
    if found is not None:
        return found
    try:
        folder.parent.mkdir(parents=True, exist_ok=True)
        made = Path(tempfile.mkdtemp(prefix=".making-", dir=folder.parent))
    except OSError as exc:
        raise _unwritable(cache_dir, exc) from exc
    try:
        _compile_into(made, sheet)
        _put_in_place(made, folder)
    except OSError as exc:
        raise _unwritable(cache_dir, exc) from exc
    finally:
        shutil.rmtree(made, ignore_errors=True)
    found = _load(folder, key)
    if found is None:
        raise VocabularyError("compiled, but not to be read back", where=str(folder))
    return found


def is_compiled(sheet: JobSheet, cache_dir: Path) -> bool:
    """Whether the vocabulary of a sheet lies in the cache, whole."""
    key = vocabulary_sha256(sheet)
    return _load(cache_dir / "vocabulary" / key, key) is not None


def vocabulary_sha256(sheet: JobSheet) -> str:
    """Return the key of a sheet's vocabulary: a hash over everything that goes into it."""
    digest = hashlib.sha256()
    for part in (sheet.model_dump_json(by_alias=True), lexicon_sha256(), _own_sha256()):
        digest.update(part.encode() + b"\0")
    return digest.hexdigest()


@cache
def _own_sha256() -> str:
    """Return a hash over code, text and dictionaries; reading them all takes a few milliseconds."""
    digest = hashlib.sha256()
    own = [path for path in _HERE.rglob("*") if path.suffix in {".py", ".txt", ".dict"}]
    for path in sorted(own):
        digest.update(str(path.relative_to(_HERE)).encode() + b"\0" + path.read_bytes() + b"\0")
    for path in (general_dictionary_path(), general_model_path()):
        digest.update(str(path.stat().st_size).encode())
    return digest.hexdigest()


def _load(folder: Path, key: str) -> Vocabulary | None:
    if not all((folder / name).is_file() for name in _COMPLETE):
        return None
    try:
        about = json.loads((folder / _ABOUT).read_text(encoding="utf-8"))
        sizes_right = all((folder / name).stat().st_size == size for name, size in about["sizes"].items())
        hotwords, words = str(about["hotwords"]), int(about["words"])
    except (OSError, ValueError, KeyError, TypeError, AttributeError):
        return None  # damaged: compiled anew
    if not sizes_right:
        return None
    return Vocabulary(folder / _MODEL, folder / _NARROW, folder / _DICTIONARY, hotwords, key, words)


def _compile_into(folder: Path, sheet: JobSheet) -> None:
    lexicon = load_lexicon()
    model = build_language_model(sheet, lexicon)
    write_vocabulary(model, folder)
    _write_language_model(build_template_model(sheet, lexicon).arpa(), folder / _NARROW)
    sizes = {name: (folder / name).stat().st_size for name in (_MODEL, _NARROW, _DICTIONARY)}
    about = {
        "sheet": sheet.id,
        "hotwords": hotwords_of(sheet, lexicon, read_general_model().common),
        "words": len(model.words) - 2,  # without those for begin and end
        "sizes": sizes,
    }
    (folder / _ABOUT).write_text(json.dumps(about, indent=1, sort_keys=True), encoding="utf-8")


def write_vocabulary(model: BackOffModel, folder: Path) -> tuple[Path, Path]:
    """Write a language model and a dictionary of its words into a folder; return their paths."""
    spoken = [word for word in model.words if word not in ("<s>", "</s>")]
    _write_language_model(model.arpa(), folder / _MODEL)
    (folder / _DICTIONARY).write_text(dictionary_text(spoken), encoding="ascii")
    return folder / _MODEL, folder / _DICTIONARY


def _write_language_model(arpa: bytes, path: Path) -> None:
    """Write the binary form: it loads in a tenth of the time of the text."""
    from pocketsphinx import NGramModel

    text = path.with_suffix(".arpa")
    text.write_bytes(arpa)
    try:
        model = NGramModel.readfile(str(text))
        model.write(str(path))
    except (RuntimeError, ValueError, TypeError) as exc:
        raise VocabularyError("the language model cannot be read back", where=str(text)) from exc
    text.unlink()


def _put_in_place(made: Path, folder: Path) -> None:
    for path in made.iterdir():
        with path.open("rb") as file:
            os.fsync(file.fileno())
    try:
        made.rename(folder)
    except OSError:
        # Another process was first, or what stands there is damaged: leave the good, replace the bad.
        if _load(folder, folder.name) is None:
            shutil.rmtree(folder, ignore_errors=True)
            made.rename(folder)


def _unwritable(cache_dir: Path, error: OSError) -> VocabularyError:
    return VocabularyError(
        f"the cache cannot be written: {error.strerror or error}",
        where=str(cache_dir),
        remedy="free some room or set WITNESSMARK_CACHE_DIR to a folder that can be written",
    )
