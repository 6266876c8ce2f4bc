"""One speaker in one room: the acoustic model's means moved to where his phones are.

Maximum-likelihood linear regression: one affine transform a stream, the same for every Gaussian, that
makes his aligned frames likeliest; with a prior at the identity, so that little speech moves it little.
Source: Leggetter and Woodland, Computer Speech and Language 9 (1995) 171–185, from memory.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np

from capture.engines.acoustic_model import AcousticModel, Floats, features
from capture.engines.alignment import Aligned

#: How many frames of speech the prior weighs as much as; between 50 and 2000 it made no difference on
#: development speech.
_PRIOR_FRAMES = 300.0


@dataclass(frozen=True)
class Transform:
    """Moves the means: ``matrices[stream] @ mean + offsets[stream]``."""

    matrices: Floats
    """Shape (streams, coefficients, coefficients)."""
    offsets: Floats
    """Shape (streams, coefficients)."""

    def moved(self, means: Floats) -> Floats:
        """Return moved means; shape (…, streams, Gaussians, coefficients)."""
        moved: Floats = np.einsum("sij,...sgj->...sgi", self.matrices, means) + self.offsets[:, np.newaxis, :]
        return moved

    def write(self, path: Path) -> None:
        """Write the decoder's own text form: classes, streams; matrix, offset and variance scale each."""
        lines = ["1", str(len(self.matrices))]
        for matrix, offset in zip(self.matrices, self.offsets, strict=True):
            lines.append(str(len(offset)))
            lines += [" ".join(f"{x:.6f}" for x in row) for row in (*matrix, offset)]
            lines.append(" ".join("1.0" for _ in offset))
        path.write_text("\n".join(lines) + "\n", encoding="ascii")


@dataclass(frozen=True)
class Enrolled:
    """What an engine is told of an enrolled speaker."""

    transform: Path | None
    """Of the means, for noisy sound (:meth:`Transform.write`); None where too little was learnt."""
    voice: tuple[float, ...]
    """What his reading taught of his voice: a memory of :class:`capture.engines.voice.Voice`."""

    @property
    def identity(self) -> str:
        """Another wherever he would be heard otherwise."""
        transform = "" if self.transform is None else self.transform.read_text(encoding="ascii")
        return f"{transform}{self.voice}"


class Speaker:
    """What has been heard of one speaker; grows with every utterance, in order."""

    def __init__(self, model: AcousticModel) -> None:
        self._model = model
        self._codebook = {phone: number for number, phone in enumerate(model.phones)}
        _, streams, _, size = model.means.shape
        self._means = model.means
        #: Sums over frames by stream and coefficient: of regressors' outer products, and with the frame.
        self._outer = np.zeros((streams, size, size + 1, size + 1))
        self._cross = np.zeros((streams, size, size + 1))
        self.frames = 0
        """Frames of speech learnt from, 10 ms each."""

    def learn(self, aligned: Aligned) -> None:
        """Take in one utterance."""
        frames = features(aligned.cepstra)
        by_phone: dict[int, list[Floats]] = {}
        for span in aligned.phones:
            by_phone.setdefault(self._codebook[span.phone], []).append(frames[span.start : span.end])
        for codebook, pieces in by_phone.items():
            observed = np.concatenate(pieces)
            self.frames += len(observed)
            for stream in range(observed.shape[1]):
                self._add(codebook, stream, observed[:, stream])

    def _add(self, codebook: int, stream: int, observed: Floats) -> None:
        variances = self._model.variances[codebook, stream]
        weights = _memberships(observed, self._means[codebook, stream], variances)
        means = self._model.means[codebook, stream]
        regressors = np.concatenate([means, np.ones((len(means), 1))], axis=1)
        precision = weights.sum(axis=0)[:, np.newaxis] / variances
        self._outer[stream] += np.einsum("gi,ga,gb->iab", precision, regressors, regressors, optimize=True)
        self._cross[stream] += ((weights.T @ observed) / variances).T @ regressors

    def transform(self) -> Transform:
        """Return the transform that all heard so far asks for; later frames are laid to the moved means.

        Raises:
            ValueError: nothing was learnt yet.
        """
        if not self.frames:
            raise ValueError("nothing was learnt of the speaker")
        _, size, wide, _ = self._outer.shape
        scale = np.trace(self._outer, axis1=2, axis2=3) / wide / self.frames * _PRIOR_FRAMES
        prior = scale[:, :, np.newaxis, np.newaxis] * np.eye(wide)
        at_identity = scale[:, :, np.newaxis] * np.eye(size, wide)
        rows = np.linalg.solve(self._outer + prior, (self._cross + at_identity)[..., np.newaxis])[..., 0]
        transform = Transform(rows[:, :, :size], rows[:, :, size])
        self._means = transform.moved(self._model.means)
        return transform


def _memberships(observed: Floats, means: Floats, variances: Floats) -> Floats:
    """Return how likely each Gaussian made each frame; shape (frames, Gaussians), rows sum to one."""
    # Expanded, so that no array of frames × Gaussians × coefficients is made.
    squares = (
        (observed**2) @ (1 / variances).T
        - 2 * observed @ (means / variances).T
        + (means**2 / variances + np.log(variances)).sum(axis=1)
    )
    likelihood = np.exp(-0.5 * (squares - squares.min(axis=1, keepdims=True)))
    weights: Floats = likelihood / likelihood.sum(axis=1, keepdims=True)
    return weights
