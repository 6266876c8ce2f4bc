"""Figures of a page of lessons: each with its interval and its trend, and what of them is no chance."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace

from api.archive.counting import name_and_position
from api.lessons.counted import KINDS, Groups, Kind, Tally, Told
from api.lessons.rate_trend import Month, RateTrend, rate_trend
from api.report.wording import item_words
from api.statistics.chance import holm, more_often, tarone
from api.statistics.intervals import Interval, wilson

#: How often a page may point out something that is only chance: once in a hundred pages.
ALARM = 0.01
#: Below that a group is too small to be compared, and what is shown of it says that it is small.
LEAST_COMPARED, SMALL = 10, 30
#: How many times as often as all others of its kind something must be lacking to stand out: that rates of
#: different things differ is no news.
FAR_OFTENER = 2.0
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
    stands_out: bool = False
    """It is lacking far oftener than what else is of its kind."""

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
    def pointed_out(self) -> bool:
        """A trainer should look at it."""
        return bool(self.groups) or self.stands_out or (self.changes and self.rises)

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
        (figure, one)
        for figure in found
        for one in compared(crews.get((figure.kind, figure.key), {}), comparable)
    ]
    trends = [(figure, figure.trend.chance) for figure in found if figure.trend is not None]
    worse: dict[int, tuple[str, ...]] = {}
    oftener = tarone([one.chance for _, one in comparisons], [one.least for _, one in comparisons], ALARM / 3)
    for number in sorted(oftener):
        figure, one = comparisons[number]
        worse[id(figure)] = (*worse.get(id(figure), ()), one.group)
    beside = _beside_their_kind(found)
    change = {id(trends[number][0]) for number in _rare([chance for _, chance in trends])}
    far = {id(beside[number][0]) for number in _rare([chance for _, chance in beside])}
    return [
        replace(one, changes=id(one) in change, groups=worse.get(id(one), ()), stands_out=id(one) in far)
        for one in found
    ]


def _rare(chances: Sequence[float]) -> set[int]:
    """Return which of a family of tests are no chance.

    A page has three families (trends, crews, what stands out), and whoever reads it looks at all of them.
    """
    return {number for number, chance in enumerate(holm(chances)) if chance <= ALARM / 3}


@dataclass(frozen=True)
class Compared:
    """A group beside all others."""

    group: str
    chance: float
    """How often chance alone makes it lack something as often."""
    least: float
    """The same, had every case been its own."""


def compared(tallies: Mapping[str, Tally], comparable: Collection[str]) -> list[Compared]:
    """Return the groups that can be compared, each beside all others together."""
    wanted = sum(one.wanted for one in tallies.values())
    lacking = sum(one.lacking for one in tallies.values())
    found = []
    for group, one in sorted(tallies.items()):
        others = wanted - one.wanted
        if group in comparable and one.wanted >= LEAST_COMPARED and others >= LEAST_COMPARED:
            most = min(lacking, one.wanted)
            chance = more_often(one.lacking, one.wanted, lacking - one.lacking, others)
            found.append(Compared(group, chance, more_often(most, one.wanted, lacking - most, others)))
    return found


def _beside_their_kind(found: Sequence[Figure]) -> list[tuple[Figure, float]]:
    """Return how often chance alone makes each figure as large beside the others of its kind.

    Other places of the same item are not the others. What is not far oftener is still counted as looked at.
    """
    wanted: Counter[tuple[str, ...]] = Counter()
    lacking: Counter[tuple[str, ...]] = Counter()
    for one in found:
        for of in _kind_and_name(one):
            wanted[of] += one.wanted
            lacking[of] += one.lacking
    chances: list[tuple[Figure, float]] = []
    for one in found:
        kind, name = _kind_and_name(one)
        others, their = wanted[kind] - wanted[name], lacking[kind] - lacking[name]
        if one.wanted < LEAST_COMPARED or others < LEAST_COMPARED:
            continue
        far = one.share >= FAR_OFTENER * their / others
        chances.append((one, more_often(one.lacking, one.wanted, their, others) if far else 1.0))
    return chances


def _kind_and_name(figure: Figure) -> tuple[tuple[str, ...], tuple[str, ...]]:
    # What is corrected is of kinds of its own: a reading is put right oftener than a step.
    of = figure.key.partition(":")[0] if figure.kind == "corrected" else ""
    return (figure.kind, of), (figure.kind, of, name_and_position(figure.key)[0])


def commonest(figures: Sequence[Figure], kind: Kind, most: int) -> list[Figure]:
    """Return what of a kind is lacking most surely, first the pointed out: by the low end of its interval."""
    of_kind = [one for one in figures if one.kind == kind and one.lacking > 0]
    return sorted(of_kind, key=lambda one: (not one.pointed_out, -one.interval.low, one.key))[:most]
