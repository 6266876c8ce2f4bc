"""How long rebuilds last: the days from one to the next, and, of every pump's last one, the days so far."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import pairwise
from typing import Any

from api.history.rebuilds import PumpName, Rebuild
from api.statistics.survival import Survival, survival_of

#: Hours are taken where at least this share of the spans has some; else days.
MOSTLY = 0.6


@dataclass(frozen=True)
class Span:
    """Time from a rebuild to the next, or until now."""

    days: float
    ended: bool
    """The pump came back; else it was not seen since."""
    hours: float | None = None
    """That it ran meanwhile, by its meter; of one that still runs nobody knows."""


def spans_of(rebuilds: Sequence[Rebuild], now: datetime) -> list[Span]:
    """Return the spans of one pump.

    Args:
        rebuilds: of one pump, in their order; those that nobody dated are left out.
        now: the moment; the last rebuild has lasted until then.
    """
    spans: list[Span] = []
    dated = [one for one in rebuilds if one.at is not None]
    for before, after in pairwise(dated):
        assert before.at is not None, "dated"
        assert after.at is not None, "dated"
        days = (after.at - before.at).total_seconds() / 86400
        # The same day twice is one visit in two records: no span.
        if days >= 1:
            spans.append(Span(days, True, after.hours_since))
    last = dated[-1].at if dated else None
    if last is not None and (so_far := (now - last).total_seconds() / 86400) > 0:
        spans.append(Span(so_far, False))
    return spans


def lasting(spans: Sequence[Span]) -> Survival | None:
    """Return how long rebuilds last, or None where no pump came back yet."""
    return survival_of([one.days for one in spans], [one.ended for one in spans])


def sooner_than_others(spans: Mapping[PumpName, Sequence[Span]], name: PumpName) -> float | None:
    """Return how often chance alone brings a pump back as much sooner than the others of its type.

    Judged by the hours that pumps ran where their meters were mostly read, since a pump that runs longer days
    is back in fewer of them; else by days.

    Args:
        spans: of all pumps of the type.
        name: of the pump.

    Returns:
        One-sided p of the log-rank test, times the number of pumps (all could have been looked at); None
        where it came back less than three times, or no other did.

    Source: N. Mantel, Cancer Chemotherapy Reports 50 (1966) 163, by scipy's ``logrank``.
    """
    from scipy import stats  # a second to import: not at every start of the program

    own = list(spans.get(name, ()))
    if sum(one.ended for one in own) < 3:
        return None  # of most pumps, before all others are gone through
    others = [one for pump, these in spans.items() if pump != name for one in these]
    if not any(one.ended for one in others):
        return None
    samples = [_sample(stats, group, by_hours=_metered(own) and _metered(others)) for group in (own, others)]
    # "greater": the first group's hazard is the greater, so that it lasts less long.
    found = stats.logrank(samples[0], samples[1], alternative="greater")
    return min(1.0, float(found.pvalue) * len(spans))


def _metered(spans: Sequence[Span]) -> bool:
    """Return whether the hours of most spans that ended are known."""
    ended = [one for one in spans if one.ended]
    known = sum(one.hours is not None for one in ended)
    return known >= 3 and known >= MOSTLY * len(ended)


def _sample(stats: Any, spans: Sequence[Span], *, by_hours: bool) -> Any:
    if by_hours:
        # What still runs has no hours that anybody read: left out of both groups alike.
        return stats.CensoredData(uncensored=[one.hours for one in spans if one.hours is not None])
    return stats.CensoredData(
        uncensored=[one.days for one in spans if one.ended],
        right=[one.days for one in spans if not one.ended],
    )
