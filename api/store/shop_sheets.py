"""The job sheets that a shop works by: those that come with the program, and its own in its data folder.

A sheet of the shop's own with the id of a shipped one stands in its place. One that is not right is left out
and told, so that a slip in a file keeps nobody from starting another pump.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from shared.errors import RebuildError, SheetInvalid, SheetNotFound
from shared.job_sheet import JobSheet, load_job_sheet, shipped_sheet_ids

#: Below the data folder.
FOLDER = "sheets"


@dataclass(frozen=True)
class ShopSheets:
    """All of them, as their files are now."""

    sheets: dict[str, JobSheet]
    """By id, in order."""
    wrong: tuple[str, ...]
    """What is the matter with the files that were left out, one line each."""

    def get(self, sheet_id: str | None) -> JobSheet:
        """Return the sheet of an id.

        Raises:
            SheetNotFound: there is none.
        """
        found = self.sheets.get(sheet_id or "")
        if found is None:
            raise SheetNotFound(f"there is no job sheet {sheet_id!r}", expected="one of the list")
        return found


def sheet_as_now(folder: Path, sheet_id: str) -> JobSheet | None:
    """Return the sheet of an id as its file is now; None where there is none that is right.

    Args:
        folder: the shop's data folder.
        sheet_id: of the sheet.
    """
    own = folder / FOLDER / f"{sheet_id}.yaml"
    try:
        return load_job_sheet(own if own.exists() else sheet_id)
    except RebuildError:
        return None


def sheets_of(folder: Path) -> ShopSheets:
    """Return the sheets that a shop works by.

    Args:
        folder: its data folder; its own sheets are the ``.yaml`` files of ``sheets`` in it.
    """
    found = {sheet_id: load_job_sheet(sheet_id) for sheet_id in shipped_sheet_ids()}
    wrong: list[str] = []
    for path in sorted((folder / FOLDER).glob("*.yaml")):
        try:
            sheet = load_job_sheet(path)
            if sheet.id != path.stem:
                raise SheetInvalid(
                    f"the sheet is called {sheet.id!r}",
                    where=str(path),
                    expected=f"its file's name, {path.stem}",
                )
        except RebuildError as exc:
            wrong.append(str(exc))
        else:
            found[sheet.id] = sheet
    return ShopSheets(dict(sorted(found.items())), tuple(wrong))
