"""Where a speech model lies on this machine: a folder, or a name in the local cache. Never a download."""

from __future__ import annotations

import os
from pathlib import Path

from shared.errors import WeightsMissing

#: Without any of these the library would go looking for it on a network.
NEEDED_FILES = ("model.bin", "config.json", "tokenizer.json")
_VOCABULARY_FILES = ("vocabulary.json", "vocabulary.txt")
#: Taken by ``auto`` in this order: the most accurate one that two cores carry comes first.
PREFERRED = ("small.en", "distil-small.en", "base.en", "tiny.en")
#: About how large they are, in megabytes, from memory; ``fetch-model`` states the true size first.
_REPOSITORIES = {
    "tiny.en": "Systran/faster-whisper-tiny.en",
    "base.en": "Systran/faster-whisper-base.en",
    "small.en": "Systran/faster-whisper-small.en",
    "distil-small.en": "Systran/faster-distil-whisper-small.en",
}
"""What faster-whisper's own table says of these; that table costs the import of all of it."""
_SIZE_MB = {"tiny.en": 75, "base.en": 145, "small.en": 485, "distil-small.en": 335, "medium.en": 1530}


def keep_hub_offline() -> None:
    """Forbid the hub's library any network; call it before that library is imported.

    Nothing here asks it for more than the local cache; this holds even where a later version of it would.
    """
    os.environ["HF_HUB_OFFLINE"] = "1"
    os.environ["HF_HUB_DISABLE_TELEMETRY"] = "1"


def find_model(name: str | None) -> Path:
    """Return the folder of a model with all its files.

    Args:
        name: a folder, a model's name such as ``small.en`` or OWNER/REPOSITORY; None: the first of
            :data:`PREFERRED` that is there.

    Raises:
        WeightsMissing: it is not there, or not wholly; says what to fetch and how large it is.
    """
    if name is None:
        for candidate in PREFERRED:
            folder = _cached(candidate)
            if folder is not None and not missing_files(folder):
                return folder
        raise _missing(PREFERRED[0], f"none of {', '.join(PREFERRED)} is in the local cache of speech models")
    folder = Path(name)
    if not folder.is_dir():
        found = _cached(name)
        if found is None:
            raise _missing(name, f"the speech model {name!r} is neither a folder nor in the local cache")
        folder = found
    absent = missing_files(folder)
    if absent:
        raise WeightsMissing(
            f"a speech model without {', '.join(absent)}",
            where=str(folder),
            expected=", ".join((*NEEDED_FILES, "vocabulary.json or vocabulary.txt")),
            remedy="copy the folder again, or fetch it: witnessmark fetch-model NAME",
        )
    return folder


def missing_files(folder: Path) -> list[str]:
    """Return which needed files a model's folder lacks."""
    absent = [name for name in NEEDED_FILES if not (folder / name).is_file()]
    if not any((folder / name).is_file() for name in _VOCABULARY_FILES):
        absent.append(_VOCABULARY_FILES[0])
    return absent


def _cached(name: str) -> Path | None:
    """Return the folder of a model in the local cache; None where it is not."""
    keep_hub_offline()
    from huggingface_hub import try_to_load_from_cache
    from huggingface_hub.errors import HFValidationError

    try:
        found = try_to_load_from_cache(_repository(name), "model.bin")
    except HFValidationError:
        return None  # no name that anything could be cached under
    return Path(found).parent if isinstance(found, str) else None


def _repository(name: str) -> str:
    if "/" in name or name in _REPOSITORIES:
        return _REPOSITORIES.get(name, name)
    from faster_whisper.utils import _MODELS

    return str(_MODELS.get(name, name))


def _missing(name: str, what: str) -> WeightsMissing:
    if name.startswith((".", "/", "~")) or name.count("/") > 1:
        return WeightsMissing(what, remedy="give the folder that its model.bin lies in")
    size = f" (about {_SIZE_MB[name]} MB)" if name in _SIZE_MB else ""
    return WeightsMissing(what, remedy=f"fetch it once{size}: witnessmark fetch-model {name}")
