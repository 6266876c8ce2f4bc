"""What every request works with: settings, database, clock."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path

from api.operation.measures import Measures
from api.store.database import Database
from api.store.secrets import new_token
from api.tls.watch import TlsWatch
from api.web.attempts import Attempts
from shared.settings import Settings


def _machine_clock() -> datetime:
    return datetime.now(UTC)


@dataclass
class Shop:
    """One shop's server."""

    database: Database
    folder: Path
    """Data folder: journals, pictures, keys."""
    settings: Settings
    clock: Callable[[], datetime] = _machine_clock
    set_up_token: str = field(default_factory=new_token)
    """What the link on the console carries; good only while nobody can keep accounts."""
    attempts: Attempts = field(default_factory=Attempts)
    measures: Measures = field(default_factory=Measures)
    tls: TlsWatch | None = None
    """Where there is one, cookies never travel over plain HTTP."""

    def now(self) -> datetime:
        """Return the moment by the machine's clock, with its offset."""
        return self.clock()
