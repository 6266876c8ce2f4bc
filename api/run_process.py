"""Processing as a command runs it: progress while it works, the summary when it is done."""

from __future__ import annotations

import shlex
import sys

import click

from api.failure import DONE, FOUND
from api.process import DOCUMENT, PAGE, RECORD, TRANSCRIPT, Processed, ProcessRequest, process_recording
from api.progress import progress_on
from api.report.prepare import open_questions
from api.screen import print_summary
from shared.record import RebuildRecord


def run_process(request: ProcessRequest, *, strict: bool = False, as_json: bool = False) -> int:
    """Process a recording, print what came of it and return the exit status."""
    try:
        done = process_recording(
            request,
            tell=lambda line: click.echo(line, err=True),
            progress=lambda length_s: progress_on(total_s=length_s),
        )
    except KeyboardInterrupt:
        again = shlex.join(["witnessmark", *sys.argv[1:]])
        raise click.ClickException(f"interrupted; what was heard is kept, go on with: {again}") from None
    if as_json:
        click.echo(done.record.to_json(), nl=False)
    else:
        print_summary(done.view)
        _print_files(done)
    return found_status(done.record, strict=strict)


def found_status(record: RebuildRecord, *, strict: bool) -> int:
    """Return the exit status of work that was done, by what it found."""
    return FOUND if strict and (record.deviations or open_questions(record)) else DONE


def _print_files(done: Processed) -> None:
    click.echo("")
    for name, what in (
        (PAGE, "report"),
        (DOCUMENT, "report to file"),
        (RECORD, "record"),
        (TRANSCRIPT, "transcript"),
    ):
        click.echo(f"{what + ':':<16} {done.folder / name}")
