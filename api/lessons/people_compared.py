"""Rates of crews or people side by side: in order of their names, never of their rates."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass

from sqlalchemy import select
from sqlalchemy.orm import Session

from api.lessons.counted import Tally
from api.lessons.figures import SMALL, compared
from api.statistics.chance import tarone
from api.statistics.intervals import Interval, wilson
from api.store.tables import Account


@dataclass(frozen=True)
class GroupRate:
    """One crew's or person's."""

    name: str
    wanted: int
    lacking: int
    no_chance: bool
    """Oftener than the others by more than chance makes, all of them considered."""

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


def group_rates(
    tallies: Mapping[str, Tally], names: Mapping[str, str] | None = None, level: float = 0.01
) -> list[GroupRate]:
    """Return rates in order of names.

    Args:
        tallies: by group.
        names: of groups, where they are shown otherwise.
        level: how often chance alone may point one out.
    """
    beside = compared(tallies, tallies.keys())
    rare = tarone([one.chance for one in beside], [one.least for one in beside], level)
    oftener = {beside[number].group for number in rare}
    rates = [
        GroupRate((names or {}).get(group, group), one.wanted, one.lacking, group in oftener)
        for group, one in tallies.items()
        if one.wanted > 0
    ]
    return sorted(rates, key=lambda one: one.name)


def names_of(session: Session, numbers: Collection[str]) -> dict[str, str]:
    """Return the shown names of accounts, by their number as text."""
    wanted = [int(one) for one in numbers]
    query = select(Account.id, Account.shown_name, Account.name).where(Account.id.in_(wanted))
    found = [(str(one), shown, name) for one, shown, name in session.execute(query)]
    shared = [shown for _, shown, _ in found]
    return {one: shown if shared.count(shown) == 1 else f"{shown} ({name})" for one, shown, name in found}
