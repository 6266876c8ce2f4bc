"""Options that several commands share."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, TypeVar

import click

_Command = TypeVar("_Command", bound=Callable[..., Any])

strict_option = click.option(
    "--strict", is_flag=True, help="Exit with status 1 when there are deviations or questions."
)


def job_options(command: _Command) -> _Command:
    """Add what whoever starts the work may know of the job; it goes before what is said."""
    for name, text in (
        ("technician", "Who narrates."),
        ("pump-serial", "Serial number of the pump."),
        ("pump-tag", "Tag number of the pump."),
        ("work-order", "Number of the work order."),
    ):
        command = click.option(f"--{name}", help=text)(command)
    return command
