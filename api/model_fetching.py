"""Fetching a speech model into the local cache: the one thing that touches a network, and only on demand."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from fnmatch import fnmatch
from pathlib import Path
from typing import Protocol

from shared.errors import SettingError, WeightsMissing

#: What faster-whisper loads; nothing else is fetched.
_NEEDED = ("config.json", "preprocessor_config.json", "model.bin", "tokenizer.json", "vocabulary.*")


@dataclass(frozen=True)
class ModelOffer:
    """What would be fetched, to be shown before anything is."""

    name: str
    repository: str
    origin: str
    """Address of the collection and the repository in it."""
    revision: str
    """The exact state that will be fetched."""
    size_bytes: int
    licence: str
    """As its publisher states it; empty where it is not stated."""
    cache: str
    """Folder that it goes to."""


class ModelHub(Protocol):
    """Where models come from; the shipped one is :class:`PublicHub`."""

    def offer(self, name: str) -> ModelOffer:
        """Look up what a model is, from where and how large."""

    def fetch(self, offer: ModelOffer) -> Path:
        """Bring it into the local cache and return its folder."""


def fetch_model(hub: ModelHub, name: str, agree: Callable[[ModelOffer], bool]) -> Path | None:
    """Fetch a model if whoever asked agrees to what it is.

    Args:
        hub: where from.
        name: such as ``small.en``, or a repository of the hub.
        agree: is shown the offer first.

    Returns:
        The model's folder in the local cache, or None if not agreed.

    Raises:
        SettingError: no model of that name.
        WeightsMissing: it cannot be fetched.
    """
    offer = hub.offer(name)
    return hub.fetch(offer) if agree(offer) else None


class PublicHub:
    """The hub that faster-whisper's own models are published on."""

    def offer(self, name: str) -> ModelOffer:
        """Return what the hub holds under a name.

        Raises:
            SettingError: no model of that name.
            WeightsMissing: the hub cannot be asked.
        """
        from huggingface_hub import HfApi, constants

        repository = _repository(name)
        with _translated(name):
            info = HfApi().model_info(repository, files_metadata=True)
        files = [f for f in info.siblings or [] if any(fnmatch(f.rfilename, p) for p in _NEEDED)]
        return ModelOffer(
            name=name,
            repository=repository,
            origin=f"{constants.ENDPOINT}/{repository}",
            revision=info.sha or "main",
            size_bytes=sum(f.size or 0 for f in files),
            licence=str(info.card_data.license or "") if info.card_data else "",
            cache=str(constants.HF_HUB_CACHE),
        )

    def fetch(self, offer: ModelOffer) -> Path:
        """Bring exactly what was offered into the cache.

        Raises:
            WeightsMissing: it cannot be fetched.
        """
        from faster_whisper.utils import download_model

        with _translated(offer.name):
            return Path(download_model(offer.repository, revision=offer.revision))


def _repository(name: str) -> str:
    from faster_whisper import utils

    if "/" in name:
        return name
    if name not in utils.available_models():
        names = ", ".join(n for n in utils.available_models() if n.endswith(".en"))
        raise SettingError(f"no model {name!r}", expected=f"one such as {names}, or OWNER/REPOSITORY")
    repository: str = utils._MODELS[name]
    return repository


@contextmanager
def _translated(name: str) -> Iterator[None]:
    from huggingface_hub.errors import (  # type: ignore[attr-defined]  # HTTPError: of its web client
        HFValidationError,
        HTTPError,
        OfflineModeIsEnabled,
        RepositoryNotFoundError,
    )

    try:
        yield
    except (RepositoryNotFoundError, HFValidationError) as exc:
        raise SettingError(f"no model {name!r} there, or not a public one") from exc
    except (HTTPError, OfflineModeIsEnabled, OSError) as exc:
        first = str(exc).strip().splitlines() or [type(exc).__name__]
        raise WeightsMissing(
            f"the model {name!r} cannot be fetched: {first[0]}",
            remedy="go online, or bring its folder on a disk and give it with --model",
        ) from exc
