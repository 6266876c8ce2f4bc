from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from api.store.database import Database, database_url
from api.store.migrating import migrate


@pytest.fixture(params=["sqlite", "postgresql"])
def shop_url(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """The database of a shop, of each kind that there is."""
    if request.param == "sqlite":
        return database_url(tmp_path, None)
    url: str = request.getfixturevalue("postgresql_url")
    return url


@pytest.fixture
def database(shop_url: str) -> Iterator[Database]:
    opened = Database(shop_url)
    migrate(opened)
    yield opened
    opened.close()
