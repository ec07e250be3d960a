"""The verb `photo`: what a photo or scan of a swatch says."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Literal

import typer

from loopwright.cli.door import AsJson, app, bytes_of, console_of, print_json, refuse

if TYPE_CHECKING:
    from loopwright.swatch.photo.answer import PhotoReading, PhotoRefused

NOT_READ = 3  # exit code when the picture can't be read


@app.command()
def photo(
    file: Annotated[Path, typer.Argument(help="A photo or scan of the swatch: JPEG, PNG, TIFF, HEIC, WebP or BMP.")],
    reference: Annotated[
        str,
        typer.Option(
            help="What gives the scale: card, ruler:DIVISION_MM, coin:DIAMETER_MM, square:SIDE_MM, dpi:N, or none.",
            metavar="REFERENCE",
        ),
    ],
    wales: Annotated[
        Literal["upright", "level"], typer.Option(help="Which way the wales run in the picture, about.")
    ] = "upright",
    side: Annotated[
        Literal["face", "back"] | None, typer.Option(help="The side that lies up; looked for when not said.")
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Stitches counted from a photo of a swatch: wales and courses to 10 cm, lean, each with its spread.

    A card, ruler, coin or drawn square in the plane of the cloth gives the scale; card and square also mend the tilt
    of the camera. A picture that can't carry an answer is refused with the reason (exit code 3). Where a photo was
    taken is never read.
    """
    from loopwright.problems import Problem
    from loopwright.swatch.photo.asked import Asked, reference_of

    try:
        asked = Asked(reference_of(reference), wales, side)
        data = bytes_of(file)
    except Problem as problem:
        refuse(problem, as_json=as_json)
    from loopwright.swatch.photo.answer import PhotoRefused
    from loopwright.swatch.photo.photo import read_photo

    answer = read_photo(data, asked)
    if as_json:
        print_json(answer.as_dict())
    else:
        _print(answer)
    if isinstance(answer, PhotoRefused):
        raise typer.Exit(NOT_READ)


def _print(answer: PhotoReading | PhotoRefused) -> None:
    from loopwright.report.photo import photo_lines

    console = console_of()
    for line in photo_lines(answer):
        console.print(line, markup=False)
