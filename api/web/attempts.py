"""Wrong attempts to sign in, counted by where they come from: nobody tries secrets by the thousand."""

from __future__ import annotations

import threading
from collections import OrderedDict
from datetime import datetime, timedelta

#: So many wrong ones are a slip of greasy fingers; after that each doubles the wait.
FREE = 5
_FIRST_WAIT = timedelta(seconds=2)
_LONGEST_WAIT = timedelta(minutes=15)
#: Of so many keys the oldest are forgotten: whoever has that many addresses is not stopped by counting.
_KEPT = 10_000


class Attempts:
    """Counts by key (an address, an account name); thread-safe."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._failed: OrderedDict[str, tuple[int, datetime]] = OrderedDict()

    def wait_s(self, *keys: str, now: datetime) -> float:
        """Return in how many seconds another attempt by any of the keys is heard; 0 for at once."""
        with self._lock:
            return max((self._wait(key, now).total_seconds() for key in keys), default=0.0)

    def failed(self, *keys: str, now: datetime) -> None:
        """Count a wrong attempt."""
        with self._lock:
            for key in keys:
                count, _ = self._failed.pop(key, (0, now))
                self._failed[key] = (count + 1, now)
            while len(self._failed) > _KEPT:
                self._failed.popitem(last=False)

    def succeeded(self, *keys: str) -> None:
        """Forget the wrong attempts of whoever got it right."""
        with self._lock:
            for key in keys:
                self._failed.pop(key, None)

    def _wait(self, key: str, now: datetime) -> timedelta:
        count, last = self._failed.get(key, (0, now))
        if count < FREE:
            return timedelta(0)
        wait: timedelta = min(_FIRST_WAIT * (1 << min(count - FREE, 16)), _LONGEST_WAIT)
        # A clock set back must not lock anybody out for longer than the wait itself.
        return max(timedelta(0), min(wait, last + wait - now))
