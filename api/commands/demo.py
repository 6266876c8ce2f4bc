"""``witnessmark demo``."""

from __future__ import annotations

from pathlib import Path

import click


@click.command("demo")
@click.option(
    "--out", default="witnessmark-demo", metavar="DIR", show_default=True, help="Folder for the results."
)
@click.option("--json", "as_json", is_flag=True, help="Print the record as JSON instead of the summary.")
def command(out: str, as_json: bool) -> int:
    """Process the bundled rebuild of an invented pump and print its record."""
    from api.demo_files import SHEET, demo_files
    from api.process import ProcessRequest
    from api.run_process import run_process

    recording, photos = demo_files()
    request = ProcessRequest(recording, SHEET, Path(out), photos=photos, engine="pocketsphinx")
    return run_process(request, as_json=as_json)
