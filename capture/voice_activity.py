"""How likely somebody is speaking, every 32 ms, by a small recurrent network.

The network (Silero VAD, version 6) comes with faster-whisper. That library's own helper wants a whole
recording at once, about 1 GB for an hour; here its state is carried on from block to block instead.
"""

from __future__ import annotations

from functools import cache
from importlib.util import find_spec
from pathlib import Path

import numpy as np
import onnxruntime
from numpy.typing import NDArray

from capture.sound_blocks import RATE_HZ, Samples
from shared.errors import EngineFailed

#: Samples that one probability is about.
WINDOW_SAMPLES = 512
WINDOW_S = WINDOW_SAMPLES / RATE_HZ
#: Samples of the window before that the network hears along.
_CONTEXT_SAMPLES = 64
#: Windows that are computed together. Always the same windows together, so that the result does not
#: depend on the blocks that the sound came in, not even in the last bit. Sixteen cost half as much (0.2 %
#: of a core instead of 0.4 %; three minutes of speech, to the last bit the same) and told half a second late.
_BATCH = 2
_STATE_SHAPE = (1, 1, 128)

Probabilities = NDArray[np.float32]


class VoiceActivity:
    """Hears one recording from its beginning; give it blocks in order, then ask it to finish."""

    def __init__(self) -> None:
        self._session = _session()
        self._h = np.zeros(_STATE_SHAPE, np.float32)
        self._c = np.zeros(_STATE_SHAPE, np.float32)
        self._context = np.zeros(_CONTEXT_SAMPLES, np.float32)
        self._waiting: list[Samples] = []
        self._count = 0

    def hear(self, block: Samples) -> Probabilities:
        """Hear a block of any length.

        Args:
            block: int16, mono, 16 kHz.

        Returns:
            shape = (windows,), 0 to 1, for every window that got ready, in order; two at a time.
        """
        self._waiting.append(block)
        self._count += len(block)
        batch_samples = _BATCH * WINDOW_SAMPLES
        if self._count < batch_samples:
            return np.zeros(0, np.float32)
        sound = np.concatenate(self._waiting)
        whole = self._count - self._count % batch_samples
        self._waiting, self._count = [sound[whole:]], self._count - whole
        batches = sound[:whole].reshape(-1, batch_samples)
        return np.concatenate([self._probabilities(batch) for batch in batches])

    def finish(self) -> Probabilities:
        """Return the probabilities of what is left, the last window filled up with silence."""
        if not self._count:
            return np.zeros(0, np.float32)
        sound = np.concatenate(self._waiting)
        self._waiting, self._count = [], 0
        return self._probabilities(np.pad(sound, (0, -len(sound) % WINDOW_SAMPLES)))

    def _probabilities(self, samples: Samples) -> Probabilities:
        windows = (samples.astype(np.float32) / 32768.0).reshape(-1, WINDOW_SAMPLES)
        before = np.vstack([self._context, windows[:-1, -_CONTEXT_SAMPLES:]])
        self._context = windows[-1, -_CONTEXT_SAMPLES:]
        heard = np.hstack([before, windows])
        output, self._h, self._c = self._session.run(None, {"input": heard, "h": self._h, "c": self._c})
        return np.asarray(output, np.float32).reshape(-1)


def network_file() -> Path:
    """Return the network's file.

    Raises:
        EngineFailed: it is not where faster-whisper keeps it.
    """
    # Looked up, not imported: importing faster-whisper takes seconds and loads what nobody needs here.
    package = find_spec("faster_whisper")
    for folder in (package.submodule_search_locations or []) if package else []:
        found = sorted((Path(folder) / "assets").glob("silero_vad*.onnx"))
        if found:
            return found[-1]
    raise EngineFailed(
        "the voice-activity network is not installed",
        expected="faster-whisper with its assets",
        remedy="install the program's dependencies again",
    )


@cache
def _session() -> onnxruntime.InferenceSession:
    options = onnxruntime.SessionOptions()
    options.inter_op_num_threads = options.intra_op_num_threads = 1
    # An arena would keep the memory of the largest batch for good.
    options.enable_cpu_mem_arena = False
    options.log_severity_level = 4
    return onnxruntime.InferenceSession(
        str(network_file()), sess_options=options, providers=["CPUExecutionProvider"]
    )
