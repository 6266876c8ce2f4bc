"""Which gauge a reading was taken with, where it is said."""

from __future__ import annotations

from functools import lru_cache

from extract.heard import Heard
from extract.spelled_codes import code_after
from shared.job_sheet import JobSheet

_KINDS = {
    "feeler": ("feeler", "feelers", "feeler gauge", "feeler gauges"),
    "dial indicator": ("dial indicator", "indicator", "dial", "clock gauge", "dial gauge"),
    "micrometer": ("micrometer", "mic", "mike"),
    "caliper": ("caliper", "calipers", "calliper", "callipers", "vernier"),
    "torque wrench": ("torque wrench", "wrench"),
    "thermometer": ("thermometer", "temp gun", "contact thermometer"),
    "pressure gauge": ("pressure gauge", "test gauge"),
}
_NUMBERED = (("number",), ("tag",), ("serial",), ("s", "/", "n"))


def read_gauge(sheet: JobSheet, heard: Heard) -> dict[str, str]:
    """Return gauges said to be in use: the sheet's kind of gauge to what it is called aloud.

    Only a gauge that is told apart by a number is kept; that a feeler reads a clearance says nothing.
    """
    norms = [token.norm for token in heard.tokens]
    said = set(norms)
    kinds = {entry.gauge for entry in sheet.measured.values() if entry.gauge}
    found: dict[str, str] = {}
    for kind in sorted(kinds):
        for words in _names_of(kind):
            if not said.issuperset(words):
                continue
            at = next((i for i in range(len(norms)) if tuple(norms[i : i + len(words)]) == words), None)
            if at is None:
                continue
            for noun in _NUMBERED:
                code = code_after(heard.tokens[at:], noun)
                if code is not None:
                    found[kind] = f"{kind} {code}"
            break
    return found


@lru_cache(maxsize=1024)  # as many kinds of gauge as shops may write down
def _names_of(kind: str) -> tuple[tuple[str, ...], ...]:
    """Return what a gauge is called, each name in words."""
    names = [kind, *(form for base, forms in _KINDS.items() if base in kind for form in forms)]
    return tuple(tuple(name.split()) for name in dict.fromkeys(names))
