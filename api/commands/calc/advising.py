"""``witnessmark calc advice``: all advice on a record that was made before."""

from __future__ import annotations

import json
import sys
import textwrap

import click

from api.commands.calc.calculation import json_flag
from api.screen import printable
from api.worked_text import ADVISES, method_json

_WIDTH = 100


@click.command("advice")
@click.argument("record", metavar="RECORD")
@click.option("--sheet", required=True, help="Job sheet that it was made with: a shipped id or a file.")
def advice(record: str, sheet: str, as_json: bool) -> None:
    """Show what the shop calculations make of RECORD, a record.json; the file is left as it is.

    Formula: those of the other calculations. Valid: readings that stand and are sure. Source: with each.
    """
    from api.record_file import read_record
    from extract.shop.advice import advice_of
    from shared.job_sheet import load_job_sheet

    found = advice_of(load_job_sheet(sheet), read_record(record))
    if as_json:
        rows = [
            {
                "about": each.about,
                "calculation": each.method.name,
                "text": each.text,
                "ask": each.ask or None,
                "entries": list(each.entries),
                "cautions": list(each.method.cautions),
                **method_json(each.method),
            }
            for each in found
        ]
        click.echo(json.dumps({"advice": rows, "advises": ADVISES}, indent=2, ensure_ascii=False))
        return
    for each in found:
        asked = f" Ask: {each.ask}." if each.ask else ""
        line = f"{'!' if each.ask else '-'} {each.about.replace('_', ' ')}:{asked} {each.text}"
        for piece in textwrap.wrap(line, _WIDTH, subsequent_indent="  "):
            click.echo(printable(piece, sys.stdout.encoding))
    for caution in dict.fromkeys(text for each in found for text in each.method.cautions):
        click.echo("\n".join(textwrap.wrap(f"! {caution}", _WIDTH, subsequent_indent="  ")))
    click.echo(
        ADVISES
        if found
        else f"nothing in this record that a shop calculation has to say something of. {ADVISES}"
    )


advice.params.append(json_flag())
