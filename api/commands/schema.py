"""``witnessmark schema``."""

from __future__ import annotations

import click


@click.command("schema")
@click.option("--json", "as_json", is_flag=True, help="Print JSON (this command never prints anything else).")
def command(as_json: bool) -> None:
    """Print the JSON Schema of the rebuild record (contract rebuild-record/1)."""
    import json

    from shared.record import SCHEMA_NAME, RebuildRecord

    schema = RebuildRecord.model_json_schema(by_alias=True, mode="serialization")
    # pydantic writes this draft and leaves saying so to its caller.
    head = {"$schema": "https://json-schema.org/draft/2020-12/schema", "title": SCHEMA_NAME}
    click.echo(json.dumps({**schema, **head}, indent=2))
