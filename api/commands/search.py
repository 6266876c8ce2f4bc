"""``witnessmark search``: the archive from the command line, while the server runs or not."""

from __future__ import annotations

from typing import Any

import click

_NARROWED = {
    "pump-type": "Sheet or type of the pump.", "pump-tag": "Tag of the pump.", "part": "As sheets name it.",
    "item": "Reading, as sheets name it.", "condition": "What a part was found like.",
    "action": "What was done with a part.", "deviation": "Kind of deviation.",
    "stage": "as_found or as_left.", "technician": "As he stands in records.",
    "since": "First month, YYYY-MM.", "until": "Last month, YYYY-MM.",
}  # fmt: skip


def _narrowing(command: Any) -> Any:
    for name, text in reversed(_NARROWED.items()):
        command = click.option(f"--{name}", default="", metavar="TEXT", help=text)(command)
    return command


@click.command("search")
@click.argument("words", nargs=-1)
@_narrowing
@click.option("--limit", default=50, type=click.IntRange(1, 1000), show_default=True, help="Hits at most.")
@click.option("--data", metavar="DIR", help="Data folder of serve (WITNESSMARK_DATA_DIR).")
@click.option("--refile", is_flag=True, help="Make the archive anew first, out of signed records and files.")
@click.option("--json", "as_json", is_flag=True, help="Print JSON.")
def command(
    words: tuple[str, ...], limit: int, data: str | None, refile: bool, as_json: bool, **narrowed: str
) -> int:
    """Search what was said and photographed in all records, and what was made of it.

    WORDS are all to be found in one thing that was said, in any order, each in any form that the trade has
    for it; words in double quotes stand together as they are; after -- a -WORD is not to be there.
    """
    from pathlib import Path

    from api.archive.searching import Search
    from shared.settings import load_settings

    settings = load_settings()
    if not (words or refile or any(narrowed.values())):
        raise click.UsageError(
            "nothing to search for: give WORDS or narrow it, for example --condition cracked"
        )
    shop = _opened(settings, Path(data) if data else settings.data_dir)
    try:
        if refile:
            _refile(shop)
        wanted = Search(words=" ".join(words), **narrowed)
        if not wanted.is_empty():
            _print(shop, wanted, limit, as_json=as_json)
    finally:
        shop.database.close()
    return 0


def _opened(settings: Any, folder: Any) -> Any:
    from api.data_folder import MARK
    from api.web.serving import open_shop
    from shared.errors import OutputForeign

    # Not held: the server may run meanwhile, as the database lets readers and writers take turns.
    if not (folder / MARK).exists():
        raise OutputForeign("this is no data folder of serve", where=str(folder), expected=f"one with {MARK}")
    return open_shop(settings, folder)


def _refile(shop: Any) -> None:
    from api.archive.signed_jobs import file_all_again

    filed, failed = file_all_again(shop.database, shop.folder)
    for line in failed:
        click.echo(f"not filed: {line}", err=True)
    click.echo(f"{filed} records filed again", err=True)


def _print(shop: Any, wanted: Any, limit: int, *, as_json: bool) -> None:
    import json

    from api.archive.hit_words import entry_words, hit_as_json
    from api.archive.picture_told import picture_as_json
    from api.archive.pictures import pictures_found
    from api.archive.search_words import synonyms_shown
    from api.archive.searching import search

    with shop.database.reading() as session:
        found = search(session, wanted, page=limit)
        pictures = pictures_found(session, wanted, page=limit)
    if as_json:
        told = {
            "hits": [hit_as_json(hit, shop.folder) for hit in found.hits], "more": found.older is not None,
            "pictures": [picture_as_json(hit, shop.folder) for hit in pictures.hits],
            "more_pictures": pictures.older is not None,
        }  # fmt: skip
        click.echo(json.dumps(told, indent=2, ensure_ascii=False))
        return
    for line in synonyms_shown(found.terms):
        click.echo(f"also looked for: {line}", err=True)
    for hit in found.hits:
        click.echo(f"{_whose(hit.record)}  {hit.utterance.words}")
        for entry in hit.entries:
            click.echo(f"            {entry_words(entry)}")
    _print_pictures(shop, pictures.hits)
    click.echo(f"{_many(found, 'found')}, {_many(pictures, 'pictures')}", err=True)


def _print_pictures(shop: Any, hits: Any) -> None:
    from api.archive.picture_told import picture_title, shown_of

    for hit in hits:
        at_s = hit.entry.start_s if hit.entry.recording else None
        at = "" if at_s is None else f" at {at_s // 60:.0f}:{at_s % 60:02.0f}"
        shown = shown_of(hit.record, hit.entry, shop.folder)
        place = shown.whole if shown else "not in this folder"
        click.echo(f"{_whose(hit.record)}  [picture] {picture_title(hit.entry)}{at}  {place}")


def _whose(record: Any) -> str:
    dated = f"{record.started_at:%Y-%m-%d}" if record.started_at else ""
    return f"{dated}  {record.pump_tag or '-'}  {record.work_order or '-'}"


def _many(found: Any, what: str) -> str:
    return f"{len(found.hits)}{' or more' if found.older is not None else ''} {what}"
