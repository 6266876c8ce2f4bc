"""The job sheet: what one pump type's rebuild wants measured, decided, photographed and done.

A sheet is data that a shop writes (YAML, one file a pump type); :func:`load_job_sheet` reads and
checks it. Limits are :class:`decimal.Decimal` in the unit of their item.
"""

from __future__ import annotations

from collections.abc import Iterator
from difflib import get_close_matches
from functools import cached_property
from pathlib import Path
from typing import Annotated, Any

from pydantic import BeforeValidator, Field, ValidationError, model_validator

from shared.errors import SheetInvalid, SheetNotFound
from shared.position_names import complete_positions
from shared.sheet_entries import (
    BareUnits,
    Caution,
    Consumable,
    Fastener,
    Part,
    Reading,
    SheetEntry,
    Spoken,
    Step,
    WantedPhoto,
    as_list,
    words_of,
)
from shared.sheet_problems import doubts_of, problems_of
from shared.sheet_source import SheetSource, read_sheet_source

SHIPPED_SHEETS = Path(__file__).parent / "sheets"


def _positions(value: Any) -> Any:
    if isinstance(value, dict):
        return {str(key): as_list(forms) for key, forms in value.items()}
    return value


class JobSheet(SheetEntry):
    """One pump type's job sheet, checked."""

    id: Annotated[str, Field(min_length=1, pattern=r"^[A-Za-z0-9][A-Za-z0-9._-]*$")]
    title: Annotated[str, Field(min_length=1)]
    revision: str | None = None
    units: BareUnits
    positions: Annotated[dict[str, list[Spoken]], BeforeValidator(_positions)] = {}
    readings: list[Reading] = []
    fasteners: list[Fastener] = []
    parts: list[Part] = []
    consumables: list[Consumable] = []
    photos: list[WantedPhoto] = []
    steps: list[Step] = []
    cautions: list[Caution] = []

    @model_validator(mode="after")
    def _every_position_has_a_name(self) -> JobSheet:
        used = [position for entry in (*self.readings, *self.fasteners) for position in entry.positions]
        # The model is frozen for everybody else; here it is still being made.
        self.__dict__["positions"] = complete_positions(self.positions, used)
        return self

    @model_validator(mode="after")
    def _hangs_together(self) -> JobSheet:
        # Raised as one error with the path of each finding, so that all show at once.
        problems = problems_of(self)
        if problems:
            raise ValueError("\n".join(f"{'.'.join(map(str, path))}|{text}" for path, text in problems))
        return self

    @cached_property
    def measured(self) -> dict[str, Reading | Fastener]:
        """All items that take a number, readings and fasteners, by item name, in sheet order."""
        entries: list[Reading | Fastener] = [*self.readings, *self.fasteners]
        return {entry.item: entry for entry in entries}

    @cached_property
    def part_names(self) -> dict[str, Part]:
        """Parts by name, in sheet order."""
        return {entry.part: entry for entry in self.parts}

    def spoken_positions(self, position: str) -> tuple[str, ...]:
        """Return what a position is called aloud."""
        return tuple(self.positions.get(position) or (words_of(position),))

    def place_of(self, position: str, item: str | None = None) -> str:
        """Return what a position is called where one item is measured.

        The first spoken form, unless another begins with a word of the item's name: the first of
        "stage one, rod one" is "rod one" at the tie rods.
        """
        forms = self.spoken_positions(position)
        entry = self.measured.get(item or "")
        phrases = (*(entry.spoken if entry else ()), words_of(item or ""))
        named = {word for phrase in phrases for word in phrase.split()}
        return next((form for form in forms if form.split()[0] in named), forms[0])

    def covered_by(self, part: str) -> tuple[str, ...]:
        """Return the parts that a decision on ``part`` decides too (components of components)."""
        seen: list[str] = []
        queue = list(self.part_names[part].components) if part in self.part_names else []
        while queue:
            name = queue.pop(0)
            if name not in seen and name != part:
                seen.append(name)
                if name in self.part_names:
                    queue.extend(self.part_names[name].components)
        return tuple(seen)

    def phrases(self) -> Iterator[str]:
        """Yield every spoken form on the sheet."""
        for group in (
            self.readings, self.fasteners, self.parts, self.consumables, self.photos, self.steps,
        ):  # fmt: skip
            for entry in group:
                yield from entry.spoken
        for position in self.positions:
            yield from self.spoken_positions(position)


def shipped_sheet_ids() -> tuple[str, ...]:
    """Return the ids of the sheets that come with the program, sorted."""
    return tuple(sorted(path.stem for path in SHIPPED_SHEETS.glob("*.yaml")))


def find_sheet(name: str | Path) -> Path:
    """Return the file of a shipped id or a path.

    Raises:
        SheetNotFound: neither.
    """
    shipped = SHIPPED_SHEETS / f"{name}.yaml"
    if isinstance(name, str) and name in shipped_sheet_ids():
        return shipped
    path = Path(name)
    if path.is_file():
        return path
    shipped_ids = shipped_sheet_ids()
    near = get_close_matches(str(name), shipped_ids, n=1)
    raise SheetNotFound(
        f"no job sheet {str(name)!r}",
        expected="a file or one of " + ", ".join(shipped_ids),
        remedy=f"did you mean {near[0]}?" if near else "see: witnessmark sheet list",
    )


def load_job_sheet(name: str | Path) -> JobSheet:
    """Load a job sheet from a path or by the id of a shipped one.

    Raises:
        SheetNotFound: no such file or id.
        SheetInvalid: wrong content; the message names file, line, field and what was expected,
            ``problems`` holds one such line for each finding.
    """
    return check_job_sheet(read_sheet_source(find_sheet(name)))


def check_job_sheet(source: SheetSource) -> JobSheet:
    """Validate a parsed sheet.

    Raises:
        SheetInvalid: as :func:`load_job_sheet`.
    """
    if not isinstance(source.content, dict):
        raise SheetInvalid(
            "the sheet is no mapping", where=source.where(()), expected="fields such as id, title, units"
        )
    try:
        return JobSheet.model_validate(source.content)
    except ValidationError as exc:
        raise _sheet_invalid(source, exc) from exc


def sheet_doubts(source: SheetSource, sheet: JobSheet) -> tuple[str, ...]:
    """Return what is probably a slip in a sheet that works, one line each with file and line."""
    named = source.content.get("positions") if isinstance(source.content, dict) else None
    doubts = doubts_of(sheet, tuple(named) if isinstance(named, dict) else ())
    return tuple(f"{source.where(path)}: {_field(path)}: {text}" for path, text in doubts)


def _sheet_invalid(source: SheetSource, error: ValidationError) -> SheetInvalid:
    placed: list[tuple[int, str]] = []
    for item in error.errors(include_url=False):
        path: tuple[str | int, ...] = tuple(int(p) if isinstance(p, int) else str(p) for p in item["loc"])
        message = item["msg"].removeprefix("Value error, ")
        if not path and "|" in message:
            for line in message.split("\n"):
                dotted, _, text = line.partition("|")
                at = tuple(int(p) if p.isdigit() else p for p in dotted.split(".")) if dotted else ()
                placed.append((source.line_of(at), f"{source.where(at)}: {_field(at)}: {text}"))
            continue
        if item["type"] == "model_type" or item["type"] == "dict_type":
            message = "expected fields below it, such as length: in" if path == ("units",) else _FIELDS_BELOW
        if item["type"] == "extra_forbidden":
            near = get_close_matches(str(path[-1]), _field_names(), n=1)
            message += f" (did you mean {near[0]}?)" if near else ""
        given = item.get("input")
        shown = f" (got {given!r})" if isinstance(given, str) and len(given) < 60 else ""
        text = f"{source.where(path)}: {_field(path)}: {_plain(message)}{shown}"
        placed.append((source.line_of(path), text))
    found = [text for _, text in sorted(placed, key=lambda one: one[0])]
    more = f" (and {len(found) - 1} more)" if len(found) > 1 else ""
    return SheetInvalid(found[0] + more, remedy="see: witnessmark sheet check", problems=tuple(found))


def _field_names() -> list[str]:
    """Return the names of all fields of a sheet and of its entries, as they stand in the file."""
    models = (JobSheet, Reading, Fastener, Part, Consumable, WantedPhoto, Step, Caution)
    return [field.alias or name for model in models for name, field in model.model_fields.items()]


def _field(path: tuple[str | int, ...]) -> str:
    text = ""
    for part in path:
        text += f"[{part}]" if isinstance(part, int) else (f".{part}" if text else part)
    return text or "sheet"


_FIELDS_BELOW = "expected fields below it, name: value"


def _plain(message: str) -> str:
    replacements = {
        "Field required": "is missing",
        "Extra inputs are not permitted": "is no field here, check its spelling or remove it",
        "Input should be": "expected",
    }
    for old, new in replacements.items():
        message = message.replace(old, new)
    return message
