"""The pumps of the invented plant: when each ran, for how long, and when it came to the bench."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from random import Random

from api.invented.patterns import REPEAT, SHEETS

#: The past ends here, so that the same seed makes the same past on any day.
END = datetime(2026, 10, 31, tzinfo=UTC)
YEARS = 5
_BEGIN = END - timedelta(days=365 * YEARS)
#: Lives between rebuilds follow a Weibull distribution that wears out: hours at which 63 % have come, shape.
LIFE_H, LIFE_SHAPE = 2700.0, 2.2
#: Hours that a pump runs in a day: the plant washes gravel in two shifts.
_HOURS_A_DAY = (13.0, 19.0)


@dataclass(frozen=True)
class Visit:
    """A pump on the bench."""

    pump_tag: str
    pump_serial: str
    sheet_id: str
    number: int
    """Of the pump's visits, from 1."""
    at: datetime
    running_hours: float
    """Of its hour meter."""
    since_last: float
    """Hours since the visit before, or since it was new."""


def visits(count: int, seed: int) -> list[Visit]:
    """Return the last visits of the plant's pumps to the bench, in their order; the more, the more pumps.

    Args:
        count: how many.
        seed: of the chance.
    """
    found: list[Visit] = []
    pump = 0
    while len(found) < count or pump < len(SHEETS):
        found += _visits_of(pump, seed)
        pump += 1
    found.sort(key=lambda one: (one.at, one.pump_tag))
    return found[len(found) - count :]


def _visits_of(pump: int, seed: int) -> Iterator[Visit]:
    rng = Random(f"{seed} pump {pump}")  # noqa: S311  # chance of a demo, no secret
    tag, sheet = f"P-{101 + pump}", SHEETS[pump % len(SHEETS)]
    serial = f"{rng.randrange(10_000, 99_999)}-{pump + 1:02d}"
    hours_a_day = rng.uniform(*_HOURS_A_DAY)
    at = _BEGIN + timedelta(days=rng.uniform(-120, 60))
    hours, number = rng.uniform(0, 9000), 0
    while True:
        life = rng.weibullvariate(LIFE_H, LIFE_SHAPE) + 200
        life *= REPEAT.life if tag == REPEAT.pump_tag else 1
        at += timedelta(days=life / hours_a_day)
        hours += life
        if at >= END:
            return
        if at >= _BEGIN:
            number += 1
            # Benches begin in the morning, late or at night.
            begun = at.replace(
                hour=rng.choice((6, 14, 22)), minute=rng.randrange(60), second=0, microsecond=0
            )
            yield Visit(tag, serial, sheet, number, begun, round(hours, 0), life)
