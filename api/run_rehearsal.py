"""A rehearsal as a command runs it: speaking, progress, the report."""

from __future__ import annotations

import json
import sys
from pathlib import Path

import click

from api.progress import progress_on
from api.rehearsal import rehearse
from api.rehearsal_phrases import rehearsal_phrases
from api.rehearsal_takes import recorded_takes, spoken_takes
from api.rehearsal_text import printed_phrases, rehearsal_json, rehearsal_lines
from api.screen import printable
from capture.engines import open_engine
from capture.sound_blocks import RATE_HZ
from shared.job_sheet import load_job_sheet
from shared.settings import load_settings


def print_rehearsal_phrases(sheet: str, *, as_json: bool = False) -> None:
    """Print the phrases of a sheet, numbered."""
    phrases = rehearsal_phrases(load_job_sheet(sheet))
    if as_json:
        rows = [{"number": phrase.number, "text": phrase.text} for phrase in phrases]
        click.echo(json.dumps(rows, indent=2))
        return
    for line in printed_phrases(phrases):
        click.echo(printable(line, sys.stdout.encoding))


def run_rehearsal(sheet: str, recordings: Path | None, *, as_json: bool = False) -> None:
    """Rehearse a sheet and print what came of it.

    Args:
        sheet: shipped id or file.
        recordings: folder of the reader's own; None: free voices speak.
        as_json: print JSON instead of the report.
    """
    loaded, settings = load_job_sheet(sheet), load_settings()
    phrases = rehearsal_phrases(loaded)
    if recordings is None:
        click.echo(f"speaking {len(phrases)} phrases with free voices", err=True)
        takes = spoken_takes(phrases)
    else:
        takes = recorded_takes(phrases, recordings)
        if len(takes) < len(phrases):
            click.echo(
                f"{len(takes)} of {len(phrases)} phrases are recorded; only those are judged", err=True
            )
    engine = open_engine("pocketsphinx", loaded, settings=settings)
    click.echo(f"listening with {engine.name} ({engine.model})", err=True)
    with progress_on(total_s=sum(len(take.samples) for take in takes) / RATE_HZ) as progress:
        rehearsal = rehearse(loaded, engine, takes, progress.done)
    if as_json:
        click.echo(json.dumps(rehearsal_json(rehearsal), indent=2, ensure_ascii=False))
        return
    for line in rehearsal_lines(rehearsal):
        click.echo(printable(line, sys.stdout.encoding))
