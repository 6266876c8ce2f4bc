"""Everyday English, which tells chatter from talk of the job: its model, read once a process.

Benches' ears are forked from a process that has read it already, so that all of them share it.
"""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import Any


@cache
def everyday_language(language_weight: float, word_penalty: float) -> Any:
    """Return the library's model.

    Args:
        language_weight: how much it counts against the sound (``lw`` of a decoder).
        word_penalty: what a word more costs (``wip`` of a decoder).

    Raises:
        RuntimeError: the library cannot read it.
    """
    import pocketsphinx

    path = Path(pocketsphinx.get_model_path()) / "en-us" / "en-us.lm.bin"
    config = pocketsphinx.Config(lw=language_weight, wip=word_penalty)
    return pocketsphinx.NGramModel(config, pocketsphinx.LogMath(), str(path))
