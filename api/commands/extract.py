"""``witnessmark extract``."""

from __future__ import annotations

import click

from api.commands.options import job_options, strict_option


@click.command("extract")
@click.argument("narration", metavar="FILE")
@click.option("--sheet", required=True, metavar="SHEET", help="Job sheet: a shipped id or a file.")
@job_options
@strict_option
@click.option("--json", "as_json", is_flag=True, help="Print the record as JSON instead of the summary.")
def command(narration: str, sheet: str, strict: bool, as_json: bool, **job: str | None) -> int:
    """Make a record from FILE, the text of a narration ("-" is standard input).

    One utterance a line, with or without a leading time (1:05 or [1:05]); or our narration YAML; or
    WebVTT captions.

    \b
    Example:
      echo "front clearance vane one eighteen thou" | witnessmark extract - --sheet wash-water-end-suction
    """
    from api.narration import UNTIMED, read_narration
    from api.record_making import MadeWith, make_record
    from api.report.prepare import prepare_view
    from api.run_process import found_status
    from api.screen import print_summary
    from shared.job_sheet import load_job_sheet
    from shared.record import Job
    from shared.settings import load_settings

    loaded = load_job_sheet(sheet)
    said = read_narration(narration)
    engine = UNTIMED if any(u.engine == UNTIMED for u in said) else said[0].engine
    made = make_record(said, loaded, Job(**job), MadeWith(engine), load_settings())
    if as_json:
        click.echo(made.record.to_json(), nl=False)
    else:
        print_summary(prepare_view(made.record, loaded, made.talk))
    return found_status(made.record, strict=strict)
