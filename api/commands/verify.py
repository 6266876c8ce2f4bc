"""``witnessmark verify``."""

from __future__ import annotations

import click


@click.command("verify", short_help="Check signed records and signed PDFs.")
@click.argument("files", metavar="FILE…", nargs=-1, required=True)
@click.option("--key", "key_file", metavar="PUBLIC.pem", help="The shop's public key, as it was handed out.")
@click.option("--json", "as_json", is_flag=True, help="Print JSON.")
@click.option(
    "--strict", is_flag=True, help="Exit with status 1 when something does not hold or is not known."
)
def command(files: tuple[str, ...], key_file: str | None, as_json: bool, strict: bool) -> int:
    """Check signed records (JSON) and signed PDFs, offline, and say what holds and what does not.

    Several revisions of a job are compared with each other. Without --key the file shows that nothing was
    changed since it was signed, but not by whom: compare the fingerprint with the one that the shop gave out.

    \b
    Example:
      witnessmark verify signed-record.json report.pdf --key signing-key.public.pem
    """
    import json
    import sys
    from pathlib import Path

    from api.failure import DONE, FOUND
    from api.screen import printable
    from api.signing.findings import Verification
    from api.signing.keys import read_public_key_file
    from api.signing.verifying import compare, verify_file
    from api.verification_text import verification_json, verification_lines
    from shared.errors import SigningError

    trusted = read_public_key_file(Path(key_file)) if key_file else None
    found: list[Verification] = []
    failures: list[SigningError] = []
    for name in files:
        try:
            found.append(verify_file(Path(name), trusted))
        except SigningError as exc:
            failures.append(exc)
    compare(found)
    if as_json:
        click.echo(json.dumps([verification_json(each) for each in found], indent=2))
    else:
        for line in (line for each in found for line in verification_lines(each)):
            click.echo(printable(line, sys.stdout.encoding))
    if failures:
        # What could be checked is told all the same.
        raise failures[0]
    return FOUND if strict and not all(each.holds for each in found) else DONE
