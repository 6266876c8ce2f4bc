"""``witnessmark microphones``."""

from __future__ import annotations

import click


@click.command("microphones", short_help="List the sound inputs of this machine, for serve.")
@click.option("--json", "as_json", is_flag=True, help="Print JSON.")
def command(as_json: bool) -> None:
    """List the microphones of this machine: what `serve --microphone` takes, by number or name.

    \b
    Example:
      witnessmark microphones
    """
    import json
    import sys
    from dataclasses import asdict

    from api.screen import printable
    from capture.server_microphone import microphones

    found = microphones()
    if as_json:
        click.echo(json.dumps([asdict(one) for one in found], indent=2))
        return
    for one in found:
        line = f"{one.number}  {one.name}  ({one.system}, {one.channels} channels, {one.rate_hz:g} Hz)"
        click.echo(printable(line, sys.stdout.encoding))
    if not found:
        click.echo("this machine has no microphone; plug one in and give the command again")
