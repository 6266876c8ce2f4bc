from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest
from argon2 import PasswordHasher

from api.store.accounts import make_account
from api.store.database import Database, database_url
from api.store.tables import Account
from tests.present_shape import lay_present_shape

NOON = datetime(2026, 3, 4, 12, 0, tzinfo=UTC)


@pytest.fixture(autouse=True)
def _quick_hashes(monkeypatch: pytest.MonkeyPatch) -> None:
    # Slow on purpose where it counts; the form of what is kept is the same.
    monkeypatch.setattr(
        "api.store.secrets._HASHER", PasswordHasher(time_cost=1, memory_cost=8, parallelism=1)
    )


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


@pytest.fixture
def reviewer(database: Database) -> Account:
    with database.writing() as session:
        return make_account(
            session,
            name="Ines",
            shown_name="Ines Holm",
            roles=["reviewer"],
            secret="a long enough one",
            now=NOON,
        )
