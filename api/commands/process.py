"""``witnessmark process``."""

from __future__ import annotations

from pathlib import Path

import click

from api.commands.options import job_options, strict_option


@click.command("process")
@click.argument("recordings", metavar="FILE|FOLDER...", nargs=-1, required=True)
@click.option("--sheet", required=True, metavar="SHEET", help="Job sheet: a shipped id or a file.")
@click.option(
    "--out", metavar="DIR", help="Folder for the results of one FILE; absent, empty, or of the same work."
)
@click.option("--data", metavar="DIR", help="Of folders: data folder of serve (WITNESSMARK_DATA_DIR).")
@click.option(
    "--workers",
    type=click.IntRange(0, 64),
    default=1,
    show_default=True,
    help="Of folders: recordings read at once; 0 leaves them to witnessmark worker.",
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
    recordings: tuple[str, ...],
    sheet: str,
    out: str | None,
    data: str | None,
    workers: int,
    photos: str | None,
    engine: str | None,
    model: str | None,
    speaker: str | None,
    strict: bool,
    asked: bool,
    as_json: bool,
    **job: str | None,
) -> int:
    """Make a record and its reports from FILE, a recording or video of a rebuild, or bring in FOLDERs.

    FILE is WAV, FLAC, OGG/Opus, MP3, M4A, MP4, MOV or WebM. DIR then holds record.json, report.html,
    report.pdf and transcript.vtt. Can be interrupted, or killed, and taken up again with the same command.

    \b
    Example:
      witnessmark process rebuild.m4a --sheet wash-water-end-suction --photos pics/ --out out/
      witnessmark process archive/2019 archive/2020 --sheet wash-water-end-suction --workers 2

    Folders, or several files, are recordings from before: each is read once and filed into the archive of the
    shop, where search and lessons find it. Beside them recordings.csv may say what is known (columns file,
    work_order, pump_tag, pump_serial, technician, crew, running_hours; voices_agreed: who states that all who
    are heard agreed that search and lessons play their voices). Given again, the command goes on
    where it stopped; with newer rules or another engine it files another version beside the first.
    """
    if len(recordings) > 1 or Path(recordings[0]).is_dir():
        for name, value in (("out", out), ("photos", photos), ("speaker", speaker), ("asked", asked)):
            if value:
                raise click.UsageError(f"--{name} is for one FILE, not for folders")
        if any(job.values()):
            raise click.UsageError("what is known of recordings in folders stands in their recordings.csv")
        from api.past.bringing_in import Reading
        from api.past.run_bring_in import BringIn, run_bring_in
        from shared.job_sheet import load_job_sheet

        places = [Path(one) for one in recordings]
        reading = Reading(load_job_sheet(sheet), engine, model)
        bring_in = BringIn(places, reading, Path(data) if data else None, workers)
        return run_bring_in(bring_in, strict=strict, as_json=as_json)
    if out is None:
        raise click.UsageError("Missing option '--out'.")
    from api.process import ProcessRequest
    from api.run_process import run_process
    from shared.record import Job

    request = ProcessRequest(
        recording=Path(recordings[0]),
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
