"""A record that was made before, read from its file."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from pydantic import BaseModel, Field, ValidationError

from api.record_versions import record_from
from shared.errors import SettingError
from shared.record import RebuildRecord

#: A day of talk makes some hundred kilobytes; a file a hundred times that is something else.
_MOST_BYTES = 50_000_000
_SIGNED = "signed-record/1"


class _Head(BaseModel):
    schema_: str = Field(default="", alias="schema")


class _Signed(BaseModel):
    record: dict[str, Any]


def read_record(name: str | Path) -> RebuildRecord:
    """Return the record in a file, or in a signed record's file, whose signature is not checked here.

    Raises:
        SettingError: no such file, or too large.
        RecordForeign: no record of this contract, nor one that can be brought to it.
    """
    path = Path(name)
    if not path.is_file():
        raise SettingError("no such record", where=str(name), expected="a record.json")
    if path.stat().st_size > _MOST_BYTES:
        raise SettingError(
            "too large for a record", where=str(name), expected=f"at most {_MOST_BYTES // 10**6} MB"
        )
    data = path.read_bytes()
    try:
        if _Head.model_validate_json(data).schema_ == _SIGNED:
            data = json.dumps(_Signed.model_validate_json(data).record).encode()
    except ValidationError:
        pass  # What is wrong with it is said below.
    return record_from(data, where=str(name))
