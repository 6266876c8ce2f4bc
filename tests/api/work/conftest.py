from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from api.store.database import Database, database_url
from tests.present_shape import lay_present_shape


@pytest.fixture(params=["sqlite", "postgresql"])
def shop_url(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """The database of a shop, of each kind that there is, in its present shape."""
    if request.param == "sqlite":
        lay_present_shape(tmp_path)
        return database_url(tmp_path, None)
    url: str = request.getfixturevalue("postgresql_url")
    return url


@pytest.fixture
def database(shop_url: str) -> Iterator[Database]:
    opened = Database(shop_url)
    yield opened
    opened.close()
