"""The server: the shop's folder and database opened, the set-up link told, requests answered."""

from __future__ import annotations

import errno
import logging
import os
import socket
from collections.abc import Callable
from pathlib import Path

import uvicorn

from api.data_folder import MARK, mark_folder
from api.operation.log_lines import log_event, write_json_lines
from api.store.accounts import is_first_run
from api.store.database import Database, database_url
from api.store.migrating import migrate
from api.tls.watch import TlsWatch
from api.version import program_version
from api.web.app import make_app
from api.web.readiness import make_ready_beside
from api.web.shop import Shop
from api.work_folder import held_folder
from shared.errors import OutputUnwritable
from shared.settings import Settings

_REMEDIES = {
    errno.EADDRINUSE: "another server has it; end that one, or choose another with --port",
    errno.EACCES: "ports below 1024 need more rights; choose another with --port",
}


def open_shop(settings: Settings, folder: Path) -> Shop:
    """Open the database of a data folder that this process holds, and bring it to the present shape.

    Raises:
        StoreUnusable, StoreBusy: the database cannot be used.
    """
    database = Database(database_url(folder, settings.database_url))
    migrate(database)
    return Shop(database, folder, settings)


def serve(
    settings: Settings,
    folder: Path,
    *,
    host: str,
    port: int,
    tell: Callable[[str, str], None],
    tls: bool = False,
) -> None:
    """Answer requests until interrupted.

    Args:
        settings: of the shop.
        folder: data folder; made where it is not there.
        host: address to listen at.
        port: TCP port.
        tell: is told what it is about and in one line: where the server is (serving), the fingerprint of the
            shop's authority (authority), the link that sets it up while nobody keeps accounts (set_up).
        tls: speak TLS with a certificate by the shop's own authority.

    Raises:
        OutputForeign, OutputBusy, OutputUnwritable: the folder cannot be used.
        OutputUnwritable: nothing can be listened to at this address, too.
        StoreUnusable, StoreBusy: the database cannot be used.
        SigningError, SettingError: the authority cannot be used.
    """
    _check_address(host, port)
    with held_folder(folder, MARK):
        mark_folder(folder)
        shop = open_shop(settings, folder)
        if tls:
            shop.tls = TlsWatch(folder, host, shop.now)
        _tell_where(shop, host, port, tell)
        _write_log(settings)
        app = make_app(shop)
        config = uvicorn.Config(app, host=host, port=port, log_config=None, ws="websockets-sansio")
        config.load()
        config.ssl = shop.tls.context if shop.tls else None
        server = uvicorn.Server(config)
        beside = [app.state.keeper, *([shop.tls] if shop.tls else [])]
        for one in beside:
            one.start()
        make_ready_beside(shop)
        try:
            server.run()
        finally:
            for one in beside:
                one.close()
            app.state.desk.close()
            app.state.orders.close()
            shop.database.close()


def _check_address(host: str, port: int) -> None:
    """Refuse an address before anybody is told of it; the server itself ends without a word for people."""
    try:
        found = socket.getaddrinfo(host, port, type=socket.SOCK_STREAM, flags=socket.AI_PASSIVE)
        for family, kind, protocol, _, address in found:
            with socket.socket(family, kind, protocol) as tried:
                if os.name == "posix":
                    tried.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
                tried.bind(address)
    except OSError as exc:
        remedy = _REMEDIES.get(exc.errno or 0, "choose with --host; 0.0.0.0 is every address of this machine")
        raise OutputUnwritable(
            f"port {port} of {host} cannot be listened at: {exc.strerror}", remedy=remedy
        ) from exc


def _write_log(settings: Settings) -> None:
    write_json_lines(settings.log_level)
    # Addresses carry tokens, and nobody's ways are logged.
    logging.getLogger("uvicorn.access").disabled = True
    log_event(logging.getLogger(__name__), logging.INFO, "started", version=program_version())


def _tell_where(shop: Shop, host: str, port: int, tell: Callable[[str, str], None]) -> None:
    name = "localhost" if host in ("127.0.0.1", "::1", "0.0.0.0", "::") else host  # noqa: S104
    address = f"{'https' if shop.tls else 'http'}://{f'[{name}]' if ':' in name else name}:{port}"
    tell("serving", f"serving {shop.folder} at {address}")
    if shop.tls:
        tell(
            "authority",
            f"phones install the certificate at {address}/install-certificate; its SHA-256 is "
            f"{shop.tls.authority.fingerprint}",
        )
    with shop.database.reading() as session:
        if is_first_run(session):
            tell("set_up", f"nobody keeps accounts yet; open {address}/set-up/{shop.set_up_token}")
