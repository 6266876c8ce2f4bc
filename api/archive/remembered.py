"""Figures of the archive kept as long as it does not change, so that a page is not counted anew each time.

They are kept in this process by the name of the archive's state (:mod:`api.store.archive_state`), which the
session that asks sees in the same moment as the rows: what is given back is what would be made.
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, Hashable
from threading import Lock
from typing import Any, TypeVar

from sqlalchemy.orm import Session

from api.store.archive_state import state_of

_Made = TypeVar("_Made")
#: Few are large (one of each type of pump, a few megabytes); those not asked for longest go first.
MOST = 200
_kept: OrderedDict[Hashable, tuple[str, Any]] = OrderedDict()
_lock = Lock()


def remembered(session: Session, what: tuple[Hashable, ...], make: Callable[[], _Made]) -> _Made:
    """Return what is made of the archive, made once for each of its states. Nobody may change it.

    Args:
        session: that it is made with.
        what: names it, with everything but the archive that it depends on.
        make: makes it.
    """
    state = state_of(session)
    if state is None:
        return make()
    with _lock:
        kept = _kept.get(what)
        if kept is not None and kept[0] == state:
            _kept.move_to_end(what)
            found: _Made = kept[1]
            return found
    made = make()
    with _lock:
        _kept[what] = (state, made)
        _kept.move_to_end(what)
        while len(_kept) > MOST:
            _kept.popitem(last=False)
    return made
