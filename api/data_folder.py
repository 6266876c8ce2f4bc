"""A shop's data folder: the file by which it is known, whichever command began it."""

from __future__ import annotations

from pathlib import Path

from api.store.database import FILE

#: The file by which a data folder is known.
MARK = "shop.txt"
_SAID = "Data folder of witnessmark serve. Copy it while the server is stopped.\n"


def make_data_folder(folder: Path) -> None:
    """Make a data folder for a command that works without the server, so that the server takes it later.

    One that holds nothing but what such commands write is marked; one with other files stays as it is.
    """
    folder.mkdir(parents=True, exist_ok=True)
    names = [entry.name for entry in folder.iterdir() if not entry.name.startswith(".")]
    if all(name == "past" or name.startswith(FILE) for name in names):
        mark_folder(folder)


def mark_folder(folder: Path) -> None:
    """Write the file by which a data folder is known."""
    mark = folder / MARK
    if not mark.exists():
        mark.write_text(_SAID, encoding="utf-8")
