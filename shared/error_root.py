"""The root of the error tree (``errors.py``): what every error says, and how it travels between processes."""

from __future__ import annotations

from typing import ClassVar


class RebuildError(Exception):
    """Root of the tree. ``str()`` is one line fit for standard error."""

    code: ClassVar[str] = "rebuild-error"

    def __init__(self, what: str, *, where: str = "", expected: str = "", remedy: str = "") -> None:
        super().__init__(what)
        self.what = what
        self.where = where
        self.expected = expected
        self.remedy = remedy

    def __str__(self) -> str:
        parts = [f"{self.where}: {self.what}" if self.where else self.what]
        if self.expected:
            parts.append(f"expected {self.expected}")
        if self.remedy:
            parts.append(self.remedy)
        return " ".join("; ".join(parts).split())

    def __reduce__(self) -> tuple[object, ...]:
        # Exceptions pickle by their positional arguments only; the fields travel as state.
        return (type(self), (self.what,), self.__dict__.copy())
