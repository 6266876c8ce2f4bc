"""``witnessmark schema``."""

from __future__ import annotations

import click


@click.command("schema")
@click.option("--json", "as_json", is_flag=True, help="Print JSON (this command never prints anything else).")
def command(as_json: bool) -> None:
    """Print the JSON Schema of the rebuild record (contract rebuild-record/1)."""
    import json

    from shared.record import RebuildRecord

    schema = RebuildRecord.model_json_schema(by_alias=True, mode="serialization")
    click.echo(json.dumps(schema, indent=2))
