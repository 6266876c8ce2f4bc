"""Archive rows of invented rebuilds, as filing leaves them."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from api.store.database import Database, database_url
from tests.api.history.filed import Archive
from tests.present_shape import lay_present_shape


@pytest.fixture
def database(tmp_path: Path) -> Iterator[Database]:
    lay_present_shape(tmp_path)
    opened = Database(database_url(tmp_path, None))
    yield opened
    opened.close()


@pytest.fixture
def archive(database: Database) -> Iterator[Archive]:
    with database.writing() as session:
        yield Archive(session)
