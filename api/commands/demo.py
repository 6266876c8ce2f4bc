"""``witnessmark demo``."""

from __future__ import annotations

from pathlib import Path

import click


@click.command("demo")
@click.option(
    "--out", default="witnessmark-demo", metavar="DIR", show_default=True, help="Folder for the results."
)
@click.option(
    "--history", type=click.IntRange(1, 200_000), metavar="N",
    help="Instead: N rebuilds drawn by chance, filed into a data folder for serve.",
)  # fmt: skip
@click.option("--seed", default=1, metavar="S", show_default=True, help="Of the chance of --history.")
@click.option(
    "--json", "as_json", is_flag=True, help="Print JSON: the record, or the truth about the history."
)
def command(out: str, history: int | None, seed: int, as_json: bool) -> int:
    """Process the bundled rebuild of an invented pump and print its record.

    With --history it invents the past of a whole shop, without sound: pumps, people and what went wrong with
    them, drawn by chance. What is planted in it to be found, and what is chance alone, stands in truth.json.
    """
    if history is not None:
        return _invent(Path(out), history, seed, as_json=as_json)
    from api.demo_files import SHEET, demo_files
    from api.process import ProcessRequest
    from api.run_process import run_process

    recording, photos = demo_files()
    request = ProcessRequest(recording, SHEET, Path(out), photos=photos, engine="pocketsphinx")
    return run_process(request, as_json=as_json)


def _invent(out: Path, count: int, seed: int, *, as_json: bool) -> int:
    import json

    from api.invented.filed_past import make_invented_shop
    from api.invented.past import Past

    past = Past(count, seed)
    truth = make_invented_shop(out, past, lambda done: click.echo(f"{done} of {count} rebuilds", err=True))
    if as_json:
        click.echo(json.dumps(past.truth(), indent=2))
    else:
        click.echo(f"{count} invented rebuilds in {out}; what is planted in them: {truth}")
        click.echo(f"see them with: witnessmark serve --data {out}")
    return 0
