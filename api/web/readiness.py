"""What the first pages would wait for, done beside while the server starts."""

from __future__ import annotations

from contextlib import suppress
from threading import Thread

from api.history.rebuilds import types
from api.history.type_past import past_of, standing_out
from api.web.shop import Shop
from shared.errors import RebuildError


def make_ready_beside(shop: Shop) -> Thread:
    """Start a thread that loads the statistics and gathers the past of every type; return it."""
    thread = Thread(target=make_ready, args=(shop,), name="readiness", daemon=True)
    thread.start()
    return thread


def make_ready(shop: Shop) -> None:
    """Load the statistics and gather the past of every type, so that no page waits for it."""
    from scipy import optimize, stats  # noqa: F401  seconds to load, which nobody waits for here

    # What cannot be gathered now the page that asks for it tells of.
    with suppress(RebuildError), shop.database.reading() as session:
        for sheet_id, _ in types(session):
            standing_out(session, sheet_id, past_of(session, sheet_id), shop.now())
