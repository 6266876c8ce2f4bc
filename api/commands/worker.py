"""``witnessmark worker``."""

from __future__ import annotations

from pathlib import Path

import click


@click.command("worker")
@click.option("--data", metavar="DIR", help="Data folder of serve (WITNESSMARK_DATA_DIR).")
@click.option(
    "--count", type=click.IntRange(1, 64), default=1, show_default=True, help="Pieces of work done at once."
)
@click.option("--until-done", is_flag=True, help="End when no work is left, instead of waiting for more.")
@click.option("--json", "as_json", is_flag=True, help="Print at the end what is left, as JSON.")
def command(data: str | None, count: int, until_done: bool, as_json: bool) -> None:
    """Do the work that waits, such as recordings that were brought in, until interrupted.

    As many workers as wanted, on the machine of the server; where the database is PostgreSQL, on any machine
    that reaches it and the recordings. Each piece of work is done once: if a worker is killed, another
    takes its work up within a minute (WITNESSMARK_TASK_LEASE_S), where it stopped if it sees the same data
    folder.
    """
    import json

    from api.data_folder import make_data_folder
    from api.store.database import Database, database_url
    from api.store.migrating import migrate
    from api.store.tasks import tasks_by_state
    from api.work.running import until_stopped, while_any_is_open, work
    from shared.settings import load_settings

    settings = load_settings()
    folder = Path(data) if data else settings.data_dir
    make_data_folder(folder)
    database = Database(database_url(folder, settings.database_url))
    try:
        migrate(database)
        click.echo(f"working on what waits in {folder}", err=True)
        wanted = while_any_is_open(database) if until_done else until_stopped
        work(database, folder, settings, count=count, wanted=wanted)
        with database.reading() as session:
            left = tasks_by_state(session)
    finally:
        database.close()
    if as_json:
        click.echo(json.dumps(left))
    else:
        click.echo(", ".join(f"{count} {state}" for state, count in sorted(left.items())) or "no work yet")
