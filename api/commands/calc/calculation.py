"""What the calc commands share: amounts as parameters, and a calculation as a command."""

from __future__ import annotations

import functools
import json
import sys
from collections.abc import Callable
from fractions import Fraction
from typing import Any, TypeVar

import click

from api.screen import printable
from api.worked_text import method_help, worked_json, worked_lines
from extract.shop.amounts import Amount, parse_amount, parse_number, unit_named
from extract.shop.method import Method, Worked
from shared.errors import SettingError

_Read = TypeVar("_Read")


class AmountType(click.ParamType[Amount]):
    """A number with a unit of one kind."""

    def __init__(self, kind: str) -> None:
        self.kind = kind
        self.name = kind

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Amount:
        """Read it; the refusal names the option."""
        return value if isinstance(value, Amount) else _named(parse_amount, value, self.kind, param)


class NumberType(click.ParamType[Fraction]):
    """A plain number, exact."""

    name = "number"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Fraction:
        """Read it; the refusal names the option."""
        return (
            value
            if isinstance(value, Fraction)
            else _named(lambda text, _: parse_number(text), value, "", param)
        )


class UnitType(click.ParamType[str]):
    """A unit of one kind."""

    name = "unit"

    def __init__(self, kind: str) -> None:
        self.kind = kind

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> str:
        """Read it; the refusal names the option."""
        return _named(unit_named, value, self.kind, param)


def _named(read: Callable[[str, str], _Read], value: Any, kind: str, param: click.Parameter | None) -> _Read:
    try:
        return read(str(value), kind)
    except SettingError as exc:
        where = param.opts[0] if param is not None else ""
        raise SettingError(exc.what, where=where, expected=exc.expected, remedy=exc.remedy) from exc


LENGTH = AmountType("length")
NUMBER = NumberType()


def calculation(method: Method) -> Callable[[Callable[..., Worked]], click.Command]:
    """Make a command of a function that works something out; its help is the method."""

    def made(work: Callable[..., Worked]) -> click.Command:
        @functools.wraps(work)
        def run(as_json: bool, **given: Any) -> None:
            worked = work(**given)
            if as_json:
                click.echo(json.dumps(worked_json(worked), indent=2, ensure_ascii=False))
            else:
                click.echo("\n".join(printable(line, sys.stdout.encoding) for line in worked_lines(worked)))

        command = click.command(method.name, help=method_help(method, work.__doc__ or ""))(run)
        command.params.append(json_flag())
        return command

    return made


def json_flag() -> click.Option:
    """Return the option ``--json``, to stand last."""
    return click.Option(["--json", "as_json"], is_flag=True, help="Print JSON.")


def only_one(**given: object) -> str:
    """Return the name of the one option that was given.

    Raises:
        SettingError: none or several were.
    """
    named = [name for name, value in given.items() if value is not None]
    options = " or ".join("--" + name.replace("_", "-") for name in given)
    if len(named) != 1:
        raise SettingError("none given" if not named else "more than one given", expected=f"one of {options}")
    return named[0]


def together(**given: object) -> bool:
    """Tell whether options that belong together were given, all or none.

    Raises:
        SettingError: some were, some not.
    """
    missing = ["--" + name.replace("_", "-") for name, value in given.items() if value is None]
    if missing and len(missing) < len(given):
        raise SettingError(f"{' and '.join(missing)} missing", expected="options that belong together")
    return not missing
