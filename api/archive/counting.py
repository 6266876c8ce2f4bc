"""The roll-up of the archive: how often something was wanted, and how often it was lacking.

What each kind counts, once a record and key:

=============  ===========================================  ========================================
kind           wanted                                       lacking
=============  ===========================================  ========================================
record         the record itself (its key is empty)         something that its sheet wants is missing
reading        the sheet requires it                        nobody gave it
photo          the sheet requires it                        nobody took it
part_decision  the sheet wants the part decided             nobody decided
step           the sheet requires it                        nobody said it
limit          measured as the sheet wants it, surely       outside the limits
corrected      said, whatever became of it                  taken back or corrected, by the speaker or
                                                            the office
=============  ===========================================  ========================================
"""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Iterable, Iterator
from typing import Any

from sqlalchemy import Insert, delete
from sqlalchemy.dialects.postgresql import insert as insert_postgresql
from sqlalchemy.dialects.sqlite import insert as insert_sqlite
from sqlalchemy.orm import Session

from api.archive.filed_rows import Row
from api.store.archive_tables import ArchivedCount, ArchivedRecord
from api.store.tables import Table
from shared.job_sheet import JobSheet
from shared.record import RebuildRecord

Counted = tuple[str, str, int, int]
"""Kind, key, wanted, lacking."""
#: Entries whose corrections are counted.
_SAID = frozenset({"reading", "condition", "part", "consumable", "step"})
_TAKEN_BACK = frozenset({"corrected", "reviewer_corrected"})
#: Cells that one statement adds to; SQLite takes 32,766 values in one.
_AT_ONCE = 1000


def key_of(name: str, position: str | None = None) -> str:
    """Return the key of an item, part, step or photo, with its position where it has one."""
    return name if position is None else f"{name}@{position}"


def name_and_position(key: str) -> tuple[str, str | None]:
    """Return what a key is of."""
    name, _, position = key.partition("@")
    return name, position or None


def counts_of(record: RebuildRecord, sheet: JobSheet | None, entries: Iterable[Row]) -> list[Counted]:
    """Return what a record adds to the roll-up.

    Args:
        record: to be counted.
        sheet: that it was made by; without it only what is missing is known to be wanted.
        entries: its rows of ``archived_entries``.
    """
    rows = list(entries)
    lacking = {(one.kind, _missing_key(one)) for one in record.missing}
    wanted = set(_wanted(sheet)) | lacking if sheet else lacking
    counted: list[Counted] = [("record", "", 1, int(bool(record.missing)))]
    counted += [(kind, key, 1, int((kind, key) in lacking)) for kind, key in sorted(wanted)]
    counted += [("limit", key, 1, missed) for key, missed in sorted(_limits(sheet, rows).items())]
    counted += [("corrected", key, 1, back) for key, back in sorted(_corrections(rows).items())]
    return counted


def add_to_roll_up(session: Session, filed: Iterable[ArchivedRecord], sign: int = 1) -> None:
    """Add what records count to the roll-up, or take it off.

    Args:
        session: one that writes.
        filed: the records.
        sign: 1 adds, -1 takes off.
    """
    wanted: Counter[tuple[Any, ...]] = Counter()
    lacking: Counter[tuple[Any, ...]] = Counter()
    for one in filed:
        place = (one.month, one.sheet_id, one.pump_type, one.crew, one.technician_id)
        for kind, key, times, short in json.loads(one.counted):
            wanted[*place, kind, key] += sign * times
            lacking[*place, kind, key] += sign * short
    rows = [
        {
            "cell": json.dumps(cell, ensure_ascii=False), "month": cell[0], "sheet_id": cell[1],
            "pump_type": cell[2], "crew": cell[3], "technician_id": cell[4], "kind": cell[5], "key": cell[6],
            "wanted": times, "lacking": lacking[cell],
        }
        for cell, times in sorted(wanted.items(), key=lambda one: repr(one[0]))
    ]  # fmt: skip
    statement = _adding(session)
    for start in range(0, len(rows), _AT_ONCE):
        session.connection().execute(statement, rows[start : start + _AT_ONCE])
    if sign < 0:
        session.execute(delete(ArchivedCount).where(ArchivedCount.wanted == 0))


def _adding(session: Session) -> Insert:
    """Return the statement that adds to a cell, or begins it."""
    table = Table.metadata.tables[ArchivedCount.__tablename__]
    if session.get_bind().dialect.name == "postgresql":
        postgresql = insert_postgresql(table)
        return postgresql.on_conflict_do_update(
            index_elements=["cell"],
            set_={
                "wanted": table.c.wanted + postgresql.excluded.wanted,
                "lacking": table.c.lacking + postgresql.excluded.lacking,
            },
        )
    sqlite = insert_sqlite(table)
    return sqlite.on_conflict_do_update(
        index_elements=["cell"],
        set_={
            "wanted": table.c.wanted + sqlite.excluded.wanted,
            "lacking": table.c.lacking + sqlite.excluded.lacking,
        },
    )


def _wanted(sheet: JobSheet) -> Iterator[tuple[str, str]]:
    for item in sheet.measured.values():
        if item.required:
            yield from (("reading", key_of(item.item, place)) for place in item.positions or (None,))
    yield from (("photo", one.of) for one in sheet.photos if one.required)
    yield from (("part_decision", one.part) for one in sheet.parts if one.decide)
    yield from (("step", one.step) for one in sheet.steps if one.required)


def _missing_key(missing: Any) -> str:
    return key_of(missing.item or missing.of or missing.part or missing.step, missing.position)


def _limits(sheet: JobSheet | None, rows: Iterable[Row]) -> dict[str, int]:
    """Return by key whether a limit was missed, of what was measured at the stage that the sheet means."""
    found: dict[str, int] = {}
    for row in rows:
        if row["kind"] != "reading" or row["fate"] or row["needs_review"]:
            continue
        item = sheet.measured.get(row["item"]) if sheet else None
        as_found = row["stage"] == "as_found" and (item is None or item.stage != "as_found")
        if row["value"] is not None and row["verdict"] != "no_limit" and not as_found:
            key = key_of(row["item"], row["position"])
            found[key] = max(found.get(key, 0), int(row["verdict"] == "outside"))
    return found


def _corrections(rows: Iterable[Row]) -> dict[str, int]:
    found: dict[str, int] = {}
    for row in rows:
        if row["kind"] in _SAID:
            name = key_of(row["item"] or row["part"] or row["what"] or "", row["position"])
            key = f"{row['kind']}:{name}"
            found[key] = max(found.get(key, 0), int(row["fate"] in _TAKEN_BACK))
    return found
