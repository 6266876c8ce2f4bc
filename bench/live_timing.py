"""When what was said at a bench stood on its screen, reckoned from the true end of each phrase."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from statistics import median
from typing import Any

import numpy as np

#: What of an entry counts as the same entry shown again.
_SAME = ("kind", "what", "value", "mark")


@dataclass
class Told:
    """What a bench was told, and when."""

    began: float = 0.0
    """Clock at the first sample, seconds."""
    messages: list[tuple[float, dict[str, Any]]] = field(default_factory=list)
    """Clock, message."""
    sent: int = 0
    """Frames sent."""
    safe: int = 0
    """Frames acknowledged."""


@dataclass(frozen=True)
class Phrase:
    """A phrase that gave entries, seconds after its true end."""

    length_s: float
    final_s: float
    """When the last hearing of it was told."""
    first_s: float
    """When anything of it was shown first, provisional or not."""
    early: bool
    """Whether something provisional was shown of it."""
    agreed: bool
    """Whether the provisional lines were those of the last hearing."""
    stood_s: float
    """When its lines were shown first as they stand in the end."""


def phrases_of(told: Told, truth: Sequence[Mapping[str, float]]) -> list[Phrase]:
    """Return the phrases of a bench that came to entries.

    Args:
        told: by the server.
        truth: ``start_s`` and ``end_s`` of each phrase, seconds of the recording, the voice's own silence
            cut off.
    """
    found: dict[float, Phrase] = {}
    seen: set[str] = set()
    early: list[tuple[float, dict[str, Any]]] = []
    for at, message in told.messages:
        if message["type"] == "early":
            early.append((at, message))
        if message["type"] != "heard":
            continue
        lines = [line for line in message["board"]["lines"] if line["id"] not in seen]
        seen |= {line["id"] for line in lines}
        if not lines:
            continue
        ended_s = message["ended_s"]
        end_s = _true_end(ended_s, truth)
        began_s = end_s - _length(end_s, truth)
        # An ear that lags has earlier phrases before it, which are shown along.
        mine = [
            (when, [line for line in one["lines"] if began_s < line["at_s"] <= ended_s + 0.5])
            for when, one in early
            if when < at and began_s < one["ended_s"] <= ended_s + 0.5
        ]
        found[end_s] = _phrase(mine, lines, at, told.began + end_s, _length(end_s, truth))
    return list(found.values())


def _phrase(
    early: list[tuple[float, list[dict[str, Any]]]],
    lines: list[dict[str, Any]],
    at: float,
    end: float,
    length: float,
) -> Phrase:
    final = _told_by(lines)
    shown = [(when, _told_by(seen)) for when, seen in early if seen]
    agreed = bool(shown) and shown[-1][1] == final
    stood = at
    for when, said in reversed(shown):
        if said != final:
            break
        stood = when
    return Phrase(
        length_s=length,
        final_s=at - end,
        first_s=(shown[0][0] if shown else at) - end,
        early=bool(shown),
        agreed=agreed,
        stood_s=stood - end,
    )


def _told_by(lines: Sequence[Mapping[str, Any]]) -> set[tuple[str, ...]]:
    return {tuple(str(line[name]) for name in _SAME) for line in lines}


def _true_end(ended_s: float, truth: Sequence[Mapping[str, float]]) -> float:
    """Return where the last phrase truly ended that had begun before a hearing's end."""
    return max((one["end_s"] for one in truth if one["start_s"] < ended_s), default=ended_s)


def _length(end_s: float, truth: Sequence[Mapping[str, float]]) -> float:
    return next((one["end_s"] - one["start_s"] for one in truth if one["end_s"] == end_s), 0.0)


def spread(seconds: Sequence[float]) -> dict[str, float]:
    """Return median, 95th percentile and longest, seconds."""
    if not seconds:
        return {}
    return {
        "median_s": round(median(seconds), 2),
        "p95_s": round(float(np.percentile(seconds, 95)), 2),
        "longest_s": round(max(seconds), 2),
    }


def figures_of(phrases: Sequence[Phrase]) -> dict[str, Any]:
    """Return the figures of some phrases; ``final_only`` is the baseline: without provisional entries."""
    early = [one for one in phrases if one.early]
    first, final = [one.first_s for one in phrases], [one.final_s for one in phrases]
    return {
        "phrases_with_entries": len(phrases),
        "first_shown": spread(first),
        "as_it_stands_in_the_end": spread([one.stood_s for one in phrases]),
        "final_only": spread(final),
        "first_to_final_only": round(median(first) / median(final), 2) if phrases else None,
        "shown_provisionally": len(early),
        "provisional_agreed": round(sum(one.agreed for one in early) / len(early), 3) if early else None,
    }
