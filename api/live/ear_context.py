"""How the processes of the benches are started: from one that has read already what all of them need.

Not forked from the server, which has threads whose locks a child must not inherit. The process between has
none; its children share what it has read.
"""

from __future__ import annotations

import multiprocessing
from functools import cache
from multiprocessing.context import ForkServerContext

#: Imported once, before the first bench.
_READ_BEFORE = "api.live.ear_warmth"


@cache
def ear_context() -> ForkServerContext:
    """Return what starts the processes of the benches."""
    context = multiprocessing.get_context("forkserver")
    context.set_forkserver_preload([_READ_BEFORE])
    return context
