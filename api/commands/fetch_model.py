"""``witnessmark fetch-model``."""

from __future__ import annotations

import click


@click.command("fetch-model")
@click.argument("name")
@click.option("--yes", is_flag=True, help="Fetch without asking.")
@click.option("--json", "as_json", is_flag=True, help="Print JSON.")
def command(name: str, yes: bool, as_json: bool) -> int:
    """Fetch a speech model NAME (such as small.en) into the local cache.

    Says from where and how large, then asks. No other command ever uses the network.
    """
    import json
    from dataclasses import asdict

    from api.failure import DONE, NOT_DONE
    from api.model_fetching import ModelOffer, PublicHub, fetch_model

    def agree(offer: ModelOffer) -> bool:
        click.echo(f"{offer.name}: {offer.size_bytes / 1e6:,.0f} MB from {offer.origin}", err=True)
        click.echo(f"state {offer.revision}, licence {offer.licence or 'not stated'}", err=True)
        click.echo(f"into {offer.cache}", err=True)
        offers.append(offer)
        return yes or click.confirm("Fetch it?", err=True)

    offers: list[ModelOffer] = []
    folder = fetch_model(PublicHub(), name, agree)
    if folder is None:
        click.echo("witnessmark: nothing was fetched", err=True)
        return NOT_DONE
    if as_json:
        click.echo(json.dumps({**asdict(offers[0]), "folder": str(folder)}, indent=2))
    else:
        click.echo(f"{name} is in {folder}; use it with: --engine whisper --model {name}")
    return DONE
