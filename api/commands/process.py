"""``witnessmark process``."""

from __future__ import annotations

from pathlib import Path

import click

from api.commands.options import job_options, strict_option


@click.command("process")
@click.argument("recording", metavar="FILE")
@click.option("--sheet", required=True, metavar="SHEET", help="Job sheet: a shipped id or a file.")
@click.option(
    "--out", required=True, metavar="DIR", help="Folder for the results; absent, empty, or of the same work."
)
@click.option(
    "--photos",
    metavar="DIR",
    help="Folder of photos, named like impeller_as_found.jpg or listed in its photos.csv.",
)
@click.option(
    "--engine", metavar="NAME", help="auto, pocketsphinx, whisper or scripted; auto says what it took."
)
@click.option(
    "--model",
    metavar="MODEL",
    help="For whisper: a model folder, or the name of one in the local cache; two parted by a comma"
    " give a second opinion on numbers.",
)
@click.option("--speaker", metavar="NAME", help="Who speaks, if enrolled (see enrol); never needed.")
@job_options
@strict_option
@click.option(
    "--asked",
    is_flag=True,
    help="Questions were put aloud as they arose, as at the bench: the words after one may answer it.",
)
@click.option("--json", "as_json", is_flag=True, help="Print the record as JSON instead of the summary.")
def command(
    recording: str,
    sheet: str,
    out: str,
    photos: str | None,
    engine: str | None,
    model: str | None,
    speaker: str | None,
    strict: bool,
    asked: bool,
    as_json: bool,
    **job: str | None,
) -> int:
    """Make a record and its reports from FILE, a recording or a video of a rebuild.

    FILE is WAV, FLAC, OGG/Opus, MP3, M4A, MP4, MOV or WebM. DIR then holds record.json, report.html,
    report.pdf and transcript.vtt. Can be interrupted, or killed, and taken up again with the same command.

    \b
    Example:
      witnessmark process rebuild.m4a --sheet wash-water-end-suction --photos pics/ --out out/
    """
    from api.process import ProcessRequest
    from api.run_process import run_process
    from shared.record import Job

    request = ProcessRequest(
        recording=Path(recording),
        sheet=sheet,
        out=Path(out),
        photos=Path(photos) if photos else None,
        engine=engine,
        model=model,
        speaker=speaker,
        job=Job(**job),
        asked=asked,
    )
    return run_process(request, strict=strict, as_json=as_json)
