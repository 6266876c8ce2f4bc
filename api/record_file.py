"""A record that was made before, read from its file."""

from __future__ import annotations

from pathlib import Path

from pydantic import BaseModel, Field, ValidationError

from shared.errors import SettingError
from shared.record import SCHEMA_NAME, RebuildRecord

#: A day of talk makes some hundred kilobytes; a file a hundred times that is something else.
_MOST_BYTES = 50_000_000
_SIGNED = "signed-record/1"


class _Head(BaseModel):
    schema_: str = Field(default="", alias="schema")


class _Signed(BaseModel):
    record: RebuildRecord


def read_record(name: str | Path) -> RebuildRecord:
    """Return the record in a file, or in a signed record's file, whose signature is not checked here.

    Raises:
        SettingError: no such file, too large, or no record of this contract.
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
            return _Signed.model_validate_json(data).record
        return RebuildRecord.model_validate_json(data)
    except ValidationError as exc:
        first = exc.errors(include_url=False)[0]
        at = ".".join(str(part) for part in first["loc"]) or "the file"
        raise SettingError(
            f"{at}: {first['msg']}", where=str(name), expected=f"a record of {SCHEMA_NAME}"
        ) from exc
