"""The door of the factory pack: its pages, all its files in one, and the confidential cost sheet.

Not covered: what a pack holds (`report.pack`), issuing.
"""

from __future__ import annotations

import io
import zipfile
from collections.abc import Awaitable, Callable, Mapping
from typing import Annotated

from fastapi import FastAPI, Query, Response

from loopwright.report.pack.writing import pack_files
from loopwright.study.study import StyleStudy
from loopwright.web.asked import Number
from loopwright.web.desk import Desk
from loopwright.web.told import Pages, Zipped

Paper = Annotated[str, Query(max_length=20)]
Files = Mapping[str, bytes]
FIXED = (2000, 1, 1, 0, 0, 0)  # the same files give the same bytes


WithStudy = Callable[[Desk, int, Callable[[StyleStudy], Files]], Awaitable[Files]]


def add_pack_door(api: FastAPI, desk: Desk, with_study: WithStudy) -> None:
    """Put the ways of the factory pack into the application behind /api; `with_study` works from an item's study."""

    async def made(item_id: int, make: Callable[[StyleStudy], Files]) -> Files:
        return await with_study(desk, item_id, make)

    @api.get("/items/{item_id}/pack", response_class=Pages)
    async def pages(item_id: Number, paper: Paper = "A4") -> Response:
        """The pages of the factory pack (PDF)."""
        files = await made(item_id, lambda study: pack_files(study, ("pdf",), paper=paper))
        return Pages(files["specification.pdf"])

    @api.get("/items/{item_id}/pack-files", response_class=Zipped)
    async def all_files(item_id: Number, paper: Paper = "A4") -> Response:
        """Every file of the factory pack in one: pages, workbook, drawings, size table, data."""
        return Zipped(zipped(await made(item_id, lambda study: pack_files(study, paper=paper))))

    @api.get("/items/{item_id}/cost-sheet", response_class=Zipped)
    async def cost(item_id: Number, paper: Paper = "A4") -> Response:
        """The confidential cost sheet, as pages and as a workbook that computes."""
        whole = await made(item_id, lambda study: pack_files(study, ("pdf", "xlsx"), paper=paper, with_cost=True))
        return Zipped(zipped({name: data for name, data in whole.items() if "confidential" in name}))


def zipped(files: Files) -> bytes:
    """Files as one ZIP."""
    whole = io.BytesIO()
    with zipfile.ZipFile(whole, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in files.items():
            archive.writestr(zipfile.ZipInfo(name, FIXED), data, zipfile.ZIP_DEFLATED)
    return whole.getvalue()
