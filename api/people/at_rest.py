"""What people recorded, looked after from the command line: the server is stopped, its folder held."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path

from sqlalchemy import select
from sqlalchemy.orm import Session

from api.data_folder import MARK
from api.people.own_recordings import Held, about, ask_erasure, export_pieces, note_export, recordings_by
from api.people.retention import Passed, Retention
from api.store.database import Database
from api.store.tables import Account
from api.web.serving import open_shop
from api.work_folder import held_folder
from shared.errors import NotKept, OutputForeign, OutputUnwritable
from shared.settings import Settings


class AtRest:
    """A shop whose server is stopped.

    Args:
        database: of the shop.
        folder: data folder.
        settings: of the shop.
    """

    def __init__(self, database: Database, folder: Path, settings: Settings) -> None:
        self._database, self._folder = database, folder
        self._retention = Retention(database, folder, settings)

    def of(self, name: str) -> tuple[Account, list[Held]]:
        """Return an account and what it recorded.

        Raises:
            NotKept: no such account.
        """
        with self._database.reading() as session:
            account = _account(session, name)
            return account, recordings_by(session, self._folder, account.id)

    def export(self, name: str, out: str) -> int:
        """Write a person's recordings into a ZIP file; return of how many.

        Raises:
            NotKept: no such account.
            OutputUnwritable: the file cannot be written.
        """
        with self._database.writing() as session:
            account = _account(session, name)
            held = recordings_by(session, self._folder, account.id)
            note_export(session, account, held, by=None, now=datetime.now(UTC))
            told = about(session, account, held)
        try:
            with Path(out).open("wb") as file:
                file.writelines(export_pieces(self._folder, told, held))
        except OSError as exc:
            raise OutputUnwritable(f"it cannot be written ({exc.strerror})", where=out) from exc
        return len(held)

    def erase(self, name: str) -> tuple[int, int]:
        """Have the sound of what a person recorded go; return of how many, and how many went at once.

        Raises:
            NotKept: no such account.
        """
        now = datetime.now(UTC)
        with self._database.writing() as session:
            account = _account(session, name)
            asked = ask_erasure(session, account, by=None, now=now)
        return asked, self._retention.apply(now, account_id=account.id).erased

    def expire(self) -> Passed:
        """Do what is due."""
        return self._retention.apply(datetime.now(UTC))


@contextmanager
def opened(settings: Settings, folder: Path) -> Iterator[AtRest]:
    """Hold a data folder and give what is in it.

    Raises:
        OutputForeign: no data folder of ours.
        OutputBusy: the server runs.
        StoreUnusable, StoreBusy: the database cannot be used.
    """
    if not (folder / MARK).exists():
        raise OutputForeign("this is no data folder of serve", where=str(folder), expected=f"one with {MARK}")
    with held_folder(folder, MARK):
        shop = open_shop(settings, folder)
        try:
            yield AtRest(shop.database, folder, settings)
        finally:
            shop.database.close()


def _account(session: Session, name: str) -> Account:
    found = session.scalar(select(Account).where(Account.name == name.strip().lower()))
    if found is None:
        raise NotKept(f"there is no account {name!r}")
    return found
