"""The door of the factory pack: its pages, all its files in one, the confidential cost sheet, the form of the data.

Not covered: what a pack holds (`report.pack`), issuing.
"""

from __future__ import annotations

import io
import zipfile
from collections.abc import Mapping
from typing import Any

from fastapi import FastAPI, Response

from loopwright.report.pack.schema import pack_schema
from loopwright.report.pack.writing import cost_files, pack_files
from loopwright.report.workbooks import CREATED
from loopwright.web.asked import Language, Number, Paper
from loopwright.web.desk import Desk
from loopwright.web.told import Pages, Zipped

MADE_AT = CREATED.timetuple()[:6]  # fixed, so that the same files give the same bytes


def add_pack_door(api: FastAPI, desk: Desk) -> None:
    """Put the ways of the factory pack into the application behind /api."""

    @api.get("/items/{item_id}/pack", response_class=Pages)
    async def pages(item_id: Number, paper: Paper = "A4", language: Language = "en") -> Response:
        """The pages of the factory pack (PDF)."""
        files = await desk.with_study(
            item_id, lambda study: pack_files(study, ("pdf",), paper=paper, language=language)
        )
        return Pages(files["specification.pdf"])

    @api.get("/items/{item_id}/pack-files", response_class=Zipped)
    async def all_files(item_id: Number, paper: Paper = "A4", language: Language = "en") -> Response:
        """Every file of the factory pack in one: pages, workbook, drawings, fabrics in 3D, size table, data."""
        files = await desk.with_study(item_id, lambda study: pack_files(study, paper=paper, language=language))
        return Zipped(zipped(files))

    @api.get("/pack-schema")
    def form() -> dict[str, Any]:
        """The form of pack.json, as a JSON Schema (draft 2020-12)."""
        return pack_schema()

    @api.get("/items/{item_id}/cost-sheet", response_class=Zipped)
    async def cost(item_id: Number, paper: Paper = "A4") -> Response:
        """The confidential cost sheet, as pages and as a workbook that computes."""
        return Zipped(zipped(await desk.with_study(item_id, lambda study: cost_files(study, paper=paper))))


def zipped(files: Mapping[str, bytes]) -> bytes:
    """Files as one ZIP."""
    whole = io.BytesIO()
    with zipfile.ZipFile(whole, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in files.items():
            archive.writestr(zipfile.ZipInfo(name, MADE_AT), data, zipfile.ZIP_DEFLATED)
    return whole.getvalue()
