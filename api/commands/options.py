"""Options that several commands share."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, TypeVar

import click

_Command = TypeVar("_Command", bound=Callable[..., Any])

strict_option = click.option(
    "--strict", is_flag=True, help="Exit with status 1 when there are deviations or questions."
)


def _said(_ctx: click.Context, _param: click.Parameter, value: str | None) -> str | None:
    # An empty one, as a script's unset variable gives it, must not stand in the way of what is said aloud.
    return value.strip() or None if value else None


def job_options(command: _Command) -> _Command:
    """Add what whoever starts the work may know of the job; it goes before what is said."""
    for name, text in (
        ("technician", "Who narrates."),
        ("pump-serial", "Serial number of the pump."),
        ("pump-tag", "Tag number of the pump."),
        ("work-order", "Number of the work order."),
    ):
        command = click.option(f"--{name}", metavar="TEXT", callback=_said, help=text)(command)
    return command
