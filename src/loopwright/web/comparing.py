"""Two things of the shelf side by side: two styles as they stand, or two yarns tried in the same garment.

In: numbers of two items. Out: `CompareAnswer`, the parts of the page and the reasons behind its figures; files to keep.
Answers are kept by item and version, so that a reason is found as long as nothing was changed. Not covered: what is
compared (`study.compared`), how it is said (`report.comparison`).
"""

from __future__ import annotations

import asyncio
from collections import OrderedDict
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from html import escape
from typing import Any

from fastapi import FastAPI, Response
from fastapi.responses import HTMLResponse

from loopwright.fabric.suitability import suitable_gauges
from loopwright.problems import Problem
from loopwright.report.blocks import Section
from loopwright.report.comparison import comparison_document, comparison_sheet
from loopwright.report.comparison_files import comparison_page, comparison_pdf, comparison_workbook
from loopwright.report.html import Reasons, block_html, reason_html, sentence_html
from loopwright.store.shelf import Shelf
from loopwright.store.values import Document, Item, Kind
from loopwright.study.compared import Compared, compare
from loopwright.study.study import StyleStudy, study_style
from loopwright.study.style import read_style
from loopwright.web.asked import Key, Number, Paper
from loopwright.web.desk import Desk
from loopwright.web.kept import keep
from loopwright.web.sections import contents_html, section_frame
from loopwright.web.start import first_style
from loopwright.web.told import Pages, Workbook

KEPT = 20
SHORT = {  # in the line of contents
    "differences": "Differs", "decided": "Decided", "minutes": "Minutes", "only-first": "First",
    "only-second": "Second", "refused": "Mend",
}  # fmt: skip
PREFIX = "compare-"
COMPARED_KINDS = (Kind.STYLE, Kind.YARN)
TRIED_GARMENT, TRIED_PIECES, USUAL_GAUGE = "pullover for women", 300, 12
ANY_YARN = "2/30 Nm merino"  # a first style needs one; the yarn that is tried takes its place
TRIED = f"Each yarn is tried in the same {TRIED_GARMENT}, {TRIED_PIECES} pieces, on a gauge that suits it."


@dataclass(frozen=True, slots=True)
class CompareAnswer:
    """Two items as they were compared, the parts of their page in order, and the reasons of its figures."""

    items: tuple[Item, Item]
    compared: Compared
    parts: Mapping[str, str]
    reasons: Reasons

    def reason(self, key: str) -> str | None:
        """HTML of why a figure is what it is."""
        figure = self.reasons.figures.get(key)
        return reason_html(figure, key, nested=self.reasons) if figure is not None else None


class CompareDesk:
    """Pairs that people look at."""

    def __init__(self, shelf: Shelf, desk: Desk) -> None:
        self.shelf, self.desk = shelf, desk
        self._kept: OrderedDict[tuple[int, int, int, int], CompareAnswer] = OrderedDict()

    async def answer(self, first: int, second: int) -> CompareAnswer:
        """The comparison of the newest versions.

        Raises:
            Problem: one item twice, no such item, kinds that are not compared, or a style that cannot be read.
        """
        if first == second:
            raise Problem("compare", "The same one stands on both sides.", tries=["choose another one"])
        items = await asyncio.to_thread(lambda: (self.shelf.load(first), self.shelf.load(second)))
        require_kin(*items)
        key = (first, items[0].version, second, items[1].version)
        answer = self._kept.get(key)
        if answer is None:
            studies = [await self._study(item) for item in items]
            answer = await asyncio.to_thread(lambda: answer_of(items, compare(studies[0], studies[1])))
        keep(self._kept, key, answer, KEPT)
        return answer

    async def _study(self, item: Item) -> StyleStudy:
        """The study of one of the two; what stops it is said with its name."""
        try:
            if item.kind is Kind.YARN:
                return await asyncio.to_thread(lambda: study_style(read_style(tried_yarn(item.document, item.name))))
            return await self.desk.with_study(item.id, lambda study: study)
        except Problem as problem:
            raise problem.at(item.name) from None


def require_kin(*items: Item) -> None:
    """Styles alone, or yarns alone.

    Raises:
        Problem: something else, or one of each.
    """
    kinds = {item.kind for item in items}
    if len(kinds) > 1 or not kinds <= set(COMPARED_KINDS):
        said = " and ".join(f"{item.name} ({item.kind.value})" for item in items)
        raise Problem("compare", f"{said} cannot be compared.", limit="two styles, or two yarns")


def tried_yarn(document: Document, name: str) -> Document:
    """The style in which a document's first yarn is tried beside others; one that cannot be read its study refuses."""
    (key, yarn), *_ = document["yarns"].items()
    known = study_style(read_style({"yarns": {key: yarn}})).yarns
    gauges = suitable_gauges(known[key].tex.value) if key in known else ()
    gauge = gauges[len(gauges) // 2] if gauges else USUAL_GAUGE
    made = first_style(TRIED_GARMENT, ANY_YARN, str(gauge))
    header = {"name": name, "number": name}
    return {**made, "style": header, "yarns": {key: yarn}, "order": {"pieces": TRIED_PIECES}}


def answer_of(items: tuple[Item, Item], compared: Compared) -> CompareAnswer:
    """The page of a comparison."""
    sheet, reasons = comparison_sheet(compared), Reasons(PREFIX)
    said = f'<p class="line">{escape(TRIED)}</p>' if items[0].kind is Kind.YARN else ""
    lede = f'<p class="lede">{sentence_html(sheet.lede, reasons)}</p>{said}{contents_html(sheet.sections, SHORT)}'
    parts = {"lede": lede, **_sections(sheet.sections, reasons), "foot": f"<footer>{escape(sheet.foot)}</footer>"}
    return CompareAnswer(items, compared, parts, reasons)


def _sections(sections: Sequence[Section], reasons: Reasons) -> dict[str, str]:
    return {
        section.key: section_frame(section, number, "".join(block_html(block, reasons) for block in section.blocks))
        for number, section in enumerate(sections, start=1)
    }


def add_compare_door(api: FastAPI, desk: CompareDesk) -> None:
    """Put the ways of a comparison into the application behind /api."""
    place = "/compare/{first}/{second}"

    async def written(first: int, second: int, write: Callable[[Compared], bytes]) -> bytes:
        answer = await desk.answer(first, second)
        return await asyncio.to_thread(write, answer.compared)

    @api.get(place)
    async def compared(first: Number, second: Number) -> dict[str, Any]:
        """Two styles, or two yarns tried in one garment, as data (docs/json.md)."""
        return comparison_document((await desk.answer(first, second)).compared)

    @api.get(f"{place}/pages", response_class=Pages)
    async def pages(first: Number, second: Number, paper: Paper = "A4") -> Response:
        """The comparison as pages (PDF)."""
        return Pages(await written(first, second, lambda both: comparison_pdf(both, paper)))

    @api.get(f"{place}/workbook", response_class=Workbook)
    async def workbook(first: Number, second: Number) -> Response:
        """The comparison as a workbook whose differences are formulas."""
        return Workbook(await written(first, second, comparison_workbook))

    @api.get(f"{place}/sheet", response_class=HTMLResponse)
    async def sheet(first: Number, second: Number) -> Response:
        """The comparison as one HTML page to keep."""
        return HTMLResponse(await written(first, second, comparison_page))

    @api.get(f"{place}/why", response_class=HTMLResponse)
    async def why(first: Number, second: Number, key: Key) -> Response:
        """Why a figure of a comparison is what it is."""
        reason = (await desk.answer(first, second)).reason(key)
        if reason is None:
            raise Problem("this figure", "it is not on the page any more.", tries=["load the page again"])
        return HTMLResponse(reason)
