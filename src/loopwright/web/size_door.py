"""The door of the size table: out as CSV or workbook, and a buyer's table read against an item.

Reading changes nothing: it answers with what would change, cell by cell, the edits that would do it, and the version
they were worked out for. Those edits are then sent to the item's changes like any others.
Not covered: reading files (`report.size_files`), what a table changes (`study.brought_table`).
"""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from typing import Annotated, Any

from fastapi import FastAPI, Query, Request, Response

from loopwright.garment.grading import SizeTable
from loopwright.garment.table_text import TableRead, table_of_text
from loopwright.problems import Problem
from loopwright.report.size_document import brought_document
from loopwright.report.size_files import size_csv, size_table_of_file
from loopwright.report.size_workbook import size_workbook
from loopwright.report.table_files import MOST_BYTES, FileRead
from loopwright.store.shelf import Shelf
from loopwright.store.values import Item
from loopwright.study.brought_table import brought_table, document_table
from loopwright.web.answer import studied_document
from loopwright.web.asked import Number, PastedTable, TableUnit
from loopwright.web.size_preview import preview_html
from loopwright.web.told import Csv, Workbook

FileName = Annotated[str, Query(max_length=200)]
_FILE = {"requestBody": {"content": {"application/octet-stream": {"schema": {"type": "string", "format": "binary"}}}}}


def add_size_door(api: FastAPI, shelf: Shelf) -> None:
    """Put the ways of the size table into the application behind /api."""

    @api.get("/items/{item_id}/sizes.csv", response_class=Csv)
    def as_csv(item_id: Number) -> Response:
        """The size table as CSV in cm."""
        return Response(size_csv(_table_of(shelf.load(item_id))), media_type="text/csv; charset=utf-8")

    @api.get("/items/{item_id}/sizes.xlsx", response_class=Workbook)
    def as_workbook(item_id: Number) -> Response:
        """The size table as a workbook in cm that goes on grading."""
        item = shelf.load(item_id)
        return Workbook(size_workbook(_table_of(item), [" · ".join(each for each in (item.name, item.number) if each)]))

    @api.post("/items/{item_id}/size-table")
    async def pasted(item_id: Number, asked: PastedTable) -> dict[str, Any]:
        """What a pasted table would change; nothing is saved."""

        def read(table: SizeTable) -> FileRead[TableRead]:
            return FileRead(table_of_text(asked.text, table.names, sizes=table.sizes, unit=asked.unit), "", ())

        return await asyncio.to_thread(_read_against, shelf, item_id, read, "a pasted table")

    @api.post("/items/{item_id}/size-file", openapi_extra=_FILE)
    async def sent(
        item_id: Number, request: Request, name: FileName = "table", unit: TableUnit = None
    ) -> dict[str, Any]:
        """What a CSV or XLSX file, sent as application/octet-stream, would change; nothing is saved."""
        data = await body_of(request, name, "a size table")

        def read(table: SizeTable) -> FileRead[TableRead]:
            return size_table_of_file(data, name, table.names, sizes=table.sizes, unit=unit)

        return await asyncio.to_thread(_read_against, shelf, item_id, read, name)


async def body_of(request: Request, name: str, what: str) -> bytes:
    """The file that was sent; reading stops where no such table is that long.

    Raises:
        Problem: it is longer.
    """
    data = bytearray()
    async for part in request.stream():
        data += part
        if len(data) > MOST_BYTES:
            limit = f"{MOST_BYTES / 1e6:.0f} MB"
            tries = [f"a file with the {what.removeprefix('a ')} alone, without pictures"]
            raise Problem(f"file {name}", f"it is far larger than {what}.", limit=limit, tries=tries)
    return bytes(data)


def _table_of(item: Item) -> SizeTable:
    return document_table(studied_document(item))


def _read_against(
    shelf: Shelf, item_id: int, read: Callable[[SizeTable], FileRead[TableRead]], name: str
) -> dict[str, Any]:
    """What a table would change in an item, for programs and as the preview of the page."""
    item = shelf.load(item_id)
    file = read(_table_of(item))
    brought = brought_table(file.table, studied_document(item))
    return {
        "version": item.version,
        "label": f"Measures from {name}",
        "edits": [{"path": list(path), "value": value} for path, value in brought.writes.items()],
        "brought": brought_document(brought, file),
        "preview": preview_html(brought, file, name),
    }
