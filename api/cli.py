"""The command line. Commands load when they are called, so that ``--help`` is there at once."""

from __future__ import annotations

import gc
import sys
from difflib import get_close_matches
from importlib import import_module

import click

from api.failure import exit_status

#: Command, the module under ``api.commands`` that holds a click command ``command``, and its short help.
COMMANDS: dict[str, tuple[str, str]] = {
    "demo": ("demo", "Process the bundled rebuild and print its record."),
    "process": ("process", "Make a record and its reports from a recording or a video."),
    "enrol": ("enrol", "Learn how one speaker sounds, from ten phrases that he reads."),
    "extract": ("extract", "Make a record from narration text."),
    "inspect": ("inspect", "See what pictures of seal faces show."),
    "bench-check": ("bench_check", "Check the sound of a trial recording before work begins."),
    "microphones": ("microphones", "List the sound inputs of this machine, for serve."),
    "serve": ("serve", "Serve the bench and the office to browsers on the shop's network."),
    "worker": ("worker", "Do the work that waits: recordings brought in to be read."),
    "move": ("move", "Move a shop to PostgreSQL and a media store, compared by hash."),
    "migrate": ("migrate", "Bring the database to the shape of this version."),
    "recordings": ("recordings", "List, export, erase what people recorded."),
    "search": ("search", "Search what was said in all records, and what was made of it."),
    "backup": ("backup", "Back the shop up while its server runs, or check a backup."),
    "restore": ("restore", "Bring a shop back from a backup."),
    "sheet": ("sheet", "List, show, check or begin job sheets."),
    "calc": ("calc", "Shop calculations: torque, fits, shims, clearances, seals and more."),
    "fetch-model": ("fetch_model", "Fetch a speech model into the local cache, after asking."),
    "export": ("export", "Write a record's readings for other programs: QIF, CSV."),
    "verify": ("verify", "Check signed records and signed PDFs."),
    "schema": ("schema", "Print the JSON Schema of the record."),
}


class _Commands(click.Group):
    def list_commands(self, ctx: click.Context) -> list[str]:
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        if cmd_name not in COMMANDS:
            return None
        command: click.Command = import_module(f"api.commands.{COMMANDS[cmd_name][0]}").command
        return command

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        if args and args[0] not in COMMANDS and not args[0].startswith("-"):
            near = get_close_matches(args[0], COMMANDS, n=1)
            meant = f" (did you mean {near[0]}?)" if near else ""
            raise click.UsageError(f"No such command {args[0]!r}{meant}", ctx)
        return super().resolve_command(ctx, args)

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        with formatter.section("Commands"):
            formatter.write_dl([(name, text) for name, (_, text) in COMMANDS.items()])


def _print_version(ctx: click.Context, _param: click.Parameter, wanted: bool) -> None:
    if wanted and not ctx.resilient_parsing:
        from api.version import program_version

        click.echo(f"witnessmark {program_version()}")
        ctx.exit()


@click.command(
    cls=_Commands,
    no_args_is_help=False,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100},
)
@click.option(
    "--version",
    is_flag=True,
    expose_value=False,
    is_eager=True,
    callback=_print_version,
    help="Print the version.",
)
def cli() -> None:
    """Hear a pump rebuild, check it against its job sheet, write the record.

    Works offline. The record advises; it does not authorise: a reviewer decides.

    \b
    Begin with:
      witnessmark demo                     the bundled rebuild, from sound to report
      witnessmark sheet list               the job sheets that come with it
      witnessmark process --help           your own recording

    Exit status: 0 done, whatever was found; 1 with --strict: done, with deviations or questions; 2 could
    not be done, with one line that says why.
    """


def run(arguments: list[str]) -> int:
    """Run one command line and return its exit status."""
    return exit_status(lambda: cli.main(arguments, prog_name="witnessmark", standalone_mode=False))


def main() -> None:
    """Entry point ``witnessmark``."""
    # Starting makes some 100,000 objects that live to the end: looking for rubbish among them costs a
    # twentieth of a short run (measured), and hearing makes little.
    gc.set_threshold(100_000, 20, 50)
    sys.exit(run(sys.argv[1:]))
