"""Garments that came back, on the page of their style: those in its record, and the form that brings a table of more.

In: `StyleStudy`, or pieces just read. Out: HTML. The report itself is that of the command `pieces`.
Not covered: reading the table (`pieces_door`), the check (`study.returned`).
"""

from __future__ import annotations

from collections.abc import Sequence
from html import escape

from loopwright.garment.pieces import Piece, PiecesRead
from loopwright.problems import Problem
from loopwright.report.blocks import Lines, Section
from loopwright.report.html import Reasons, block_html
from loopwright.report.returned import HEADING, KEY, lede_of, returned_section
from loopwright.report.table_files import FileRead
from loopwright.study.returned import Returned, returned
from loopwright.study.study import StyleStudy
from loopwright.web.table_form import brought_heading_html, left_out_html, refused_cells_html, table_fields_html


def own_section(study: StyleStudy) -> Section:
    """The report on the pieces in the record; a line where there is none yet."""
    pieces, lot = own_pieces(study)
    if not pieces:
        return Section(KEY, HEADING, "none yet", (Lines((_NONE,)),))
    try:
        found = returned(study, pieces, lot)
    except Problem as problem:
        return Section(KEY, HEADING, f"{len(pieces)} pieces", (Lines((problem.sentence(),)),), short=str(len(pieces)))
    told = returned_section(found)
    blocks = (Lines((lede_of(found),)), *told.blocks)
    return Section(KEY, HEADING, told.tally, blocks, told.notes, short=str(len(pieces)))


_NONE = "Measure the samples that the factory sends, and lay them against this style: measures, mass, faults."


def own_pieces(study: StyleStudy) -> tuple[tuple[Piece, ...], int | None]:
    """All pieces in the record of a style, and the lot of the last sample that names one."""
    samples = study.style.samples.values()
    lots = [sample.lot_pieces for sample in samples if sample.lot_pieces is not None]
    return tuple(piece for sample in samples for piece in sample.as_pieces()), lots[-1] if lots else None


def pieces_form_html(item_id: int, points: Sequence[str]) -> str:
    """The form that brings a table of pieces."""
    head = ("Piece", "Size", *points[:2], "Mass, g", "Major")
    fields = table_fields_html("Paste the table: a row a piece, under one head row", first_row=head)
    return (
        '<details class="pieces" data-keep><summary>Bring measured garments</summary>'
        f'<form data-pieces="/api/items/{item_id}/pieces">{fields}'
        '<label><span>Pieces in their lot; empty: the order</span><input name="lot" inputmode="numeric" '
        'autocomplete="off"></label><p><button class="button">Measure them</button></p>'
        '<p class="why-not" role="alert"></p></form><div class="brought"></div></details>'
    )


def brought_html(found: Returned, file: FileRead[PiecesRead], name: str, reasons: Reasons) -> str:
    """What a table of pieces says, with the two ways to answer."""
    section = returned_section(found)
    body = "".join(block_html(block, reasons) for block in section.blocks)
    said = [f"<li>{escape(each.sentence)}</li>" for each in file.findings]
    out = left_out_html([*said, *refused_cells_html(file.table.refused)])
    return (
        f'{brought_heading_html(name, file)}<p class="said">{escape(lede_of(found))}</p>{body}{out}'
        '<p class="acts"><button type="button" class="button filled" data-keep-pieces>Keep them with the style</button>'
        '<button type="button" class="button" data-leave-pieces>Leave them</button></p>'
    )
