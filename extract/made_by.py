"""What a record says it was made by."""

from __future__ import annotations

import hashlib

from shared.job_sheet import JobSheet
from shared.lexicon import lexicon_sha256
from shared.record import MadeBy

VERSION = "0.1.0"


def made_by(sheet: JobSheet, engine: str) -> MadeBy:
    """Return the version, the engine and the hashes of lexicon and sheet."""
    sha256 = hashlib.sha256(sheet.model_dump_json(by_alias=True).encode()).hexdigest()
    return MadeBy(version=VERSION, engine=engine, hashes={"lexicon": lexicon_sha256(), "sheet": sha256})
