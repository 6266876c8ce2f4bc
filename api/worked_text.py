"""A shop calculation for people and for programs: figures, notes, cautions, formula, sources."""

from __future__ import annotations

import textwrap
from typing import Any

from extract.shop.method import Figure, Method, Worked

_WIDTH = 100
_SYMBOLS = {
    "um": "µm", "uin": "µin", "ft_lb": "ft·lb", "in_lb": "in·lb", "N_m": "N·m", "degC": "°C", "degF": "°F",
    "deg": "°", "degF_diff": "°F difference", "g_mm": "g·mm", "oz_in": "oz·in", "mm2": "mm²", "in2": "in²",
    "m3_h": "m³/h", "L_min": "L/min", "kg_m3": "kg/m³", "psi_ft_min": "psi·ft/min", "bar_m_s": "bar·m/s",
    "MPa_m_s": "MPa·m/s", "MPa m/s": "MPa·m/s", "mm_s": "mm/s", "in_s": "in/s",
}  # fmt: skip
#: Sizes are told to the tenth of a micrometre; five figures would round a shaft of 50.0055 mm.
_SIZES = frozenset({"mm", "in"})
ADVISES = "A calculation advises; it does not authorise. The equipment maker's instructions come first."


def worked_lines(worked: Worked) -> list[str]:
    """Return a calculation line by line."""
    named = [
        (_words(figure.name), figure_text(figure)) for figure in worked.figures if figure.value is not None
    ]
    width = max(len(name) for name, _ in named)
    lines = [worked.method.title, ""]
    lines += [f"  {name:<{width}}  {text}" for name, text in named]
    if worked.notes:
        lines += [""] + [line for note in worked.notes for line in _wrapped(note, "  - ", "    ")]
    lines += [""] + [line for text in worked.method.cautions for line in _wrapped(text, "! ", "  ")]
    lines += _wrapped(f"formula: {worked.method.formula}", "", "  ")
    lines += [line for source in worked.method.sources for line in _wrapped(f"source: {source}", "", "  ")]
    return [*lines, ADVISES]


def worked_json(worked: Worked) -> dict[str, Any]:
    """Return a calculation as plain data; figures by name, each with value and unit."""
    return {
        "calculation": worked.method.name,
        "title": worked.method.title,
        "figures": {f.name: {"value": f.value, "unit": f.unit} for f in worked.figures},
        "notes": list(worked.notes),
        "cautions": list(worked.method.cautions),
        **method_json(worked.method),
        "advises": ADVISES,
    }


def method_json(method: Method) -> dict[str, Any]:
    """Return how a calculation is done as plain data."""
    return {
        "formula": method.formula,
        "valid": method.valid,
        "sources": [{"text": source.text, "flag": source.flag} for source in method.sources],
    }


def method_help(method: Method, use: str) -> str:
    """Return what ``--help`` says of a calculation: title, use, formula, validity, sources, cautions.

    Args:
        use: what its arguments are.
    """
    parts = [
        f"{method.title}.",
        " ".join(use.split()),
        f"Formula: {method.formula}.",
        f"Valid: {method.valid}.",
    ]
    parts += [f"Source: {source}." for source in method.sources]
    return "\n\n".join([*parts, *(f"Caution: {text}" for text in method.cautions)])


def figure_text(figure: Figure) -> str:
    """Return a figure as people write it, with five or, for sizes, seven significant digits."""
    value = figure.value
    shown = f"{value:.{7 if figure.unit in _SIZES else 5}g}" if isinstance(value, float) else str(value)
    return f"{shown} {_SYMBOLS.get(figure.unit, figure.unit)}".rstrip()


def _words(name: str) -> str:
    return name.replace("_", " ")


def _wrapped(text: str, first: str, then: str) -> list[str]:
    return textwrap.wrap(text, _WIDTH, initial_indent=first, subsequent_indent=then)
