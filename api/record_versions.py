"""Records of other versions of the contract: brought to the present one as they are read, or refused.

What was signed is never rewritten; what is brought up is what this program works with. A version of the
program may add fields to ``rebuild-record/1`` that have a default: older records are read as they are, and
one of a newer program with a field that nobody here knows is refused, since what it says could be lost.
"""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Mapping
from typing import Any

from pydantic import ValidationError

from api.json_damage import json_damage
from api.version import program_version
from shared.errors import RecordForeign
from shared.record import SCHEMA_NAME, RebuildRecord

Step = Callable[[dict[str, Any]], dict[str, Any]]
#: From a version of the contract to the next one. ``rebuild-record/1`` is the first: nothing is before it.
STEPS: Mapping[str, Step] = {}


def record_from(data: str | bytes, *, where: str = "", steps: Mapping[str, Step] = STEPS) -> RebuildRecord:
    """Return the record that JSON holds, of the present contract or of one that can be brought to it.

    Args:
        data: JSON.
        where: it was found, for the message.
        steps: by the version that they start from; each returns the next version's JSON.

    Raises:
        RecordForeign: it is no record, of a version that is not known here, or has what is not known here.
    """
    try:
        return RebuildRecord.model_validate_json(data)
    except ValidationError as exc:
        told = _object(data, where)
        if told.get("schema") == SCHEMA_NAME:
            raise _refused(exc, told, where) from exc
    told = _brought_up(told, where, steps)
    try:
        return RebuildRecord.model_validate(told)
    except ValidationError as exc:
        raise _refused(exc, told, where) from exc


def _object(data: str | bytes, where: str) -> dict[str, Any]:
    try:
        told = json.loads(data)
    except ValueError as exc:
        raise RecordForeign(json_damage(data, exc), where=where, expected=_EXPECTED) from exc
    if not isinstance(told, dict):
        raise RecordForeign("this is no record", where=where, expected=_EXPECTED)
    return told


def _brought_up(told: dict[str, Any], where: str, steps: Mapping[str, Step]) -> dict[str, Any]:
    while (schema := told.get("schema")) != SCHEMA_NAME:
        step = steps.get(schema) if isinstance(schema, str) else None
        if step is None:
            raise RecordForeign(
                f"a record of {schema!r}" if schema is not None else "it names no schema",
                where=where, expected=_EXPECTED,
                remedy="bring this program up to date" if _newer(str(schema)) else "",
            )  # fmt: skip
        told = step(told)
    return told


def _refused(exc: ValidationError, told: dict[str, Any], where: str) -> RecordForeign:
    first = exc.errors(include_url=False)[0]
    at = ".".join(str(part) for part in first["loc"]) or "the file"
    made_by = told.get("made_by")
    version = made_by.get("version") if isinstance(made_by, dict) else None
    if first["type"] == "extra_forbidden" and version != program_version():
        return RecordForeign(
            f"{at} is not known here", where=where,
            expected=f"a record of version {program_version()}; this one is of {version}",
            remedy="read it with the version that wrote it, or a newer one",
        )  # fmt: skip
    return RecordForeign(f"{at}: {first['msg']}", where=where, expected=_EXPECTED)


def _newer(schema: str) -> bool:
    ours, theirs = _number(SCHEMA_NAME), _number(schema)
    return theirs is not None and ours is not None and theirs > ours


def _number(schema: str) -> int | None:
    found = re.fullmatch(r"rebuild-record/(\d{1,6})", schema)
    return int(found[1]) if found else None


_EXPECTED = f"a record of {SCHEMA_NAME}"
