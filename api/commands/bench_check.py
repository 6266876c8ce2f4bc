"""``witnessmark bench-check``."""

from __future__ import annotations

import click


@click.command("bench-check", short_help="Check the sound of a trial recording before work begins.")
@click.argument("recording", metavar="FILE")
@click.option("--json", "as_json", is_flag=True, help="Print JSON.")
def command(recording: str, as_json: bool) -> None:
    """Check FILE, two minutes of talk at the bench, and say how well it will be heard; - is standard input.

    Level, clipping, mains hum, noise, a narrow band, dropouts: what is wrong comes with what to do. Talk as
    you will at work, with the machines running that will run then.

    \b
    Example:
      witnessmark bench-check trial.m4a
    """
    import json
    import sys

    from api.screen import printable
    from api.sound_advice import sound_json, sound_lines
    from api.standard_input import file_or_standard_input
    from capture.expected_hearing import load_expected_hearing
    from capture.sound import read_sound
    from capture.sound_check import check_sound

    with file_or_standard_input(recording) as path:
        check = check_sound(read_sound(path))
    table = load_expected_hearing()
    if as_json:
        click.echo(json.dumps(sound_json(check, table), indent=2))
        return
    for line in sound_lines(check, table):
        click.echo(printable(line, sys.stdout.encoding))
