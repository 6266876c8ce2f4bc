"""What every test may use. ``fixtures/`` at the top of the tree is data; these are pytest fixtures."""

from __future__ import annotations

import shutil

import pytest


def need_program(name: str) -> str:
    """Return the path of a system program, or skip by its name (``.ci/run`` installs them all)."""
    found = shutil.which(name)
    if found is None:
        pytest.skip(f"needs the system program {name}")
    return found
