"""The server: the shop's folder and database opened, the set-up link told, requests answered."""

from __future__ import annotations

import logging
from collections.abc import Callable
from pathlib import Path

import uvicorn

from api.store.accounts import is_first_run
from api.store.database import Database, database_url
from api.store.migrating import migrate
from api.web.app import make_app
from api.web.shop import Shop
from api.work_folder import held_folder
from shared.errors import OutputUnwritable
from shared.settings import Settings

#: The file by which a data folder is known.
MARK = "shop.txt"
_SAID = "Data folder of witnessmark serve. Copy it while the server is stopped.\n"


def open_shop(settings: Settings, folder: Path) -> Shop:
    """Open the database of a data folder that this process holds, and bring it to the present shape.

    Raises:
        StoreUnusable, StoreBusy: the database cannot be used.
    """
    database = Database(database_url(folder, settings.database_url))
    migrate(database)
    return Shop(database, folder, settings)


def serve(
    settings: Settings, folder: Path, *, host: str, port: int, tell: Callable[[str, str], None]
) -> None:
    """Answer requests until interrupted.

    Args:
        settings: of the shop.
        folder: data folder; made where it is not there.
        host: address to listen at.
        port: TCP port.
        tell: is told what it is about and in one line where the server is (serving), and the link that
            sets it up while nobody keeps accounts (set_up).

    Raises:
        OutputForeign, OutputBusy, OutputUnwritable: the folder cannot be used.
        StoreUnusable, StoreBusy: the database cannot be used.
    """
    with held_folder(folder, MARK):
        _mark(folder)
        shop = open_shop(settings, folder)
        address = f"http://{'localhost' if host in ('127.0.0.1', '::1', '0.0.0.0') else host}:{port}"  # noqa: S104
        tell("serving", f"serving {folder} at {address}")
        with shop.database.reading() as session:
            if is_first_run(session):
                tell("set_up", f"nobody keeps accounts yet; open {address}/set-up/{shop.set_up_token}")
        logging.getLogger(
            "uvicorn.access"
        ).disabled = True  # addresses carry tokens, and nobody's ways are logged
        app = make_app(shop)
        server = uvicorn.Server(
            uvicorn.Config(app, host=host, port=port, log_level="warning", ws="websockets-sansio")
        )
        app.state.keeper.start()
        try:
            server.run()
        finally:
            app.state.keeper.close()
            app.state.desk.close()
            shop.database.close()
        if not server.started:
            raise OutputUnwritable(
                f"port {port} of {host} cannot be listened at",
                remedy="another server has it; choose with --port",
            )


def _mark(folder: Path) -> None:
    mark = folder / MARK
    if not mark.exists():
        mark.write_text(_SAID, encoding="utf-8")
