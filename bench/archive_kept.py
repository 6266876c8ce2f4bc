"""The archive at full size on a PostgreSQL server that is kept: to be timed again when the machine is quiet.

``python -m bench.archive_kept FOLDER --records N`` fills it where it is not filled (copies of the smaller
sizes stay beside the whole, for the growth) and times searches and pages at each size; ``--only-fill``
leaves the timing out. Filling is not measured and may run on a busy machine. The figures are written
beside those of ``python -m bench``.
"""

from __future__ import annotations

import argparse
import json
import os
import sys
import time
from pathlib import Path
from typing import Any

from sqlalchemy import func, select

from api.store.archive_tables import ArchivedRecord, ArchivedUtterance
from api.store.database import Database
from api.store.migrating import migrate
from api.web.serving import open_shop
from bench.__main__ import write_report
from bench.archive import at_size, draw
from bench.archive_copies import double, with_indexes, without_indexes
from bench.own_postgresql import OwnPostgresql, own_postgresql, postgresql_programs
from shared.settings import Settings

_GROWING, _WHOLE = "growing", "archive_"


def main(arguments: list[str]) -> int:
    """Fill and time as the command line says; return an exit status."""
    parser = argparse.ArgumentParser(prog="python -m bench.archive_kept", description=__doc__)
    parser.add_argument("folder", type=Path, help="kept; the user postgres must be let into it")
    parser.add_argument("--records", type=int, default=100_000, help="rebuilds at least (100000)")
    parser.add_argument("--only-fill", action="store_true", help="time nothing")
    parser.add_argument("--whole", action="store_true", help="time the whole alone, not the smaller sizes")
    parser.add_argument("--cold", action="store_true", help="from the disk: nothing of it in memory at first")
    wanted = parser.parse_args(arguments)
    programs = postgresql_programs()
    if programs is None:
        print("bench: needs the system program postgresql", file=sys.stderr)
        return 2
    with own_postgresql(programs, kept=wanted.folder) as server:
        if not any(name.startswith(_WHOLE) for name in server.databases()):
            _fill(server, wanted.records)
    if wanted.only_fill:
        return 0
    if wanted.cold:
        _out_of_memory(wanted.folder)
    with own_postgresql(programs, kept=wanted.folder) as server:
        figures = _timed(server, wanted.folder / "shop", whole=wanted.whole)
    print(json.dumps(figures, indent=2))
    command = " ".join(["python -m bench.archive_kept", *arguments])
    print(f"written to {write_report(command, {'archive_kept': figures})}", file=sys.stderr)
    return 0


def _fill(server: OwnPostgresql, least: int) -> None:
    """Make databases of a quarter, of half and of all the rebuilds; what was broken off begins anew."""
    server.drop(_GROWING)
    url, done = server.make(_GROWING), []
    database = Database(url)
    migrate(database)
    size, taken_away = draw(database, least), list[str]()
    while True:
        if size * 4 >= least:
            with_indexes(database, taken_away)
            taken_away = []
            _tell(database)
            # A database can be copied while nobody is in it. Under its own name only when all are there.
            database.close()
            server.make(f"part_{size:07d}", like=_GROWING)
            done.append(f"part_{size:07d}")
            database = Database(url)
        if size >= least:
            break
        taken_away = taken_away or without_indexes(database)
        size = double(database)
    database.close()
    for name in done:
        server.rename(name, name.replace("part_", _WHOLE))
    server.drop(_GROWING)


def _tell(database: Database) -> None:
    with database.reading() as session:
        records = session.scalar(select(func.count(ArchivedRecord.id)))
        said = session.scalar(select(func.count(ArchivedUtterance.id)))
    print(f"{time.strftime('%H:%M:%S')} {records} rebuilds, {said} utterances", file=sys.stderr, flush=True)


def _out_of_memory(folder: Path) -> None:
    """Let the system forget the pages of all files in a folder; the server must not run."""
    for path in folder.rglob("*"):
        if path.is_file():
            with path.open("rb") as file:
                os.posix_fadvise(file.fileno(), 0, 0, os.POSIX_FADV_DONTNEED)


def _timed(server: OwnPostgresql, folder: Path, *, whole: bool) -> dict[str, Any]:
    load, curve = round(os.getloadavg()[0], 1), []
    names = [name for name in server.databases() if name.startswith(_WHOLE)]
    for name in names[-1:] if whole else names:
        shop = open_shop(Settings(database_url=server.url(name)), folder)
        curve.append(at_size(shop))
        shop.database.close()
    return {"load_before": load, "curve": curve}


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
