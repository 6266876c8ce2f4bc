"""What an utterance is about, as far as it bears on reading its numbers."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import NamedTuple

from extract.number_cues import cue_words
from extract.tokens import Token


class Talk(NamedTuple):
    """Flags of an utterance, and of the sheet where there is one."""

    metric: bool = False
    inch: bool = False
    speed: bool = False
    sizing: bool = False
    pressure: bool = False
    torque: bool = False
    weight: bool = False


def talk_of(tokens: Sequence[Token], length_unit: str | None = None) -> Talk:
    """Return what the words of an utterance are about; ``length_unit`` is the sheet's, if any."""
    words = {token.norm for token in tokens}

    def said(name: str) -> bool:
        return not words.isdisjoint(cue_words(name))

    metric, inch = said("metric"), said("inch")
    if not metric and not inch:
        metric, inch = length_unit in ("mm", "um"), length_unit == "in"
    spelled = {(a.norm, b.norm) for a, b in pairwise(tokens) if len(a.norm) == 1}
    return Talk(
        metric=metric,
        inch=inch,
        speed=said("speed") or ("p", "m") in spelled,
        sizing=said("sizing") or ("o", "d") in spelled or ("i", "d") in spelled,
        pressure=said("pressure"),
        torque=said("torque"),
        weight=said("weight"),
    )
