"""Recordings and what was made of them, kept by name in one place that all machines reach.

A local folder or an S3-compatible store, by one setting (obstore). What lies there by its content is checked
against it when it is fetched: a store may be full, cut off or somebody else's.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any
from urllib.parse import parse_qs, urlsplit

import obstore
from obstore.exceptions import BaseError
from obstore.store import LocalStore, S3Store

from shared.errors import MediaDamaged, MediaUnusable

if TYPE_CHECKING:
    from obstore.store import ClientConfig, RetryConfig

#: Read at once, bytes.
_PIECE = 1 << 20
_RETRIES: RetryConfig = {"max_retries": 4}
_EXPECTED = "a folder, or s3://bucket/prefix?endpoint=http://host:port&region=name"


class MediaStore:
    """Opened.

    Args:
        url: a folder, or ``s3://bucket/prefix`` with ``endpoint`` and ``region`` in its query. Who may use an
            S3 store stands in the environment (``AWS_ACCESS_KEY_ID``, ``AWS_SECRET_ACCESS_KEY``), not in it.

    Raises:
        MediaUnusable: no such kind of place.
    """

    def __init__(self, url: str) -> None:
        self.url = url
        with self._translated("it"):
            self._store: LocalStore | S3Store = _opened(url)

    def put(self, name: str, file: Path) -> str:
        """Keep a file under a name, in place of what was there, and return its SHA-256.

        Raises:
            MediaUnusable: it cannot be kept.
        """
        with self._translated(name):
            obstore.put(self._store, name, file)
        with file.open("rb") as opened:
            return hashlib.file_digest(opened, "sha256").hexdigest()

    def holds(self, name: str, size: int) -> bool:
        """Return whether something of that size (bytes) is kept under a name.

        Raises:
            MediaUnusable: the place cannot be asked.
        """
        with self._translated(name):
            try:
                return obstore.head(self._store, name)["size"] == size
            except FileNotFoundError:
                return False

    def sha256_of(self, name: str) -> str:
        """Read back what is kept under a name and return its SHA-256.

        Raises:
            MediaUnusable: it is not there or cannot be read.
        """
        digest = hashlib.sha256()
        for piece in self._pieces(name):
            digest.update(piece)
        return digest.hexdigest()

    def fetch(self, name: str, to: Path, *, sha256: str) -> None:
        """Write what is kept under a name into a file, whole or not at all.

        Args:
            name: of what is kept.
            to: the file; its folder is made.
            sha256: of what it must be.

        Raises:
            MediaDamaged: it is something else.
            MediaUnusable: it is not there or cannot be read.
        """
        to.parent.mkdir(parents=True, exist_ok=True)
        half = to.with_name(f".{to.name}.part")
        digest = hashlib.sha256()
        try:
            with half.open("wb") as file:
                for piece in self._pieces(name):
                    digest.update(piece)
                    file.write(piece)
            if digest.hexdigest() != sha256:
                raise MediaDamaged(
                    "what is kept there is not what was put there", where=f"{self.url} {name}",
                    remedy="take it from a backup",
                )  # fmt: skip
            half.replace(to)
        finally:
            half.unlink(missing_ok=True)

    def names(self, prefix: str = "") -> list[str]:
        """Return the names that begin with a folder's, in order.

        Raises:
            MediaUnusable: the place cannot be asked.
        """
        with self._translated(prefix):
            return sorted(one["path"] for page in obstore.list(self._store, prefix=prefix) for one in page)

    def _pieces(self, name: str) -> Iterator[bytes]:
        with self._translated(name):
            for piece in obstore.get(self._store, name).stream(min_chunk_size=_PIECE):
                yield bytes(piece)

    @contextmanager
    def _translated(self, name: str) -> Iterator[None]:
        try:
            yield
        except (BaseError, OSError, ValueError) as exc:
            what = "it is not there" if isinstance(exc, FileNotFoundError) else str(exc).splitlines()[0]
            raise MediaUnusable(
                f"media cannot be kept or read: {what}", where=f"{self.url} {name}", expected=_EXPECTED,
                remedy="check WITNESSMARK_MEDIA_URL, the network and who may use it",
            ) from exc  # fmt: skip


def recording_name(sha256: str) -> str:
    """Return the name that a recording is kept under: that of its content."""
    return f"recordings/{sha256[:2]}/{sha256}"


def _opened(url: str) -> LocalStore | S3Store:
    parts = urlsplit(url)
    if parts.scheme in ("", "file"):
        return LocalStore(Path(parts.path).absolute(), mkdir=True)
    if parts.scheme != "s3" or not parts.netloc:
        raise ValueError(f"{parts.scheme}:// is not known here")
    query = {name: values[-1] for name, values in parse_qs(parts.query).items()}
    if unknown := set(query) - {"endpoint", "region"}:
        raise ValueError(f"{min(unknown)} is not known here")
    rest: dict[str, Any] = dict(query)
    rest.setdefault("region", "us-east-1")
    # Only an address that says so itself is spoken to without TLS: one inside of the shop.
    plain = query.get("endpoint", "").startswith("http://")
    client: ClientConfig = {"connect_timeout": "10s", "timeout": "120s", "allow_http": plain}
    prefix = parts.path.strip("/") or None
    return S3Store(parts.netloc, prefix=prefix, client_options=client, retry_config=_RETRIES, **rest)
