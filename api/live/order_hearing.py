"""A work order said at a bench's start, understood: which of the known ones was meant, or what is asked.

It starts work only where what was heard is a known order and no other one sounds nearly like it.
"""

from __future__ import annotations

import logging
import multiprocessing
import os
import signal
import threading
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from multiprocessing.connection import Connection
from multiprocessing.process import BaseProcess

from api.operation.log_lines import write_json_lines
from capture.engines.order_ear import OrderEar
from capture.sound_blocks import Samples
from extract.spelled_codes import code_after
from extract.tokens import tokenize
from shared.errors import EngineFailed

#: Nats a frame by which it must beat phones in any order. Of phrases of three free voices (26 November 2026)
#: nine orders were better by 0.16 to 0.79, chatter and talk of a rebuild worse by 0.5 and more, and figures
#: without "work order" before them better by 0.03.
_SURE = 0.1
#: Nats by which the order heard must beat every other known one: of those phrases orders that differ in one
#: figure were behind by 126 to 230. Of 24 others (14 of a known order; half of them with noise 15 dB below)
#: nine began the right job and none a wrong one; four were asked about, and of seven nothing was understood,
#: all in noise. To take a known order that fits better than what was heard began one wrong job among them.
_APART = 80.0
#: So much of a phrase is heard, samples; nobody says a work order for longer.
MOST_SAMPLES = 8 * 16_000
_LONGEST_WAIT_S = 45.0
#: Whoever narrates at another bench goes first.
_BEHIND = 5


@dataclass(frozen=True)
class Understood:
    """What a phrase came to."""

    code: str
    """As it was heard, letters and figures; empty for no work order."""
    order: str | None
    """The known work order that is meant, where that is sure."""
    choices: tuple[str, ...] = ()
    """Known ones that may be meant, where it is not."""


class OrderHearing:
    """Hears in a process of its own, begun when it is first needed: the server must answer meanwhile."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._process: BaseProcess | None = None
        self._pipe: Connection | None = None

    def understand(self, samples: Samples, orders: Sequence[str]) -> Understood:
        """Return what was said.

        Args:
            samples: one phrase; int16, mono, 16 kHz.
            orders: those that are known, as the shop writes them.

        Raises:
            EngineFailed: another phrase is heard just now, the process died, or it takes too long.
        """
        if not self._lock.acquire(timeout=_LONGEST_WAIT_S):
            raise EngineFailed("another bench's work order is heard just now", remedy="say it again")
        try:
            return self._asked(samples, tuple(orders))
        except (EOFError, OSError) as exc:
            self.close()
            raise EngineFailed("nobody hears work orders now", remedy="type it, or say it again") from exc
        finally:
            self._lock.release()

    def get_ready(self) -> None:
        """Begin the process where there is none, so that the first phrase need not wait for it."""
        if self._lock.acquire(blocking=False):
            try:
                self._started()
            finally:
                self._lock.release()

    def close(self) -> None:
        """End the process, whatever it does."""
        process, pipe = self._process, self._pipe
        self._process = self._pipe = None
        if process is not None:
            process.kill()
            process.join()
        if pipe is not None:
            pipe.close()

    def _asked(self, samples: Samples, orders: tuple[str, ...]) -> Understood:
        pipe = self._started()
        pipe.send((samples, orders))
        if not pipe.poll(_LONGEST_WAIT_S):
            raise EOFError
        found: Understood = pipe.recv()
        return found

    def _started(self) -> Connection:
        if self._pipe is None:
            context = multiprocessing.get_context("spawn")
            self._pipe, theirs = context.Pipe()
            self._process = context.Process(target=hear_for, args=(theirs,), daemon=True)
            self._process.start()
            theirs.close()
        return self._pipe


def hear_for(pipe: Connection) -> None:
    """Hear phrase after phrase; the whole life of the process."""
    # Ctrl-C at the server's terminal goes to all; the server ends this one itself.
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    write_json_lines("warning")
    _ear()
    os.nice(_BEHIND)
    while True:
        try:
            samples, orders = pipe.recv()
            pipe.send(understood(samples, orders))
        except (EOFError, OSError):
            return
        except Exception:
            # Python would print the message with it, which may hold what somebody said.
            logging.getLogger(__name__).exception("order_ear_stopped")
            return


def understood(samples: Samples, orders: Sequence[str]) -> Understood:
    """Return what was said, heard in this process."""
    ear = _ear()
    heard = ear.hear(samples)
    code = code_after(tokenize(heard.words), ("work", "order")) if heard is not None else None
    if heard is None or code is None or heard.better_by < _SURE:
        return Understood("", None)
    return _meant(ear, samples, plain(code), _by_code(orders))


def plain(order: str) -> str:
    """Return letters and figures of a work order, as they are said: of "WO 44/17" 4417."""
    code = "".join(c for c in order.upper() if c.isascii() and c.isalnum())
    rest = code.removeprefix("WO")
    return rest if rest else code


def _by_code(orders: Sequence[str]) -> Mapping[str, list[str]]:
    found: dict[str, list[str]] = {}
    for order in orders:
        if code := plain(order):
            found.setdefault(code, []).append(order)
    return found


def _meant(ear: OrderEar, samples: Samples, code: str, known: Mapping[str, list[str]]) -> Understood:
    own = ear.fit(samples, [code])
    # One look at all the others together: most often none of them sounds like it.
    others = [one for one in known if one != code]
    near = (
        [one for one in others if _is_near(ear, samples, own, [one])]
        if _is_near(ear, samples, own, others)
        else []
    )
    same = known.get(code, [])
    if len(same) == 1 and not near:
        return Understood(code, same[0])
    return Understood(
        code, None, tuple(order for one in ([code] if same else []) + near for order in known[one])
    )


def _is_near(ear: OrderEar, samples: Samples, own: float | None, others: Sequence[str]) -> bool:
    fit = ear.fit(samples, others) if others else None
    return fit is not None and (own is None or own - fit < _APART)


@cache
def _ear() -> OrderEar:
    return OrderEar()
