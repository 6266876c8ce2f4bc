"""``witnessmark enrol``."""

from __future__ import annotations

from pathlib import Path

import click


@click.command("enrol", short_help="Learn how one speaker sounds, from ten phrases that he reads.")
@click.argument("name", required=False)
@click.option(
    "--recordings", metavar="PATH", help="His reading: one recording, or a folder of one for each phrase."
)
@click.option("--print-phrases", is_flag=True, help="Print the phrases to read, and stop.")
@click.option("--forget", is_flag=True, help="Remove what is kept of NAME, and stop.")
@click.option("--json", "as_json", is_flag=True, help="Print JSON.")
def command(
    name: str | None, recordings: str | None, print_phrases: bool, forget: bool, as_json: bool
) -> None:
    """Learn how NAME sounds, for --speaker of process. Never needed; it helps in noise.

    Kept in the cache folder on this machine: level, noise, how well he was heard, from when on a number of
    his is a question, and figures that move the acoustic model. No sound and no words. --forget removes it.

    \b
    Example:
      witnessmark enrol sam --recordings phrases.m4a
    """
    import json
    import sys

    from api.run_enrolment import enrolment_json, enrolment_lines, printed_enrolment, run_enrolment
    from api.run_enrolment import forget as forget_kept
    from api.screen import printable
    from capture.enrolment_phrases import enrolment_phrases

    if print_phrases:
        lines = [json.dumps(list(enrolment_phrases()), indent=2)] if as_json else list(printed_enrolment())
    elif name is None:
        raise click.UsageError("Missing argument 'NAME'.")
    elif forget:
        forget_kept(name)
        lines = [json.dumps({"forgotten": name})] if as_json else [f"nothing is kept of {name} any more"]
    elif recordings is None:
        raise click.UsageError("Missing option '--recordings'.")
    else:
        learnt = run_enrolment(name, Path(recordings))
        lines = [json.dumps(enrolment_json(*learnt), indent=2)] if as_json else list(enrolment_lines(*learnt))
    for line in lines:
        click.echo(printable(line, sys.stdout.encoding))
