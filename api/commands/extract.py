"""``witnessmark extract``."""

from __future__ import annotations

import click

from api.commands.options import job_options, strict_option


@click.command("extract")
@click.argument("narration", metavar="FILE")
@click.option("--sheet", required=True, metavar="SHEET", help="Job sheet: a shipped id or a file.")
@job_options
@strict_option
@click.option("--explain", is_flag=True, help="Show how each utterance was read instead of the summary.")
@click.option(
    "--line",
    "lines",
    type=click.IntRange(min=1),
    multiple=True,
    metavar="N",
    help="With --explain: only the Nth utterance, from 1, blank lines and comments not counted; repeatable.",
)
@click.option(
    "--asked",
    is_flag=True,
    help="Questions were put aloud as they arose, as at the bench: the words after one may answer it.",
)
@click.option("--json", "as_json", is_flag=True, help="Print the record, or the explanation, as JSON.")
def command(
    narration: str,
    sheet: str,
    strict: bool,
    explain: bool,
    lines: tuple[int, ...],
    asked: bool,
    as_json: bool,
    **job: str | None,
) -> int:
    """Make a record from FILE, the text of a narration ("-" is standard input).

    One utterance a line, with or without a leading time (1:05 or [1:05]); or our narration YAML; or
    WebVTT captions.

    --explain shows the path from words to entries: what was named and by which phrase, clauses, amounts
    and what each may be worth, the ways to put them together with their costs (lower is likelier), doubts,
    and what was filed, asked or left out, by which rule.

    \b
    Examples:
      echo "front clearance vane one eighteen thou" | witnessmark extract - --sheet wash-water-end-suction
      witnessmark extract said.txt --sheet wash-water-end-suction --explain --line 12
    """
    from api.explanation_text import print_explanations
    from api.narration import UNTIMED, read_narration
    from api.record_making import MadeWith, make_record
    from api.report.prepare import prepare_view
    from api.report.wording import counted
    from api.run_process import found_status
    from api.screen import print_summary
    from extract.explainer import Explainer
    from extract.observer import NOBODY
    from shared.job_sheet import load_job_sheet
    from shared.record import Job
    from shared.settings import load_settings

    if lines and not explain:
        raise click.UsageError("--line goes with --explain")
    loaded = load_job_sheet(sheet)
    said = read_narration(narration)
    if lines and max(lines) > len(said):
        raise click.UsageError(f"--line {max(lines)}: the text has {counted(len(said), 'utterance')}")
    explainer = Explainer(loaded, {n - 1 for n in lines} or None) if explain else None
    engine = UNTIMED if any(u.engine == UNTIMED for u in said) else said[0].engine
    settings = load_settings()
    made = make_record(
        said, loaded, Job(**job), MadeWith(engine), settings, observer=explainer or NOBODY, asks=asked
    )
    if explainer is not None:
        print_explanations(explainer.finish(made.record), as_json=as_json)
    elif as_json:
        click.echo(made.record.to_json(), nl=False)
    else:
        print_summary(prepare_view(made.record, loaded, made.talk))
    return found_status(made.record, strict=strict)
