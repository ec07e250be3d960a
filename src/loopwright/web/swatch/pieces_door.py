"""The door of garments that came back: a table of pieces, pasted or sent, measured against its style.

Reading changes nothing: it answers with the report, and with the edit that would keep the pieces with the style, for
the version they were measured against. That edit is then sent to the item's changes like any other.
Not covered: reading tables (`report.returned`), the check (`study.returned`), the page (`pieces_section`).
"""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from datetime import UTC, datetime
from typing import Annotated, Any

from fastapi import FastAPI, Query, Request
from pydantic import Field

from loopwright.garment.grading import SizeTable
from loopwright.garment.pieces import PiecesRead
from loopwright.problems import Problem
from loopwright.report.html import Reasons
from loopwright.report.returned import pieces_of_file, pieces_of_text, returned_document
from loopwright.report.table_files import FileRead
from loopwright.store.values import Document, Item
from loopwright.study.returned import Returned, returned
from loopwright.study.sample_parts import piece_document
from loopwright.web.answer import Answer
from loopwright.web.asked import Number, PastedTable, TableUnit
from loopwright.web.desk import Desk
from loopwright.web.size_door import FileName, body_of
from loopwright.web.swatch.pieces_section import brought_html

Lot = Annotated[int, Field(ge=1, le=10_000_000)] | None
REASONS = "pieces-"
_FILE = {"requestBody": {"content": {"application/octet-stream": {"schema": {"type": "string", "format": "binary"}}}}}


class PastedPieces(PastedTable):
    """A table of pieces as text, and the lot that they were taken from."""

    lot: Lot = None


Read = Callable[[SizeTable], FileRead[PiecesRead]]


def add_pieces_door(api: FastAPI, desk: Desk) -> None:
    """Put the ways of garments that came back into the application behind /api."""

    @api.post("/items/{item_id}/pieces")
    async def pasted(item_id: Number, asked: PastedPieces) -> dict[str, Any]:
        """What a pasted table of pieces says against its style; nothing is saved."""

        def read(table: SizeTable) -> FileRead[PiecesRead]:
            return FileRead(pieces_of_text(asked.text, table.names, sizes=table.sizes, unit=asked.unit), "", ())

        answer = await desk.answer(item_id)
        return await asyncio.to_thread(_measured, answer, read, "a pasted table", asked.lot)

    @api.post("/items/{item_id}/pieces-file", openapi_extra=_FILE)
    async def sent(
        item_id: Number,
        request: Request,
        name: FileName = "table",
        unit: TableUnit = None,
        lot: Annotated[Lot, Query()] = None,
    ) -> dict[str, Any]:
        """What a CSV or XLSX file of pieces, sent as application/octet-stream, says; nothing is saved."""
        data = await body_of(request, name, "a table of pieces")

        def read(table: SizeTable) -> FileRead[PiecesRead]:
            return pieces_of_file(data, name, table.names, sizes=table.sizes, unit=unit)

        answer = await desk.answer(item_id)
        return await asyncio.to_thread(_measured, answer, read, name, lot)


def _measured(answer: Answer, read: Read, name: str, lot: int | None) -> dict[str, Any]:
    """The report on the pieces of a table.

    Raises:
        Problem: the style cannot be studied or has no size table, no piece can be read, or the lot is too small.
    """
    if answer.problem is not None:
        raise answer.problem
    if answer.study is None or answer.study.size_table is None:
        raise Problem("pieces", "there is no size table here to measure against.", tries=["a style with a garment"])
    file = read(answer.study.size_table)
    found = returned(answer.study, file.table.pieces, lot)
    reasons = Reasons(REASONS)
    html = brought_html(found, file, name, reasons)
    answer.keep_reasons(REASONS, reasons)
    return {
        "version": answer.item.version,
        "label": f"{len(found.pieces)} garments that came back, from {name}"[:200],
        "edits": [_kept(answer.item, found, name, lot)],
        "returned": returned_document(found, file),
        "section": html,
    }


def _kept(item: Item, found: Returned, name: str, lot: int | None) -> dict[str, Any]:
    """The edit that keeps the pieces with the style."""
    sample: Document = {"name": name[:200], "on": datetime.now(UTC).date().isoformat()}
    if lot is not None:
        sample["lot_pieces"] = lot
    sample["pieces"] = [piece_document(piece) for piece in found.pieces]
    return {"path": ["samples", _fresh(item.document)], "value": sample}


def _fresh(document: Document) -> str:
    """A name that no sample of the style has."""
    taken = document.get("samples", {})
    return next(name for number in range(1, len(taken) + 2) if (name := f"came-back-{number}") not in taken)
