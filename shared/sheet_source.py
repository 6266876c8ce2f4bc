"""A job sheet as text: YAML read with the line of every field, so that an error can point at it."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import yaml

from shared.errors import SheetInvalid

Path_ = tuple[str | int, ...]
_LARGEST_SHEET_BYTES = 2_000_000
_QUICK_LOADER = getattr(yaml, "CSafeLoader", None)


class SheetSource:
    """The parsed content of one sheet with a line number (from 1) for every path in it."""

    def __init__(self, name: str, content: Any, lines: dict[Path_, int]) -> None:
        self.name = name
        self.content = content
        self._lines = lines

    def line_of(self, path: Path_) -> int:
        """Return the line of a field, or of the nearest thing around it that has one."""
        while path and path not in self._lines:
            path = path[:-1]
        return self._lines.get(path, 1)

    def where(self, path: Path_) -> str:
        """Return ``file:line`` for a field."""
        return f"{self.name}:{self.line_of(path)}"


def read_sheet_source(path: Path) -> SheetSource:
    """Read a YAML file.

    Raises:
        SheetInvalid: not readable, not UTF-8, not YAML, too large, or with a key twice.
    """
    try:
        if path.stat().st_size > _LARGEST_SHEET_BYTES:
            raise SheetInvalid(
                "the file is larger than any job sheet", where=path.name, expected="at most 2 MB"
            )
        text = path.read_text(encoding="utf-8")
    except UnicodeDecodeError as exc:
        raise SheetInvalid(
            f"not UTF-8 text (byte {exc.start})", where=path.name, expected="a YAML text file"
        ) from exc
    except OSError as exc:
        raise SheetInvalid(
            f"cannot be read: {exc.strerror or exc}", where=path.name, remedy="check the file and its rights"
        ) from exc
    return parse_sheet_source(text, path.name)


def parse_sheet_source(text: str, name: str) -> SheetSource:
    """Parse YAML text; ``name`` is what errors call it.

    Raises:
        SheetInvalid: not YAML, an alias in it, or a key twice.
    """
    try:
        node = _compose(text)
    except yaml.YAMLError as exc:
        mark = getattr(exc, "problem_mark", None)
        line = mark.line + 1 if mark else 1
        problem = getattr(exc, "problem", None) or "not valid YAML"
        raise SheetInvalid(
            f"not valid YAML: {problem}", where=f"{name}:{line}", remedy="mend the line or the one above it"
        ) from exc
    if node is None:
        raise SheetInvalid("the sheet is empty", where=name, expected="at least id, title and units")
    lines: dict[Path_, int] = {}
    content = _build(node, (), lines, name, set())
    return SheetSource(name, content, lines)


def _compose(text: str) -> yaml.Node | None:
    """Parse by libyaml where it is there, nine times as fast; the library's own words for what is wrong."""
    if _QUICK_LOADER is not None:
        try:
            return yaml.compose(text, Loader=_QUICK_LOADER)
        except yaml.YAMLError:
            pass
    return yaml.compose(text, Loader=yaml.SafeLoader)


def _build(node: yaml.Node, path: Path_, lines: dict[Path_, int], name: str, open_: set[int]) -> Any:
    lines[path] = node.start_mark.line + 1
    if id(node) in open_:
        raise SheetInvalid("an alias refers to itself", where=f"{name}:{lines[path]}")
    if isinstance(node, yaml.MappingNode):
        return _build_mapping(node, path, lines, name, open_ | {id(node)})
    if isinstance(node, yaml.SequenceNode):
        open_ = open_ | {id(node)}
        return [_build(item, (*path, n), lines, name, open_) for n, item in enumerate(node.value)]
    return _scalar(node)


def _build_mapping(
    node: yaml.MappingNode, path: Path_, lines: dict[Path_, int], name: str, open_: set[int]
) -> dict[str, Any]:
    built: dict[str, Any] = {}
    for key_node, value_node in node.value:
        # Keys are names: a bare 1 or on stays the word that the shop wrote.
        key = str(key_node.value)
        line = key_node.start_mark.line + 1
        if key in built:
            raise SheetInvalid(
                f"{key!r} stands twice",
                where=f"{name}:{line}",
                expected="each name once",
                remedy="remove one",
            )
        built[key] = _build(value_node, (*path, key), lines, name, open_)
        lines[(*path, key)] = line
    return built


def _scalar(node: yaml.Node) -> Any:
    # Numbers stay as written, so that 0.018 is eighteen thousandths and not the nearest double.
    if node.tag in ("tag:yaml.org,2002:null",):
        return None
    if node.tag == "tag:yaml.org,2002:bool" and node.value.lower() in ("true", "false"):
        return node.value.lower() == "true"
    return str(node.value)
