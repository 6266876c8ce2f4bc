"""Which version this is."""

from __future__ import annotations

from importlib.metadata import PackageNotFoundError, version


def program_version() -> str:
    """Return the installed version; ``0`` when run from a tree that was never installed."""
    try:
        return version("witnessmark")
    except PackageNotFoundError:
        return "0"
