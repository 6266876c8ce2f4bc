"""Whether the server can do its work: the database answers, the disk takes sound, the ears hear."""

from __future__ import annotations

import shutil
from dataclasses import dataclass
from typing import Literal

from sqlalchemy import text

from api.live.desk import Desk
from api.web.shop import Shop
from shared.errors import StoreError

State = Literal["ok", "degraded", "failing"]
_ORDER: tuple[State, ...] = ("ok", "degraded", "failing")

#: An hour of sound takes 115 MB: below the first four benches have an hour, below the second hardly any time.
LITTLE_BYTES, TOO_LITTLE_BYTES = 500_000_000, 50_000_000


@dataclass(frozen=True)
class Health:
    """How the parts do."""

    database: State
    disk: State
    ears: State

    @property
    def status(self) -> State:
        """The worst of them."""
        return max(self.database, self.disk, self.ears, key=_ORDER.index)


def health(shop: Shop, desk: Desk) -> Health:
    """Return how the server does.

    An ear that gave up degrades only: the sound is safe, the other benches hear.
    """
    return Health(_database(shop), _disk(shop), "degraded" if desk.load().failed else "ok")


def _database(shop: Shop) -> State:
    try:
        with shop.database.reading() as session:
            session.execute(text("SELECT 1"))
    except StoreError:
        return "failing"
    return "ok"


def _disk(shop: Shop) -> State:
    try:
        free = shutil.disk_usage(shop.folder).free
    except OSError:
        return "failing"
    if free < TOO_LITTLE_BYTES:
        return "failing"
    return "degraded" if free < LITTLE_BYTES else "ok"
