"""How long searches and the pages over the archive take, by how many rebuilds there are.

Asked through the whole application, as a browser would, signed in as a trainer. Sizes by environment:
``BENCH_ARCHIVE_SQLITE`` and ``BENCH_ARCHIVE_POSTGRESQL`` (rebuilds at least, 0 leaves it out).
"""

from __future__ import annotations

import os
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from fastapi.testclient import TestClient
from sqlalchemy import func, select

from api.invented.filed_past import file_past
from api.invented.past import Past
from api.store.accounts import by_secret, make_account
from api.store.archive_state import archive_changed
from api.store.archive_tables import ArchivedRecord, ArchivedUtterance
from api.store.database import Database
from api.web.app import make_app
from api.web.serving import open_shop
from api.web.shop import Shop
from bench.archive_copies import double, drawn_for, with_indexes, without_indexes
from bench.own_postgresql import own_postgresql, postgresql_programs
from shared.settings import Settings

#: Rebuilds that are drawn; the rest are copies of them (:mod:`bench.archive_copies`).
DRAWN = 625
#: Figures to reach, milliseconds, 95 of 100.
SEARCH_MS, PAGE_MS = 200, 300
#: How often each page is asked for, its first time not counted.
RUNS = 12
SECRET = "a secret of the bench"  # noqa: S105  # opens nothing but its own temporary shop
SEARCHES = {
    "one word, everywhere": "q=clearance",
    "one word with synonyms": "q=worn",
    "two words with synonyms": "q=carbon+chipped",
    "a phrase": "q=%22gland+nuts%22",
    "a number": "q=front+clearance+eighteen",
    "a word, not another": "q=silt+-wheel",
    "a word that nobody said": "q=quinquireme",
    "a common word of a rare thing": "q=face&condition=cracked",
    "a common word of one pump": "q=seal&pump_tag=P-104",
    "a word in three months": "q=sleeve&since=2026-01&until=2026-03",
    "a word in three months long ago": "q=sleeve&since=2023-01&until=2023-03",
    "two words hardly ever said together": "q=cracked+casing",
    "two common words of a type": "q=clearance+eighteen&pump_type=wash-water-end-suction",
    "a common word of one who was seldom here": "q=clearance&technician=Ivo+Castell",
    "no word, a condition": "condition=heat_checked",
    "no word, a part renewed": "part=seal&action=renewed",
    "no word, a deviation": "deviation=against_policy",
    "no word, a pump type": "pump_type=wash-water-split-case",
    "no word, one pump": "pump_tag=P-104",
    "pictures of a part": "q=carbon",
    "pictures of a part found so": "q=crazed+carbon",
    "pictures of one technician": "technician=Ivo+Castell&stage=as_left",
    "pictures of a rare thing": "part=casing&condition=cracked&show=pictures",
    "pictures alone, a type": "pump_type=wash-water-split-case&show=pictures",
    "nothing asked": "",
}
#: Pages over the same archive; one that this version does not have is told as not there.
PAGES = (
    "/lessons",
    "/lessons?sheet=wash-water-end-suction",
    "/lessons?sheet=wash-water-end-suction&since=2025-11",
    "/lessons/figure?sheet=wash-water-end-suction&kind=step&key=seal_faces_cleaned",
    "/lessons/figure?sheet=wash-water-split-case&kind=limit&key=split_line_bolt_torque",
    "/lessons/figure?sheet=wash-water-end-suction&kind=corrected&key=reading:seal_setting",
    "/pumps", "/pumps/P-104", "/pump-types/wash-water-end-suction", "/stores",
    "/stores/pick?sheet=wash-water-end-suction&tag=P-104",
)  # fmt: skip


def measure() -> dict[str, Any]:
    """Return the figures of both kinds of database."""
    figures: dict[str, Any] = {"figures_to_reach_ms": {"search_p95": SEARCH_MS, "lessons_page_p95": PAGE_MS}}
    sizes = {
        "sqlite": int(os.environ.get("BENCH_ARCHIVE_SQLITE", "10000")),
        "postgresql": int(os.environ.get("BENCH_ARCHIVE_POSTGRESQL", "10000")),
    }
    for kind, least in sizes.items():
        if not least:
            figures[kind] = "left out"
            continue
        with _database(kind) as url, tempfile.TemporaryDirectory() as folder:
            if url == "":
                figures[kind] = "not run: no PostgreSQL is installed"
                continue
            figures[kind] = _measured(Path(folder), url, least)
    return figures


def _measured(folder: Path, url: str | None, least: int) -> dict[str, Any]:
    shop = open_shop(Settings(database_url=url), folder)
    begun = time.perf_counter()
    drawn = size = draw(shop.database, least)
    drawn_s = time.perf_counter() - begun
    curve: list[dict[str, Any]] = []
    taken_away: list[str] = []
    while True:
        if size >= least or size * 4 >= least:
            with_indexes(shop.database, taken_away)
            curve.append(at_size(shop))
            taken_away = []
        if size >= least:
            break
        taken_away = taken_away or without_indexes(shop.database)
        size = double(shop.database)
    shop.database.close()
    return {
        "drawn": drawn, "drawing_and_filing_s": round(drawn_s, 1),
        "load_average": round(os.getloadavg()[0], 1), "curve": curve,
    }  # fmt: skip


def draw(database: Database, least: int) -> int:
    """File invented rebuilds, of which copies will come to as many as are wanted; return how many.

    Args:
        database: empty.
        least: rebuilds wanted in the end.
    """
    drawn = drawn_for(least, DRAWN)
    file_past(database, Past(drawn, 7))
    return drawn


def at_size(shop: Shop) -> dict[str, Any]:
    """Time searches and pages over a shop's archive as it is; a session and an account are added to it.

    Args:
        shop: with rebuilds drawn and copied.
    """
    client = _trainer(shop)
    with shop.database.reading() as session:
        records = session.scalar(select(func.count(ArchivedRecord.id)))
        said = session.scalar(select(func.count(ArchivedUtterance.id)))
    cpu, wall = time.process_time(), time.perf_counter()
    searches, cold = {}, {}
    for name, query in SEARCHES.items():
        cold[name] = _once(client, f"/search?{query}")[0]
        searches[name] = _times(client, f"/search?{query}")
    share = (time.process_time() - cpu) / (time.perf_counter() - wall)
    pages, first = {}, {}
    for path in PAGES:
        with shop.database.writing() as session:
            archive_changed(session)  # as after a filing: nothing that was kept in this process counts
        first[path] = _once(client, path)[0]
        pages[path] = _times(client, path)
    every = [ms for times in searches.values() for ms in times]
    lessons = [ms for path, times in pages.items() for ms in times if path.startswith("/lessons")]
    found: dict[str, Any] = {
        "rebuilds": records, "utterances": said, "database_mb": _megabytes(shop),
        # Far below 1 on SQLite: others kept the processor from it, and the times are too long.
        "processor_share": round(share, 2),
        "search_p50_ms": _share(every, 0.5), "search_p95_ms": _share(every, 0.95),
        "lessons_p95_ms": _share(lessons, 0.95) if lessons else "none is there",
        "searches_p95_ms": {name: _share(times, 0.95) for name, times in searches.items()},
        # Told apart: after a start of the machine what is asked for lies on the disk.
        "searches_first_ms": {name: round(ms, 1) for name, ms in cold.items()},
        "searches_p50_ms": {name: _share(times, 0.5) for name, times in searches.items()},
        "each_page_p95_ms": {p: _share(t, 0.95) if t else "not there" for p, t in pages.items()},
        "each_page_p50_ms": {p: _share(t, 0.5) if t else "not there" for p, t in pages.items()},
        "each_page_first_after_a_filing_ms": {path: round(ms, 1) for path, ms in first.items()},
    }  # fmt: skip
    return found


def _times(client: TestClient, path: str) -> list[float]:
    """Return how long a page took each time, milliseconds, the first not counted; nothing where it is not."""
    _, there = _once(client, path)
    return [_once(client, path)[0] for _ in range(RUNS)] if there else []


def _once(client: TestClient, path: str) -> tuple[float, bool]:
    begun = time.perf_counter()
    answer = client.get(path)
    took_ms = (time.perf_counter() - begun) * 1000
    if answer.status_code not in (200, 404):
        raise RuntimeError(f"{path}: {answer.status_code}")
    return took_ms, answer.status_code == 200


def _trainer(shop: Shop) -> TestClient:
    with shop.database.writing() as session:
        if by_secret(session, "trainer", SECRET) is None:
            make_account(
                session, name="trainer", shown_name="Trainer", roles=["trainer", "stores", "technician"],
                secret=SECRET, now=datetime.now(UTC),
            )  # fmt: skip
    client = TestClient(make_app(shop), base_url="http://testserver", follow_redirects=False)
    client.post("/sign-in", data={"name": "trainer", "secret": SECRET})
    return client


def _share(times: list[float], share: float) -> float:
    ordered = sorted(times)
    return round(ordered[min(int(share * len(ordered)), len(ordered) - 1)], 1)


def _megabytes(shop: Shop) -> int:
    with shop.database.reading() as session:
        if session.get_bind().dialect.name == "postgresql":
            size = session.scalar(select(func.pg_database_size(func.current_database())))
        else:
            size = sum(path.stat().st_size for path in shop.folder.glob("*.sqlite*"))
    return round((size or 0) / 1e6)


@contextmanager
def _database(kind: str) -> Iterator[str | None]:
    """Give the URL of an empty database; None is the shop's own file, empty that there is no such server."""
    if kind == "sqlite":
        yield None
        return
    programs = postgresql_programs()
    if programs is None:
        yield ""
        return
    with own_postgresql(programs) as server:
        yield server.make("archive")
