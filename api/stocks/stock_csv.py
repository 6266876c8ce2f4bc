"""The stores' tables for spreadsheets (RFC 4180)."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence

from api.exports.spreadsheet_cells import guarded
from api.stocks.pick_list import Pick
from api.stocks.usage import Used

USAGE_COLUMNS = (
    "stock_number",
    "kind",
    "name",
    "sheet",
    "rebuilds",
    "pieces",
    "pieces_as_the_sheet_has",
    "on_hand",
)
PICK_COLUMNS = ("stock_number", "kind", "name", "pieces", "sure", "why", "on_hand", "short")


def usage_csv(used: Sequence[Used]) -> str:
    """Return what was used; a consumable has no pieces, something without a stock number an empty one."""
    return _table(
        USAGE_COLUMNS,
        (
            [
                guarded(one.kept.number) if one.kept else "", one.kind, guarded(one.name),
                guarded(one.sheet_id), str(one.rebuilds), str(one.pieces) if one.kind == "part" else "",
                str(one.as_sheet) if one.kind == "part" else "",
                _amount(one.kept.on_hand if one.kept else None),
            ]
            for one in used
        ),
    )  # fmt: skip


def pick_csv(picks: Sequence[Pick]) -> str:
    """Return a pick list."""
    return _table(
        PICK_COLUMNS,
        (
            [
                guarded(one.kept.number) if one.kept else "", one.kind, guarded(one.name),
                "" if one.pieces is None else str(one.pieces), "yes" if one.sure else "perhaps",
                guarded(one.why), _amount(one.kept.on_hand if one.kept else None), _amount(one.lacking),
            ]
            for one in picks
        ),
    )  # fmt: skip


def _table(columns: Sequence[str], rows: Iterable[list[str]]) -> str:
    out = io.StringIO()
    table = csv.writer(out, lineterminator="\r\n")
    table.writerow(columns)
    table.writerows(rows)
    return out.getvalue()


def _amount(number: float | None) -> str:
    return "" if number is None else f"{number:.10g}"
