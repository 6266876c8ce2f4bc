"""The acoustic model that ships with pocketsphinx, as numbers: what each phone's sound is expected to be.

Read so that its means can be moved towards one speaker (:mod:`capture.engines.speaker`). Formats: the
library's own binary files, version 1.0 (parameters) and ``BMDF`` version 1 (phones), as its source reads
them.
"""

from __future__ import annotations

import struct
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from shared.errors import EngineFailed

Floats = NDArray[np.float64]

_HEADER_END = b"endhdr\n"
_BYTE_ORDER_MARK = 0x11223344
#: The decoder does the same with variances that training left at nothing.
_LEAST_VARIANCE = 1e-4
_PHONE_COUNTS = 10
#: Frames that the slopes of slopes reach to either side.
_REACH = 3


@dataclass(frozen=True)
class AcousticModel:
    """Gaussians by phone: one codebook a phone, three streams (cepstra, their slopes, slopes of slopes)."""

    phones: tuple[str, ...]
    """In the order of the codebooks."""
    means: Floats
    """Shape (phones, streams, Gaussians, coefficients)."""
    variances: Floats
    """Same shape."""


def read_acoustic_model(folder: Path) -> AcousticModel:
    """Read the model in ``folder``.

    Raises:
        EngineFailed: a file is not there or not of the expected form.
    """
    try:
        phones = _phones((folder / "mdef").read_bytes())
        means = _parameters((folder / "means").read_bytes())
        variances = np.maximum(_parameters((folder / "variances").read_bytes()), _LEAST_VARIANCE)
    except (OSError, ValueError, struct.error) as exc:
        raise EngineFailed(
            f"the acoustic model cannot be read: {exc}",
            where=str(folder),
            remedy="install pocketsphinx again",
        ) from exc
    if means.shape != variances.shape or len(means) != len(phones):
        raise EngineFailed(
            f"the acoustic model has {len(phones)} phones and means of shape {means.shape}",
            where=str(folder),
            expected="one codebook a phone",
            remedy="install pocketsphinx again",
        )
    return AcousticModel(phones, means, variances)


def features(cepstra: Floats) -> Floats:
    """Return what the decoder compares with the Gaussians.

    Args:
        cepstra: shape (frames, coefficients), as the front end gives them, before their mean is taken off.

    Returns:
        Shape (frames, 3, coefficients): cepstra less their mean over the frames that are not near
        silence, their slope over 4 frames, the slope of that over 2.

    Source: the library's ``feat`` ``1s_c_d_dd`` and ``cmn`` ``batch``, read in its source.
    """
    loud = cepstra[:, 0] >= 0
    level = cepstra - (cepstra[loud].mean(axis=0) if loud.any() else cepstra.mean(axis=0))
    padded = np.pad(level, ((_REACH, _REACH), (0, 0)), mode="edge")
    at = np.arange(len(cepstra)) + _REACH
    slope = padded[at + 2] - padded[at - 2]
    bend = (padded[at + 3] - padded[at - 1]) - (padded[at + 1] - padded[at - 3])
    return np.stack([level, slope, bend], axis=1)


def _parameters(content: bytes) -> Floats:
    at = content.index(_HEADER_END) + len(_HEADER_END)
    order = "<" if struct.unpack_from("<I", content, at)[0] == _BYTE_ORDER_MARK else ">"
    codebooks, streams, gaussians = struct.unpack_from(f"{order}3i", content, at + 4)
    lengths = struct.unpack_from(f"{order}{streams}i", content, at + 16)
    at += 16 + 4 * streams
    (count,) = struct.unpack_from(f"{order}i", content, at)
    if len(set(lengths)) != 1 or count != codebooks * gaussians * sum(lengths):
        raise ValueError(f"{count} parameters for streams of {lengths}")
    flat = np.frombuffer(content, f"{order}f4", count, at + 4)
    return flat.reshape(codebooks, streams, gaussians, lengths[0]).astype(np.float64)


def _phones(content: bytes) -> tuple[str, ...]:
    order = "<" if content[:4] == b"BMDF" else ">"
    if content[:4] not in (b"BMDF", b"FDMB"):
        raise ValueError("mdef is not in binary form")
    (described,) = struct.unpack_from(f"{order}i", content, 8)
    at = 12 + described
    (phones,) = struct.unpack_from(f"{order}i", content, at)
    at += 4 * _PHONE_COUNTS
    names: list[str] = []
    for _ in range(phones):
        end = content.index(b"\0", at)
        names.append(content[at:end].decode("ascii"))
        at = end + 1
    return tuple(names)
