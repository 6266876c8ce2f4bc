"""Hears a work order said at a bench's start: "work order four four one seven", and nothing else.

Not an engine of records: a grammar fits anything that is said into it, so what it hears counts only where it
explains the sound better than phones in any order do, and where no other known order explains it as well.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from capture.engines.sphinx_decoder import FRONT_END, acoustic_model_folder, hear_whole, log_likelihood_of
from capture.engines.spoken_codes import Arc, any_code, one_of
from capture.sound_blocks import Samples

#: The language weighs little: codes have no grammar.
_SEARCH: dict[str, Any] = {"lw": 2.0, "wip": 1.0, "pip": 1.0, "beam": 1e-40, "wbeam": 1e-25, "pbeam": 1e-40}
#: The score of phones in any order needs no wide search.
_PHONE_SEARCH: dict[str, Any] = {
    "lw": 1.0, "wip": 1.0, "pip": 1.0, "beam": 1e-20, "wbeam": 1e-15, "pbeam": 1e-20,
}  # fmt: skip
_PHONES = (
    "AA", "AE", "AH", "AO", "AW", "AY", "B", "CH", "D", "DH", "EH", "ER", "EY", "F", "G", "HH", "IH",
    "IY", "JH", "K", "L", "M", "N", "NG", "OW", "OY", "P", "R", "S", "SH", "T", "TH", "UH", "UW", "V",
    "W", "Y", "Z", "ZH",
)  # fmt: skip
_LOOP: tuple[int, list[Arc]] = (0, [(0, 0, 1 / len(_PHONES), f"_{one.lower()}") for one in _PHONES])
_NAME = "order"


@dataclass(frozen=True)
class OrderHeard:
    """What was heard."""

    words: str
    """Letters as letters, numbers as words."""
    better_by: float
    """Than phones in any order, nats a frame of 10 ms; below zero something else was said."""
    log_likelihood: float
    """Nats, to be compared with :meth:`OrderEar.fit` of other codes."""


class OrderEar:
    """Hears one phrase at a time; not thread-safe."""

    def __init__(self) -> None:
        import pocketsphinx

        words = Path(pocketsphinx.get_model_path()) / "en-us" / "cmudict-en-us.dict"
        rest: dict[str, Any] = {"hmm": str(acoustic_model_folder()), "dict": str(words), "lm": None}
        self._codes = pocketsphinx.Decoder(**rest, **FRONT_END, **_SEARCH)
        self._phones = pocketsphinx.Decoder(**rest, **FRONT_END, **_PHONE_SEARCH)
        for phone in _PHONES:
            self._phones.add_word(f"_{phone.lower()}", phone, update=False)

    def hear(self, samples: Samples) -> OrderHeard | None:
        """Return what was heard; None where no work order fits at all.

        Args:
            samples: one phrase with a little silence about it; int16, mono, 16 kHz.
        """
        best = _best(self._codes, any_code(), samples)
        words = " ".join(_words(self._codes)) if best is not None else ""
        frames = int(self._codes.n_frames())
        any_phones = _best(self._phones, _LOOP, samples)
        if best is None or any_phones is None or not frames:
            return None
        return OrderHeard(words, (best - any_phones) / frames, best)

    def fit(self, samples: Samples, codes: Sequence[str]) -> float | None:
        """Return the log likelihood (nats) of the code that fits best, or None where none does.

        Args:
            samples: as heard.
            codes: letters and digits alone.
        """
        return _best(self._codes, one_of(codes), samples)


def _best(decoder: Any, graph: tuple[int, Sequence[Arc]], samples: Samples) -> float | None:
    last, arcs = graph
    # The library takes what says nothing as an arc without a word.
    written = [arc if arc[3] is not None else arc[:3] for arc in arcs]
    decoder.add_fsg(_NAME, decoder.create_fsg(_NAME, 0, last, written))
    decoder.activate_search(_NAME)
    try:
        hear_whole(decoder, samples)
    except RuntimeError:  # the words do not reach the end of the sound
        return None
    return log_likelihood_of(decoder)


def _words(decoder: Any) -> list[str]:
    said = (seg.word.partition("(")[0] for seg in decoder.seg() if seg.word[0] not in "<[(")
    return [word.rstrip(".") for word in said]
