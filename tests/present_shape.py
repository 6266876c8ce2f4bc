"""A database of the present shape to begin with: migrated once a process, copied from then on.

Migrating from nothing takes longer than most of what is tested on it. That it works, also from every
earlier shape, is tested in ``tests/api/store/test_database.py``.
"""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path
from tempfile import TemporaryDirectory

from api.store.database import FILE, Database, database_url
from api.store.migrating import migrate


def lay_present_shape(folder: Path) -> None:
    """Put an empty shop's database into a data folder that has none."""
    with (folder / FILE).open("xb") as file:
        file.write(_present_shape())


@lru_cache
def _present_shape() -> bytes:
    with TemporaryDirectory() as folder:
        made = Database(database_url(Path(folder), None))
        migrate(made)
        made.close()  # the write-ahead log goes into the file with the last connection
        (file,) = Path(folder).iterdir()
        return file.read_bytes()
