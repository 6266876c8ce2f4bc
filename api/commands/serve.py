"""``witnessmark serve``."""

from __future__ import annotations

import click


@click.command("serve", short_help="Serve the bench and the office to browsers on the shop's network.")
@click.option("--data", metavar="DIR", help="Folder for everything that is kept (WITNESSMARK_DATA_DIR).")
@click.option("--host", default="127.0.0.1", show_default=True, help="Address to listen at; 0.0.0.0 is all.")
@click.option("--port", default=8420, show_default=True, type=click.IntRange(1, 65535), help="TCP port.")
@click.option("--microphone", metavar="DEVICE", help="Microphone here (WITNESSMARK_BENCH_MICROPHONE).")
@click.option("--tls", is_flag=True, help="Speak TLS, with a certificate authority of the shop's own.")
@click.option("--json", "as_json", is_flag=True, help="Print where it serves as JSON, a line each.")
def command(data: str | None, host: str, port: int, microphone: str | None, tls: bool, as_json: bool) -> None:
    """Serve the pages of the shop until interrupted.

    The first start prints a link; whoever opens it first keeps the accounts. Browsers give a page the
    microphone only at localhost or over TLS: with --tls phones install the shop's certificate once.
    With --microphone the benches are heard by a microphone of this machine instead; several are named
    by bench: "bench 1=USB; bench 2=3".

    \b
    Example:
      witnessmark serve --data /srv/pumps --host 0.0.0.0 --tls
    """
    import json
    from pathlib import Path

    from api.web.serving import serve
    from shared.settings import load_settings

    settings = load_settings()
    if microphone:
        settings = settings.model_copy(update={"bench_microphone": microphone})
    folder = Path(data) if data else settings.data_dir

    def tell(about: str, line: str) -> None:
        click.echo(json.dumps({about: line}) if as_json else line, err=not as_json)

    serve(settings, folder, host=host, port=port, tell=tell, tls=tls)
