"""Archive rows of invented rebuilds, as filing leaves them."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from api.store.database import Database, database_url
from api.store.migrating import migrate
from tests.api.history.filed import Archive


@pytest.fixture
def database(tmp_path: Path) -> Iterator[Database]:
    opened = Database(database_url(tmp_path, None))
    migrate(opened)
    yield opened
    opened.close()


@pytest.fixture
def archive(database: Database) -> Iterator[Archive]:
    with database.writing() as session:
        yield Archive(session)
