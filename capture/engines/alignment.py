"""Where each phone of known words lies in the sound: what a speaker's own sound is learnt from."""

from __future__ import annotations

import tempfile
from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from types import TracebackType

import numpy as np
from numpy.typing import NDArray

from capture.engines.acoustic_model import Floats
from capture.engines.sphinx_decoder import FRONT_END, hear_whole

#: Silence and noises are no speaker's.
_NO_SPEECH = frozenset({"SIL", "+NSN+", "+SPN+"})
_MEMORY_DISK = Path("/dev/shm")  # noqa: S108  only numbers stand there, for the length of one call
_COEFFICIENTS = 13


@dataclass(frozen=True, slots=True)
class PhoneSpan:
    """One phone at frames ``start`` to before ``end``."""

    phone: str
    start: int
    end: int


@dataclass(frozen=True, slots=True)
class Aligned:
    """An utterance's sound as numbers, and its phones."""

    cepstra: Floats
    """Shape (frames, coefficients)."""
    phones: tuple[PhoneSpan, ...]
    """Of speech only."""


class Aligner:
    """Lays known words along the sound. A context manager: what it needs on a disk is gone at its end.

    Args:
        acoustic_model: folder of the model.
        dictionary: with a pronunciation for every word that is to be laid along.
    """

    def __init__(self, acoustic_model: Path, dictionary: Path) -> None:
        import pocketsphinx

        self._folder = tempfile.TemporaryDirectory(
            prefix="witnessmark-", dir=_MEMORY_DISK if _MEMORY_DISK.is_dir() else None
        )
        self._decoder = pocketsphinx.Decoder(
            hmm=str(acoustic_model),
            dict=str(dictionary),
            lm=None,
            mfclogdir=self._folder.name,
            **FRONT_END,
        )

    def __enter__(self) -> Aligner:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, exc: BaseException | None, at: TracebackType | None
    ) -> None:
        self._folder.cleanup()

    def align(self, words: Sequence[str], samples: NDArray[np.int16]) -> Aligned | None:
        """Return the sound as numbers with its phones; None where the words do not fit the sound.

        Args:
            words: of the dictionary.
            samples: int16, mono, 16 kHz.
        """
        try:
            self._decoder.set_align_text(" ".join(words))
            hear_whole(self._decoder, samples)
            self._decoder.set_alignment()
            hear_whole(self._decoder, samples)
            spans = tuple(
                PhoneSpan(phone.name, phone.start, phone.start + phone.duration)
                for word in self._decoder.get_alignment() or ()
                for phone in word
                if phone.name not in _NO_SPEECH
            )
            cepstra = self._cepstra()
        except RuntimeError:  # a word without pronunciation, or sound that ends before the words do
            return None
        finally:
            self._forget()
        if cepstra is None or not spans or spans[-1].end > len(cepstra):
            return None
        return Aligned(cepstra, spans)

    def _cepstra(self) -> Floats | None:
        written = sorted(Path(self._folder.name).iterdir())
        if not written:
            return None
        content = written[-1].read_bytes()
        count = int.from_bytes(content[:4], "big")
        order = ">" if 4 * count == len(content) - 4 else "<"
        return np.frombuffer(content, f"{order}f4", offset=4).reshape(-1, _COEFFICIENTS).astype(np.float64)

    def _forget(self) -> None:
        for path in Path(self._folder.name).iterdir():
            with suppress(OSError):
                path.unlink()
