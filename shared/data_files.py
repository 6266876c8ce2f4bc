"""Reading our own data files (YAML): quick, since every command waits for them."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import yaml

#: libyaml's parser reads the same nine times as fast; the wheels hold it, a build from source may not.
_LOADER = getattr(yaml, "CSafeLoader", yaml.SafeLoader)


def read_data(path: Path) -> Any:
    """Return what a YAML file of the package holds, as plain data."""
    return yaml.load(path.read_text(encoding="utf-8"), Loader=_LOADER)  # noqa: S506 - both are safe loaders
