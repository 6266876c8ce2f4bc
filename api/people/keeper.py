"""Looks after the periods while the server runs: at its start, and every hour."""

from __future__ import annotations

import logging
import threading

from api.people.retention import Passed, Retention
from api.web.shop import Shop

#: Seconds between two passes; a pass with nothing due is one query.
_EVERY_S = 3600.0


class Keeper:
    """Applies retention, one pass at a time.

    Args:
        shop: whose sound it is.
    """

    def __init__(self, shop: Shop) -> None:
        self._shop = shop
        self._one_at_a_time = threading.Lock()
        self._stop = threading.Event()
        self._thread = threading.Thread(target=self._run, name="keeper", daemon=True)

    def look(self, account_id: int | None = None) -> Passed:
        """Do what is due now; raises as :meth:`Retention.apply`.

        Args:
            account_id: only of this person.
        """
        with self._one_at_a_time:
            retention = Retention(self._shop.database, self._shop.folder, self._shop.settings)
            return retention.apply(self._shop.now(), account_id=account_id)

    def start(self) -> None:
        """Look now and then from now on."""
        self._thread.start()

    def close(self) -> None:
        """Stop after the pass that is under way."""
        self._stop.set()
        if self._thread.is_alive():
            self._thread.join()

    def _run(self) -> None:
        while True:
            try:
                self.look()
            except Exception:
                # A full disk or a locked database now must not keep sound for good: another pass comes.
                logging.getLogger(__name__).exception("retention_failed")
            if self._stop.wait(_EVERY_S):
                return
