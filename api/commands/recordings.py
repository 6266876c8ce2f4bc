"""``witnessmark recordings``: what people recorded, while the server is stopped."""

from __future__ import annotations

from typing import Any

import click

_data_option = click.option("--data", metavar="DIR", help="Data folder of serve (WITNESSMARK_DATA_DIR).")
_json_option = click.option("--json", "as_json", is_flag=True, help="Print JSON.")


@click.group("recordings", short_help="List, export, erase what people recorded.")
def command() -> None:
    """Look after what people recorded, while the server is stopped; its pages do the same while it runs."""


@command.command("list")
@click.argument("name")
@_data_option
@_json_option
def list_command(name: str, data: str | None, as_json: bool) -> None:
    """List what account NAME recorded, and what became of its sound."""
    with _opened(data) as shop:
        _, held = shop.of(name)
    if as_json:
        _print([_row(one) for one in held])
        return
    for one in held:
        click.echo(f"{one.work_order}  recording {one.number}  {one.begun_at:%Y-%m-%d %H:%M}  {one.sound}")


@command.command("export")
@click.argument("name")
@click.option("--out", metavar="FILE", required=True, help="ZIP file to write.")
@_data_option
@_json_option
def export_command(name: str, out: str, data: str | None, as_json: bool) -> None:
    """Write sound, kept words and answers of account NAME into one ZIP file."""
    with _opened(data) as shop:
        count = shop.export(name, out)
    if as_json:
        _print({"written": out, "recordings": count})
    else:
        click.echo(f"{out}: {count} recordings")


@command.command("erase")
@click.argument("name")
@click.option("--yes", is_flag=True, help="Do not ask.")
@_data_option
@_json_option
def erase_command(name: str, yes: bool, data: str | None, as_json: bool) -> None:
    """Erase the sound of what account NAME recorded; of jobs that are not signed yet once they are.

    Entries of records stay, with their words and the name: others rely on them.
    """
    if not yes:
        click.confirm(f"Erase the sound of {name}? It cannot be had back.", abort=True, err=True)
    with _opened(data) as shop:
        asked, erased = shop.erase(name)
    if as_json:
        _print({"asked": asked, "erased": erased})
    else:
        click.echo(f"{erased} erased; {asked - erased} once their jobs are signed")


@command.command("expire")
@_data_option
@_json_option
def expire_command(data: str | None, as_json: bool) -> None:
    """Erase sound whose period is over, and silence chatter in signed jobs; the server does it every hour."""
    with _opened(data) as shop:
        passed = shop.expire()
    if as_json:
        _print({"erased": passed.erased, "silenced": passed.silenced})
    else:
        click.echo(f"{passed.erased} erased, chatter silenced in {passed.silenced}")


def _opened(data: str | None) -> Any:
    from pathlib import Path

    from api.people.at_rest import opened
    from shared.settings import load_settings

    settings = load_settings()
    return opened(settings, Path(data) if data else settings.data_dir)


def _row(held: Any) -> dict[str, Any]:
    from dataclasses import asdict

    row = asdict(held)
    return {**row, "begun_at": str(held.begun_at), "ended_at": held.ended_at and str(held.ended_at)}


def _print(value: Any) -> None:
    import json

    click.echo(json.dumps(value, indent=2, ensure_ascii=False))
