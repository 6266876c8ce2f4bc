"""``witnessmark sheet``."""

from __future__ import annotations

from pathlib import Path

import click


@click.group("sheet", no_args_is_help=False)
def command() -> None:
    """List, show, check or begin job sheets."""


@command.command("list")
@click.option("--json", "as_json", is_flag=True, help="Print JSON.")
def list_(as_json: bool) -> None:
    """List the job sheets that come with the program."""
    import json

    from shared.job_sheet import load_job_sheet, shipped_sheet_ids

    sheets = [load_job_sheet(name) for name in shipped_sheet_ids()]
    if as_json:
        rows = [{"id": s.id, "title": s.title, "revision": s.revision} for s in sheets]
        click.echo(json.dumps(rows, indent=2, ensure_ascii=False))
        return
    width = max(len(sheet.id) for sheet in sheets)
    for sheet in sheets:
        click.echo(f"{sheet.id:<{width}}  {sheet.title}")


@command.command()
@click.argument("sheet")
@click.option("--json", "as_json", is_flag=True, help="Print JSON.")
def show(sheet: str, as_json: bool) -> None:
    """Show what a job sheet wants. SHEET is a shipped id or a file."""
    from api.sheet_text import sheet_text
    from shared.job_sheet import load_job_sheet

    loaded = load_job_sheet(sheet)
    click.echo(loaded.model_dump_json(by_alias=True, indent=2) if as_json else sheet_text(loaded))


@command.command(short_help="Check a job sheet: every problem and doubt, with its line.")
@click.argument("file")
@click.option("--strict", is_flag=True, help="Exit with status 1 when there are doubts.")
@click.option("--json", "as_json", is_flag=True, help="Print JSON.")
def check(file: str, strict: bool, as_json: bool) -> int:
    """Check a job sheet and print every problem and every doubt, each with its line."""
    import json

    from shared.errors import SheetInvalid
    from shared.job_sheet import check_job_sheet, find_sheet, sheet_doubts
    from shared.sheet_source import read_sheet_source

    problems: tuple[str, ...] = ()
    doubts: tuple[str, ...] = ()
    failure: SheetInvalid | None = None
    try:
        source = read_sheet_source(find_sheet(file))
        doubts = sheet_doubts(source, check_job_sheet(source))
    except SheetInvalid as exc:
        failure, problems = exc, exc.problems or (str(exc),)
    if as_json:
        click.echo(json.dumps({"problems": problems, "doubts": doubts}, indent=2, ensure_ascii=False))
    else:
        for word, lines in (("problem", problems), ("doubt", doubts)):
            for line in lines:
                click.echo(f"{word}: {line}")
    if failure is not None:
        count = f"{len(problems)} problem" + ("s" if len(problems) != 1 else "")
        raise SheetInvalid(f"{count}; the sheet cannot be used", where=Path(file).name) from failure
    if not as_json and not doubts:
        click.echo(f"{Path(file).name}: no problem and no doubt")
    return 1 if strict and doubts else 0


@command.command()
@click.argument("sheet_id", metavar="ID")
@click.option("--out", type=click.Path(path_type=Path), help="File to write; ID.yaml here by default.")
@click.option("--json", "as_json", is_flag=True, help="Print JSON.")
def new(sheet_id: str, out: Path | None, as_json: bool) -> None:
    """Write a commented skeleton of a job sheet, to be filled in."""
    import json

    from api.sheet_text import write_new_sheet

    path = write_new_sheet(sheet_id, out or Path(f"{sheet_id}.yaml"))
    click.echo(
        json.dumps({"file": str(path)}) if as_json else f"wrote {path}; next: witnessmark sheet check {path}"
    )


@command.command(short_help="Try how a sheet's words and numbers will be heard.")
@click.argument("sheet")
@click.option(
    "--recordings", metavar="DIR", help="Your own reading of the phrases: files named by their numbers."
)
@click.option("--print-phrases", is_flag=True, help="Print the phrases to read, and stop.")
@click.option("--json", "as_json", is_flag=True, help="Print JSON.")
def rehearse(sheet: str, recordings: str | None, print_phrases: bool, as_json: bool) -> None:
    """Say sample phrases for everything on SHEET and report what would be misheard, with advice.

    Without --recordings free voices speak them (needs the system program flite). The offline engine hears;
    what it makes of each phrase is read as at work: filed right, asked about, filed wrong, or lost.

    \b
    Example:
      witnessmark sheet rehearse gearbox.yaml
    """
    from api.run_rehearsal import print_rehearsal_phrases, run_rehearsal

    if print_phrases:
        print_rehearsal_phrases(sheet, as_json=as_json)
    else:
        run_rehearsal(sheet, Path(recordings) if recordings else None, as_json=as_json)
