"""Tells speech that dead silence cut off: a microphone masked while the tool spoke, a muted one, a gate.

Masked sound is exact zeros. Zeros in a pause between words take nothing away; zeros that begin or end in the
middle of a sound may hide the word that the next number hangs on, and what is left can read like another
value. No natural edge of a word is that sharp: the closure of a stop still has room tone in it.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from capture.sound_blocks import RATE_HZ, Samples
from shared.speech import Utterance

#: A dropout of a driver is shorter; what is as short as this hides no syllable.
_LEAST_S = 0.03
#: So much next to the dead stretch is asked whether it is speech.
_EDGE_S = 0.025
#: Below the utterance's own loud moments: fricatives lie 15 to 20 dB under vowels, room tone 35 and more
#: (levels of the demo's voices; values of our own).
_SPEECH_DB = 24.0


def doubted_where_cut_off(utterance: Utterance, samples: Samples) -> Utterance:
    """Return an utterance with the hearing added that nothing was heard, where its sound was cut off.

    Whatever reading it gives then becomes a question: half a sentence can read like a whole one.
    """
    if "" in utterance.alternatives or not cut_off_by_silence(samples):
        return utterance
    return replace(utterance, alternatives=(*utterance.alternatives, ""))


def cut_off_by_silence(samples: Samples) -> bool:
    """Tell whether dead silence begins or ends in the middle of speech.

    Args:
        samples: of an utterance with what was left on before and behind; int16, mono, 16 kHz.
    """
    edge = round(_EDGE_S * RATE_HZ)
    loud = _loud_level(samples, edge)
    if loud <= 0:
        return False
    wanted = loud * 10 ** (-_SPEECH_DB / 20)
    for begin, end in _dead_stretches(samples):
        before, behind = samples[max(0, begin - edge) : begin], samples[end : end + edge]
        if max(_level(before), _level(behind)) >= wanted:
            return True
    return False


def _dead_stretches(samples: Samples) -> list[tuple[int, int]]:
    dead = np.concatenate(([False], samples == 0, [False]))
    turns = np.flatnonzero(dead[1:] != dead[:-1]).reshape(-1, 2)
    return [(int(a), int(b)) for a, b in turns if b - a >= _LEAST_S * RATE_HZ]


def _loud_level(samples: Samples, window: int) -> float:
    """Return the root mean square of the louder windows: the vowels of an utterance."""
    whole = samples[: len(samples) // window * window].astype(np.float64).reshape(-1, window)
    if not len(whole):
        return 0.0
    return float(np.quantile(np.sqrt((whole**2).mean(axis=1)), 0.9))


def _level(samples: Samples) -> float:
    return float(np.sqrt((samples.astype(np.float64) ** 2).mean())) if len(samples) else 0.0
