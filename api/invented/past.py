"""A whole invented past: its rebuilds in their order, and the truth about what they hold."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import asdict, dataclass
from hashlib import sha256
from random import Random
from typing import Any

from api.archive.filing import Filing, ToFile
from api.invented import patterns as p
from api.invented.pumps import LIFE_H, LIFE_SHAPE, Visit, visits
from api.invented.rebuild import Rebuild
from shared.job_sheet import load_job_sheet
from shared.speech import Utterance

#: How often the one who helps out is at the bench.
_STANDS_IN = 0.006


@dataclass(frozen=True)
class Past:
    """An invented past, drawn as it is gone through: the same seed gives the same."""

    count: int
    """Of rebuilds."""
    seed: int

    def rebuilds(self, accounts: dict[str, int] | None = None) -> Iterator[ToFile]:
        """Yield every rebuild, oldest first, ready to be filed.

        Args:
            accounts: row numbers of the technicians' accounts by shown name, where they have some.
        """
        sheets = {one: load_job_sheet(one) for one in p.SHEETS}
        for number, visit in enumerate(visits(self.count, self.seed)):
            rng = Random(f"{self.seed} rebuild {number}")  # noqa: S311  # chance of a demo, no secret
            crew, technician = _at_work(rng)
            sheet = sheets[visit.sheet_id]
            rebuild = Rebuild(sheet, visit, crew, technician, rng, number / self.count)
            record = rebuild.draw()
            record.made_by = record.made_by.model_copy(update={"hashes": {}})
            yield ToFile(
                record, f"file:{_digest(self.seed, number)}", sheet,
                _filing(visit, crew, technician, (accounts or {}).get(technician), rebuild.talk.said),
            )  # fmt: skip

    def truth(self) -> dict[str, Any]:
        """Return what is planted in it, and what in it is chance alone; JSON."""
        return {
            "rebuilds": self.count,
            "seed": self.seed,
            "by_chance": {
                "forgotten": p.FORGOTTEN, "limit_missed": p.MISSED, "put_right": p.PUT_RIGHT,
                "seal_part_spoilt": p.SPOILT, "life_hours": LIFE_H, "life_shape": LIFE_SHAPE,
            },
            "patterns": [
                {"pattern": "step_forgotten_by_crew", **asdict(p.BY_CREW)},
                {"pattern": "reading_drifts", **asdict(p.DRIFT)},
                {"pattern": "repeat_failure", **asdict(p.REPEAT)},
                {"pattern": "photo_forgotten_more_and_more", **asdict(p.MORE_AND_MORE)},
                {"pattern": "limit_missed", **asdict(p.LIMIT)},
                {"pattern": "put_right_often", **asdict(p.SAID_WRONG)},
            ],
            "no_patterns": [
                {"no_pattern": "reading_scatters", **asdict(p.SCATTER)},
                {"no_pattern": "spoilt_twice_by_chance", **asdict(p.TWICE)},
                {"no_pattern": "too_few_to_tell", "crew": p.STAND_IN[0], "technician": p.STAND_IN[1]},
                {"no_pattern": "everything_else", "share": p.FORGOTTEN},
            ],
        }  # fmt: skip


def technicians() -> list[str]:
    """Return everybody who works in the invented shop."""
    return [*(name for names in p.CREWS.values() for name in names), p.STAND_IN[1]]


def _at_work(rng: Random) -> tuple[str, str]:
    if rng.random() < _STANDS_IN:
        return p.STAND_IN
    crew = rng.choice(list(p.CREWS))
    return crew, rng.choice(p.CREWS[crew])


def _filing(
    visit: Visit, crew: str, technician: str, account: int | None, said: dict[int, Utterance]
) -> Filing:
    # One visit in ten nobody read the hour meter.
    read = int(visit.running_hours) % 10 != 0
    return Filing(
        crew=crew, technician=technician, technician_id=account, bench=f"bench {1 + visit.at.day % 3}",
        running_hours=visit.running_hours if read else None, rules_sha256="invented", talk=said,
    )  # fmt: skip


def _digest(seed: int, number: int) -> str:
    return sha256(f"invented {seed} {number}".encode()).hexdigest()
