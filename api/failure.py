"""What becomes of an exception: one clear line on standard error and an exit status.

0: the work was done. 1: done, with deviations or questions, and ``--strict`` was given. 2: it could
not be done. A programming error is said to be one, with how to report it; its traceback shows only
with the setting ``WITNESSMARK_DEBUG``.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Callable

import click

from shared.errors import RebuildError

DONE, FOUND, NOT_DONE = 0, 1, 2


def exit_status(work: Callable[[], object]) -> int:
    """Run a command and return its exit status; a failure is told in one line.

    Args:
        work: returns None, or the exit status.
    """
    try:
        status = work()
        sys.stdout.flush()
        return status if isinstance(status, int) else DONE
    except RebuildError as exc:
        return _told(f"{exc} [{exc.code}]", exc)
    except click.UsageError as exc:
        path = exc.ctx.command_path if exc.ctx else "witnessmark"
        return _told(f"{_one_line(exc.format_message()).rstrip('.')}; see: {path} --help")
    except click.ClickException as exc:
        return _told(_one_line(exc.format_message()))
    except click.exceptions.Exit as exc:
        return exc.exit_code
    except (KeyboardInterrupt, click.Abort):
        return _told("interrupted")
    except BrokenPipeError:
        # Whoever read our output has enough. Nothing may be flushed into the closed pipe at exit.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return DONE
    except OSError as exc:
        where = f"{exc.filename}: " if exc.filename else ""
        return _told(
            f"{where}{exc.strerror or exc}; check the file, its rights and the space on the disk", exc
        )
    except Exception as exc:
        # The last door: what comes through here is our own mistake and says so.
        what = f"a bug in witnessmark: {type(exc).__name__}: {_one_line(str(exc))}"
        remedy = "please report this line and the command; WITNESSMARK_DEBUG=1 shows where"
        return _told(f"{what}; {remedy}", exc)


def _told(line: str, exc: BaseException | None = None) -> int:
    if exc is not None and os.environ.get("WITNESSMARK_DEBUG", "").lower() in ("1", "true", "yes"):
        import traceback

        traceback.print_exception(exc)
    print(f"witnessmark: {line}", file=sys.stderr)
    return NOT_DONE


def _one_line(text: str) -> str:
    return " ".join(text.split())
