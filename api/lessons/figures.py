"""Figures of a page of lessons: each with its interval and its trend, and what of them is no chance."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace

from api.archive.counting import name_and_position
from api.statistics.chance import holm, more_often
from api.lessons.counted import KINDS, Groups, Kind, Tally, Told
from api.statistics.intervals import Interval, wilson
from api.lessons.rate_trend import Month, RateTrend, rate_trend
from api.report.wording import item_words

#: How often a page may point out something that is only chance: once in a hundred pages.
ALARM = 0.01
#: Below that a group is too small to be compared, and what is shown of it says that it is small.
LEAST_COMPARED, SMALL = 10, 30
#: A crew of fewer is its people.
LEAST_PEOPLE = 3


@dataclass(frozen=True)
class Figure:
    """How often something was lacking."""

    kind: Kind
    key: str
    wanted: int
    lacking: int
    months: tuple[Month, ...]
    trend: RateTrend | None
    changes: bool = False
    """The trend is no chance, all that was looked at considered."""
    groups: tuple[str, ...] = ()
    """Crews that lack it oftener than the others, which is no chance either."""

    @property
    def share(self) -> float:
        """Of all times that it was wanted."""
        return self.lacking / self.wanted

    @property
    def interval(self) -> Interval:
        """Where the rate lies."""
        return wilson(self.lacking, self.wanted)

    @property
    def small(self) -> bool:
        """There are too few cases to lean on."""
        return self.wanted < SMALL

    @property
    def words(self) -> str:
        """What it is about."""
        return key_words(self.kind, self.key)

    @property
    def rises(self) -> bool:
        """Towards more of it."""
        return self.trend is not None and self.trend.line.slope > 0


def key_words(kind: str, key: str) -> str:
    """Return a key of the roll-up in words."""
    of = ""
    if kind == "corrected":
        of, _, key = key.partition(":")
        of = "" if of == "reading" else f" ({of})"
    name, position = name_and_position(key)
    return item_words(name) + (f", {position.replace('_', ' ')}" if position else "") + of


def figures_of(told: Told, crews: Groups, comparable: Collection[str]) -> list[Figure]:
    """Return all figures of a page, with what of them is pointed out.

    Args:
        told: months by kind and key.
        crews: tallies by crew, by kind and key.
        comparable: crews that may be compared.
    """
    found = [
        Figure(kind, key, wanted, sum(one.lacking for one in months), tuple(months), rate_trend(months))
        for kind in KINDS
        for (its_kind, key), months in told.items()
        if its_kind == kind and (wanted := sum(one.wanted for one in months)) > 0
    ]
    comparisons = [
        (figure, crew, chance)
        for figure in found
        for crew, chance in compared(crews.get((figure.kind, figure.key), {}), comparable).items()
    ]
    trends = [figure for figure in found if figure.trend is not None]
    chances = [one.trend.chance for one in trends if one.trend] + [chance for _, _, chance in comparisons]
    # One family: whoever reads the page looks at all of it.
    together = holm(chances)
    change = {id(one) for one, chance in zip(trends, together, strict=False) if chance <= ALARM}
    worse: dict[int, tuple[str, ...]] = {}
    for (figure, crew, _), chance in zip(comparisons, together[len(trends) :], strict=True):
        if chance <= ALARM:
            worse[id(figure)] = (*worse.get(id(figure), ()), crew)
    return [replace(one, changes=id(one) in change, groups=worse.get(id(one), ())) for one in found]


def compared(tallies: Mapping[str, Tally], comparable: Collection[str]) -> dict[str, float]:
    """Return how often chance alone makes each group lack something as often, beside all others."""
    wanted = sum(one.wanted for one in tallies.values())
    lacking = sum(one.lacking for one in tallies.values())
    return {
        group: more_often(one.lacking, one.wanted, lacking - one.lacking, wanted - one.wanted)
        for group, one in sorted(tallies.items())
        if group in comparable and one.wanted >= LEAST_COMPARED and wanted - one.wanted >= LEAST_COMPARED
    }


def commonest(figures: Sequence[Figure], kind: Kind, most: int) -> list[Figure]:
    """Return what of a kind is lacking most surely, first the pointed out: by the low end of its interval."""
    of_kind = [one for one in figures if one.kind == kind and one.lacking > 0]
    return sorted(
        of_kind, key=lambda one: (not (one.groups or (one.changes and one.rises)), -one.interval.low, one.key)
    )[:most]
