"""Language models, each read once a process however many decoders search by it.

Everyday English, which tells chatter from talk of the job, benches' ears share altogether: they are forked
from a process that has read it already.
"""

from __future__ import annotations

from functools import cache, lru_cache
from pathlib import Path
from typing import Any


@cache
def everyday_language(language_weight: float, word_penalty: float) -> Any:
    """Return the library's model.

    Args:
        language_weight: how much it counts against the sound (``lw`` of a decoder).
        word_penalty: what a word more costs (``wip`` of a decoder).

    Raises:
        ValueError: the library cannot read it.
    """
    import pocketsphinx

    path = Path(pocketsphinx.get_model_path()) / "en-us" / "en-us.lm.bin"
    return _read(path, language_weight, word_penalty)


@lru_cache(2)
def sheet_language(
    path: Path, written_ns: int, size: int, language_weight: float, word_penalty: float
) -> Any:
    """Return the library's model of what is said of a sheet; the last two are kept, the job's and the narrow.

    Args:
        path: of the compiled model.
        written_ns: when the file was last written; another one of the same name is read anew.
        size: of the file, bytes.
        language_weight: see :func:`everyday_language`.
        word_penalty: see :func:`everyday_language`.

    Raises:
        ValueError: the library cannot read it.
    """
    return _read(path, language_weight, word_penalty)


def _read(path: Path, language_weight: float, word_penalty: float) -> Any:
    import pocketsphinx

    config = pocketsphinx.Config(lw=language_weight, wip=word_penalty)
    return pocketsphinx.NGramModel(config, pocketsphinx.LogMath(), str(path))
