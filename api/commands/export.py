"""``witnessmark export``."""

from __future__ import annotations

import click


@click.command("export", short_help="Write a record's readings for other programs: QIF, CSV.")
@click.argument("record", metavar="RECORD")
@click.option("--qif", metavar="FILE", help="Write QIF 3.0 results (ISO 23952), an open standard.")
@click.option("--csv", metavar="FILE", help="Write a table for spreadsheets (RFC 4180).")
@click.option(
    "--sheet", metavar="SHEET", help="Job sheet that it was made with; not needed for a shipped one."
)
@click.option("--json", "as_json", is_flag=True, help="Print JSON.")
def command(record: str, qif: str | None, csv: str | None, sheet: str | None, as_json: bool) -> None:
    """Write the standing readings of RECORD, a record.json or a signed record, with its job sheet's limits.

    A signed record's signature is not checked here: see witnessmark verify.

    \b
    Example:
      witnessmark export out/record.json --qif readings.qif --csv readings.csv
    """
    import json
    from pathlib import Path

    from api.exports.qif import qif_results
    from api.exports.readings_csv import readings_csv
    from api.exports.standing_readings import sheet_of, standing_readings
    from api.record_file import read_record
    from api.work_folder import WorkFolder

    if not (qif or csv):
        raise click.UsageError("Nothing to write: give --qif FILE, --csv FILE or both.")
    whole = read_record(record)
    entries = sheet_of(whole, sheet)
    made = {}
    if qif:
        made[qif] = qif_results(whole, entries)
    if csv:
        made[csv] = readings_csv(whole, entries).encode()
    for name, data in made.items():
        path = Path(name)
        WorkFolder(path.parent, taken_up=False).write(path.name, data)
    count = len(standing_readings(whole, entries))
    if as_json:
        click.echo(json.dumps({"written": list(made), "readings": count}, indent=2))
    else:
        for name in made:
            click.echo(f"{name}: {count} readings")
