"""TLS while the server runs: its certificate looked at every day, and renewed without a restart."""

from __future__ import annotations

import logging
import ssl
import threading
from collections.abc import Callable
from datetime import datetime
from pathlib import Path

from api.tls.local_ca import Authority, open_authority
from api.tls.machine_names import Names, address_of, names_of_machine
from api.tls.server_certificate import server_certificate, tls_context
from shared.errors import SettingError

#: Of the data folder.
FOLDER = "tls"
_EVERY_S = 86_400.0


class TlsWatch:
    """Authority, certificate and TLS context of a server.

    Args:
        folder: data folder of the shop.
        host: where the server listens.
        clock: gives the moment.

    Raises:
        SettingError: the authority does not count for where the server listens.
        SigningError, OutputUnwritable: as :func:`open_authority`.
    """

    def __init__(self, folder: Path, host: str, clock: Callable[[], datetime]) -> None:
        self._folder, self._host, self._clock = folder / FOLDER, host, clock
        self._folder.mkdir(mode=0o700, exist_ok=True)
        own = names_of_machine(host)
        self.authority: Authority = open_authority(self._folder, own, address_of(host), clock())
        self.names: Names = self._counted()
        self.context: ssl.SSLContext = tls_context(self._certificate())
        self._stop = threading.Event()
        self._thread = threading.Thread(target=self._run, name="certificate", daemon=True)

    def look(self) -> None:
        """Renew the certificate where it is time, or the machine has other addresses; connections go on."""
        self.names = self._counted()
        self.context.load_cert_chain(self._certificate())

    def start(self) -> None:
        """Look every day from now on."""
        self._thread.start()

    def close(self) -> None:
        """Stop."""
        self._stop.set()
        if self._thread.is_alive():
            self._thread.join()

    def _counted(self) -> Names:
        """Return the machine's names as far as the authority counts for them."""
        names, given = self.authority.permitted(names_of_machine(self._host)), address_of(self._host)
        wanted = self._host.lower().rstrip(".") if given is None else str(given)
        if wanted not in names.shown() and not (given is not None and given.is_unspecified):
            raise SettingError(
                f"the shop's certificate authority was not made for {self._host}",
                where=str(self._folder),
                expected="a name or address that it was made for, or a private one",
                remedy="listen at another, or move the folder away: every phone must install a new one",
            )
        return names

    def _certificate(self) -> Path:
        return server_certificate(self._folder, self.authority, self.names, self._clock())

    def _run(self) -> None:
        while not self._stop.wait(_EVERY_S):
            try:
                self.look()
            except Exception:
                logging.getLogger(__name__).exception("certificate_not_renewed")
