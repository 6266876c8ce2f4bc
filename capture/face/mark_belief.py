"""How sure it is that what strays from a face is a mark and no chance: learnt weights of its measures."""

from __future__ import annotations

import math
from functools import cache
from pathlib import Path

import yaml

_WEIGHTS = Path(__file__).with_name("mark_weights.yaml")


@cache
def weights() -> dict[str, dict[str, float]]:
    """Return the weights of each family by measure (bench/train_marks.py)."""
    read = yaml.safe_load(_WEIGHTS.read_text("utf-8"))
    return {
        str(family): {str(name): float(value) for name, value in named.items()}
        for family, named in read.items()
    }


def belief(family: str, measures: dict[str, float]) -> float:
    """Return how sure it is, 0 to 1.

    Args:
        family: part, patch or score: that it is a mark; deposit: that a mark may clean off.
        measures: by name; all that the family was taught with.
    """
    learnt = weights()[family]
    odds = learnt["constant"] + sum(
        weight * measures[name] for name, weight in learnt.items() if name != "constant"
    )
    return 1.0 / (1.0 + math.exp(-max(-30.0, min(30.0, odds))))
