"""The database brought to the shape that this version of the program writes (Alembic)."""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path

from alembic import command
from alembic.config import Config
from alembic.runtime.migration import MigrationContext
from alembic.script import ScriptDirectory
from alembic.util import CommandError
from sqlalchemy import Connection

from api.store.database import Database
from shared.errors import StoreUnusable

_MIGRATIONS = Path(__file__).parent / "migrations"


def migrate(database: Database) -> None:
    """Bring a database, empty or of an earlier version, to the present shape, or leave it as it is.

    Raises:
        StoreUnusable: a later version of the program wrote it.
        StoreBusy: another process holds it.
    """
    with database.writing() as session:
        connection = session.connection()
        # Most are: to have Alembic read all migrations again, only to run none, costs more than to ask.
        if MigrationContext.configure(connection).get_current_revision() != newest_shape():
            _upgrade(connection)


@lru_cache
def newest_shape() -> str:
    """Return the number of the newest shape."""
    return ScriptDirectory.from_config(_config()).get_current_head() or ""


def _upgrade(connection: Connection) -> None:
    config = _config()
    # Every change runs in the transaction that holds the lock: two servers starting at once take turns.
    config.attributes["connection"] = connection
    try:
        command.upgrade(config, "head")
    except CommandError as exc:
        raise StoreUnusable(
            f"the database is of another version of this program ({exc})", expected=f"shape {newest_shape()}",
            remedy="start the version that wrote it, or take a backup of this version",
        ) from exc  # fmt: skip


def _config() -> Config:
    config = Config()
    config.set_main_option("script_location", str(_MIGRATIONS).replace("%", "%%"))
    return config
