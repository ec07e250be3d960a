"""The verb of garments that came back: measured against their style."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from loopwright.cli.door import AsJson, app, bytes_of, console_of, print_json, refuse, style_from

if TYPE_CHECKING:
    from loopwright.garment.pieces import Piece, PiecesRead
    from loopwright.report.table_files import FileRead
    from loopwright.study.study import StyleStudy


@app.command()
def pieces(
    style: Annotated[Path, typer.Argument(help="The style, a TOML file (see the README).", metavar="STYLE.toml")],
    table: Annotated[
        Path | None,
        typer.Argument(help="Pieces measured: CSV, XLSX, or - for a pasted table, a row a piece.", metavar="[TABLE]"),
    ] = None,
    lot: Annotated[int | None, typer.Option(help="Pieces in the lot they were taken from; else the order.")] = None,
    unit: Annotated[str | None, typer.Option(help="Unit of lengths when the table names none: cm, mm or in.")] = None,
    as_json: AsJson = False,
) -> None:
    """Garments that came back, against their style: measures, mass, faults, and what the lot is worth.

    Without a table the samples in the style file are taken. Every measure stands beside what was wanted with its
    tolerance, and with the chance that the next piece lies beyond it; faults are held against the sampling plans of
    the lot. The exit code is 2 when no piece can be read; cells that can't be read are listed and left out.
    """
    from loopwright.problems import Problem
    from loopwright.report.returned import lede_of, returned_document, returned_section
    from loopwright.report.terminal import print_section
    from loopwright.study.returned import returned
    from loopwright.study.study import study_style

    try:
        answer = study_style(style_from(style))
        file = _read(answer, table, unit) if table is not None else None
        own, of_lot = (file.table.pieces, lot) if file else _own(answer, lot)
        found = returned(answer, own, of_lot)
    except Problem as problem:
        refuse(problem, as_json=as_json)
    if as_json:
        print_json(returned_document(found, file))
        return
    console = console_of()
    console.print(lede_of(found), markup=False)
    print_section(returned_section(found), console)
    for note in file.table.refused if file else ():
        words = f"Not read: row {note.row}, column {note.column}, “{note.text}”: {note.reason}"
        console.print(words, markup=False)


def _read(answer: StyleStudy, table: Path, unit: str | None) -> FileRead[PiecesRead]:
    """The pieces in a file, or on the input stream.

    Raises:
        Problem: no size table to measure against, or no table of pieces.
    """
    from loopwright.garment.length_text import TABLE_UNITS
    from loopwright.problems import Problem
    from loopwright.report.returned import pieces_of_file

    if unit is not None and unit not in TABLE_UNITS:
        raise Problem("--unit", f"“{unit}” is no unit of a table.", limit=", ".join(TABLE_UNITS))
    sizes = answer.size_table
    if sizes is None:
        raise Problem("pieces", "this style has no size table to measure against.", tries=["a [garment] part"])
    data = sys.stdin.buffer.read() if str(table) == "-" else bytes_of(table)
    return pieces_of_file(data, str(table), sizes.names, sizes=sizes.sizes, unit=unit)


def _own(answer: StyleStudy, lot: int | None) -> tuple[tuple[Piece, ...], int | None]:
    """The pieces of all samples in the style, and the lot of the last that names one.

    Raises:
        Problem: there is none.
    """
    from loopwright.problems import Problem

    samples = answer.style.samples.values()
    own = tuple(piece for sample in samples for piece in sample.as_pieces())
    if not own:
        tries = ["a table of pieces behind the style", "[[samples.NAME.pieces]] in the style"]
        raise Problem("samples", "no garment has come back to this style yet.", tries=tries)
    lots = [sample.lot_pieces for sample in samples if sample.lot_pieces is not None]
    return own, lot or (lots[-1] if lots else None)
