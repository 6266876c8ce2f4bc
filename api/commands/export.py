"""``witnessmark export``."""

from __future__ import annotations

from typing import Any

import click


@click.command("export", short_help="Write a record's readings and findings for other programs.")
@click.argument("record", metavar="RECORD")
@click.option("--qif", metavar="FILE", help="Write QIF 3.0 results (ISO 23952), an open standard.")
@click.option("--csv", metavar="FILE", help="Write a table for spreadsheets (RFC 4180).")
@click.option(
    "--findings",
    metavar="FILE",
    help="Write conditions, readings outside and deviations; as JSON where FILE ends in .json, else CSV.",
)
@click.option("--iso14224", is_flag=True, help="Of findings: with columns in the terms of ISO 14224.")
@click.option(
    "--sheet", metavar="SHEET", help="Job sheet that it was made with; not needed for a shipped one."
)
@click.option("--json", "as_json", is_flag=True, help="Print JSON.")
def command(
    record: str,
    qif: str | None,
    csv: str | None,
    findings: str | None,
    iso14224: bool,
    sheet: str | None,
    as_json: bool,
) -> None:
    """Write the standing readings of RECORD, a record.json or a signed record, with its job sheet's limits.

    A signed record's signature is not checked here: see witnessmark verify. In the terms of ISO 14224 a
    finding has a failure mechanism, marked where the mapping is from memory; a failure mode is only one to
    ask about.

    \b
    Example:
      witnessmark export out/record.json --qif readings.qif --csv readings.csv
      witnessmark export out/record.json --findings found.csv --iso14224
    """
    import json
    from pathlib import Path

    from api.exports.qif import qif_results
    from api.exports.readings_csv import readings_csv
    from api.exports.standing_readings import sheet_of, standing_readings
    from api.record_file import read_record
    from api.work_folder import WorkFolder

    if not (qif or csv or findings):
        raise click.UsageError("Nothing to write: give --qif FILE, --csv FILE, --findings FILE or several.")
    if iso14224 and not findings:
        raise click.UsageError("--iso14224 is of findings: give --findings FILE, too.")
    whole = read_record(record)
    entries = sheet_of(whole, sheet)
    count = len(standing_readings(whole, entries))
    made = {}
    if qif:
        made[qif] = (qif_results(whole, entries), f"{count} readings")
    if csv:
        made[csv] = (readings_csv(whole, entries).encode(), f"{count} readings")
    found = _findings(whole, entries, findings, iso=iso14224) if findings else None
    if findings and found:
        made[findings] = (found[0], f"{found[1]} findings")
    for name, (data, _) in made.items():
        path = Path(name)
        WorkFolder(path.parent, taken_up=False).write(path.name, data)
    if as_json:
        told = {"written": list(made), "readings": count} | ({"findings": found[1]} if found else {})
        click.echo(json.dumps(told, indent=2))
    else:
        for name, (_, words) in made.items():
            click.echo(f"{name}: {words}")


def _findings(record: Any, sheet: Any, name: str, *, iso: bool) -> tuple[bytes, int]:
    """Return a record's findings as the name of their file asks for, and how many there are."""
    import json

    from api.history.findings_csv import as_table, findings_of

    found = findings_of(record, sheet, iso=iso)
    if name.lower().endswith(".json"):
        text = json.dumps(found, indent=2, ensure_ascii=False) + "\n"
    else:
        text = as_table(found, iso=iso)
    return text.encode(), len(found)
