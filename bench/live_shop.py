"""A shop's server of its own for a measurement: with a job open at each bench, and the memory it takes."""

from __future__ import annotations

import re
import socket
import subprocess
import sys
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from api.data_folder import MARK
from api.people.notice import present_notice
from api.store import web_sessions
from api.store.accounts import make_account
from api.store.consents import keep_answer
from api.store.jobs import open_job
from api.web.guard import COOKIE
from api.web.serving import open_shop
from api.work_folder import held_folder
from shared.job_sheet import load_job_sheet
from shared.settings import load_settings

#: Of a shop that is thrown away.
NAME, SECRET = "bench", "long enough to be one"
_STARTS_IN_S = 60.0
_POLL_S = 0.1
_PSS = re.compile(r"^Pss:\s+(\d+) kB", re.MULTILINE)


@dataclass(frozen=True)
class ServedShop:
    """A server that runs, and who is signed in at its benches."""

    process: subprocess.Popen[bytes]
    port: int
    cookie: str
    jobs: tuple[str, ...]
    """One a bench, in the order of the sheets given."""

    def listen_at(self, job: str) -> str:
        """Return the address of a job's web socket."""
        return f"ws://127.0.0.1:{self.port}/bench/{job}/listen"

    @property
    def headers(self) -> dict[str, str]:
        """What a signed-in browser sends along."""
        return {"cookie": f"{COOKIE}={self.cookie}"}


@contextmanager
def served_shop(
    folder: Path, sheets: Sequence[str], *, roles: Sequence[str] = ("technician", "admin")
) -> Iterator[ServedShop]:
    """Serve a new shop with one job for each sheet, as ``witnessmark serve`` does; stop it in the end.

    Args:
        folder: data folder; it must not be there yet.
        sheets: ids of shipped sheets.
        roles: of whoever is signed in.
    """
    port = _free_port()
    folder.mkdir()
    (folder / MARK).write_text("a measurement's\n")
    with held_folder(folder, MARK):
        settings = load_settings()
        shop, notice = open_shop(settings, folder), present_notice(folder, settings)
        with shop.database.writing() as session:
            account = make_account(
                session, name=NAME, shown_name="Bench", roles=list(roles), secret=SECRET, now=shop.now()
            )
            keep_answer(session, account, notice=notice.text, agreed=True, now=shop.now())
            cookie = web_sessions.begin(session, account, shop.now())
            jobs = tuple(
                open_job(
                    session, load_job_sheet(sheet), work_order=f"B{number}", by=account, now=shop.now()
                ).id
                for number, sheet in enumerate(sheets, 1)
            )
        shop.database.close()
    command = [sys.executable, "-m", "api", "serve", "--data", str(folder), "--port", str(port)]
    process = subprocess.Popen(command, stdout=subprocess.DEVNULL)
    try:
        _wait_for(port, process)
        yield ServedShop(process, port, cookie, jobs)
    finally:
        process.terminate()
        process.wait(30)


def memory_mb(process_id: int) -> dict[str, float]:
    """Return the proportional set size of a process and its descendants, MB: of the process, and of all.

    Source of the measure: proc(5), smaps_rollup; what several processes share counts once in all.
    """
    family = [process_id, *descendants(process_id)]
    sizes = [_pss_mb(one) for one in family]
    return {"server_mb": round(sizes[0]), "processes": len(family), "all_mb": round(sum(sizes))}


def descendants(process_id: int) -> list[int]:
    """Return the processes below one (proc(5), children)."""
    found: list[int] = []
    for path in Path(f"/proc/{process_id}/task").glob("*/children"):
        try:
            below = [int(text) for text in path.read_text().split()]
        except OSError:
            continue
        for one in below:
            found += [one, *descendants(one)]
    return found


def _pss_mb(process_id: int) -> float:
    try:
        found = _PSS.search(Path(f"/proc/{process_id}/smaps_rollup").read_text())
    except OSError:
        return 0.0
    return int(found[1]) / 1024 if found else 0.0


def _free_port() -> int:
    with socket.socket() as asked:
        asked.bind(("127.0.0.1", 0))
        return int(asked.getsockname()[1])


def _wait_for(port: int, process: subprocess.Popen[bytes]) -> None:
    until = time.monotonic() + _STARTS_IN_S
    while time.monotonic() < until and process.poll() is None:
        with socket.socket() as asked:
            if asked.connect_ex(("127.0.0.1", port)) == 0:
                return
        time.sleep(_POLL_S)
    raise RuntimeError("the server did not start")
