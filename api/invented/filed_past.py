"""An invented past filed into an archive of its own, in a data folder that ``serve`` can show."""

from __future__ import annotations

import json
from collections.abc import Callable
from itertools import islice
from pathlib import Path

from api.archive.filing import file_new
from api.data_folder import MARK, mark_folder
from api.invented.past import Past, technicians
from api.invented.pumps import END
from api.store.accounts import make_account
from api.store.database import Database
from api.web.serving import open_shop
from api.work_folder import held_folder
from shared.errors import OutputForeign
from shared.settings import Settings

TRUTH = "truth.json"
#: Records filed in one transaction.
_AT_ONCE = 250


def make_invented_shop(folder: Path, past: Past, told: Callable[[int], None] = lambda _: None) -> Path:
    """Make a data folder of an invented past; return the file that holds the truth about it.

    Args:
        folder: absent or empty.
        past: which.
        told: is told how many rebuilds are filed.

    Raises:
        OutputForeign: something is in the folder.
        OutputUnwritable, StoreUnusable: it cannot be written.
    """
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise OutputForeign(
            "there is something already", where=str(folder), expected="a folder that is absent or empty"
        )
    with held_folder(folder, MARK):
        mark_folder(folder)
        # A shop's own database, should a setting name one, is none of its business.
        shop = open_shop(Settings(database_url=None), folder)
        try:
            file_past(shop.database, past, told)
        finally:
            shop.database.close()
        truth = folder / TRUTH
        truth.write_text(json.dumps(past.truth(), indent=2) + "\n", encoding="utf-8")
    return truth


def file_past(database: Database, past: Past, told: Callable[[int], None] = lambda _: None) -> int:
    """File an invented past into a database that has none of it; return of how many rebuilds.

    Args:
        database: at the present shape.
        past: which.
        told: is told how many are filed.
    """
    with database.writing() as session:
        accounts = {
            name: make_account(
                session, name=name.lower().replace(" ", "."), shown_name=name, roles=["technician"],
                secret=None, now=END,
            ).id
            for name in technicians()
        }  # fmt: skip
    done = 0
    rebuilds = past.rebuilds(accounts)
    while some := list(islice(rebuilds, _AT_ONCE)):
        with database.writing() as session:
            file_new(session, some)
        told(done := done + len(some))
    return done
