"""``witnessmark inspect``."""

from __future__ import annotations

from pathlib import Path

import click


@click.command("inspect", short_help="See what pictures of seal faces show.")
@click.argument("pictures", metavar="PICTURE...", nargs=-1)
@click.option(
    "--outer-diameter-mm",
    type=float,
    metavar="MM",
    help="Outside diameter of the flat face; a marker in the picture goes before it.",
)
@click.option(
    "--json", "as_json", is_flag=True, help="Print JSON: one picture's report, or a list of several."
)
@click.option("--strict", is_flag=True, help="Exit with status 1 where there is damage or nothing to judge.")
@click.option("--out", metavar="DIR", help="Folder for annotated pictures, strips, crops and reports.")
@click.option("--pair", is_flag=True, help="Compare two pictures of one face: as found, then as left.")
@click.option(
    "--light-bands", is_flag=True, help="Count the light bands of a face under an optical flat, too."
)
@click.option(
    "--wavelength-nm",
    type=click.FloatRange(380, 780),
    default=587.56,
    metavar="NM",
    show_default=True,
    help="Of the light under the flat; the yellow line of helium.",
)
@click.option(
    "--print-marker", metavar="FILE.pdf", help="Write a sheet of markers that give pictures their scale."
)
def command(
    pictures: tuple[str, ...],
    outer_diameter_mm: float | None,
    as_json: bool,
    strict: bool,
    out: str | None,
    pair: bool,
    light_bands: bool,
    wavelength_nm: float,
    print_marker: str | None,
) -> int:
    """Say what each PICTURE, or each picture of a folder, shows of the face of a mechanical seal.

    Whether the picture can be judged and what to do if not; size, wear track, marks. Without a marker in the
    picture or the diameter there are no millimetres. A picture never decides whether a face goes back.

    \b
    Example:
      witnessmark inspect seat.jpg --outer-diameter-mm 44.5 --out seat/
    """
    from api.run_inspect import InspectRequest, run_inspect

    if print_marker is not None:
        _write_markers(Path(print_marker))
        if not pictures:
            return 0
    if not pictures:
        raise click.UsageError("Missing argument 'PICTURE...'.")
    request = InspectRequest(
        arguments=[Path(picture) for picture in pictures],
        outer_diameter_mm=outer_diameter_mm,
        out=Path(out) if out else None,
        pair=pair,
        bands_nm=wavelength_nm if light_bands else None,
    )
    return run_inspect(request, strict=strict, as_json=as_json)


def _write_markers(path: Path) -> None:
    from api.marker_sheet import write_marker_sheet
    from shared.errors import OutputForeign

    if path.exists():
        raise OutputForeign("there is a file of that name", where=str(path), expected="a new name")
    write_marker_sheet(path)
    click.echo(f"markers: {path}; print at full size and measure the bar on it", err=True)
