"""A style, or one thing of the shelf: its brief at the left, its study at the right, alive in every window."""

from __future__ import annotations

import asyncio
from collections.abc import Mapping
from html import escape

from fastapi import Request
from nicegui import ui

from loopwright.problems import Problem
from loopwright.store.values import Item, Kind
from loopwright.web.answer import Answer
from loopwright.web.brief_line import item_line_html
from loopwright.web.comparing import COMPARED_KINDS
from loopwright.web.elements import Part, Wires
from loopwright.web.frame import PATIENCE_S, frame, saved_state
from loopwright.web.house import House
from loopwright.web.offers import datalists_html
from loopwright.web.pages.not_there import not_there
from loopwright.web.size_preview import file_stem


class ItemWindow:
    """One window on an item: its parts, the size it looks at."""

    def __init__(self, house: House, *, may_edit: bool) -> None:
        self.house, self.may_edit, self.size = house, may_edit, ""
        self.parts: dict[str, Part] = {}
        self.wires: Wires | None = None
        self.version = 0

    def build(self, answer: Answer) -> None:
        """Fill the page with the first answer."""
        item = answer.item
        style = (item.id, item.name) if item.kind is Kind.STYLE else None
        first = answer.parts(may_edit=self.may_edit)
        with frame(item.name, here=item.kind.value, help_page=item.kind.value, style=style, saves=True) as aside:
            with aside:
                self.parts["line"] = Part("line", item_line_html(item)).classes("line-place")
                for name in ("title", "brief"):
                    self.parts[name] = Part(name, first[name])
                Part("doors", doors_html(item, may_edit=self.may_edit))
            for name in ("lede", *answer.sections, "foot"):
                self.parts[name] = Part(name, first[name])
            self.parts["lede"].classes("lede-box")
            Part("offers", datalists_html())
        self.wires = Wires(saved_state(item), on_size=self.look_at)
        self.version = item.version

    def show(self, answer: Answer, parts: Mapping[str, str]) -> None:
        """Take a new answer; the desk calls this."""
        if answer.item.version < self.version:
            return
        self.version = answer.item.version
        self.parts["line"].show(item_line_html(answer.item))
        for name, html in parts.items():
            if name in self.parts:
                self.parts[name].show(html)
        if self.wires is not None:
            self.wires.state(saved_state(answer.item))

    def busy(self) -> None:
        """The figures are old."""
        if self.wires is not None:
            self.wires.busy()

    async def look_at(self, size: str) -> None:
        """Show another size."""
        self.size = size
        answer = self.house.desk.known(self.item_id)
        if answer is not None:
            await self.house.desk.tell(answer, [self])

    @property
    def item_id(self) -> int:
        """The item of this window."""
        assert self.wires is not None
        return int(self.wires.props["page"]["item"])


def doors_html(item: Item, *, may_edit: bool) -> str:
    """Ways out of an item: files, history, a copy, the archive."""
    links = [(f"/items/{item.id}/history", "history and versions"), (f"/api/items/{item.id}/toml", "as TOML")]
    if item.kind is Kind.STYLE:
        links += [(f"/api/items/{item.id}/sheet", "sheet to keep (HTML)"), (f"/api/items/{item.id}/study", "JSON")]
    if item.kind in COMPARED_KINDS:
        links.append((f"/compare/{item.id}", "compare with …"))
    ways = "".join(
        f'<li><a href="{href}"{_download(href, item)}{" data-compare" if "history" in href else ""}>{words}</a></li>'
        for href, words in links
    )
    acts = ""
    if may_edit:
        archive = ("unarchive", "bring back") if item.archived else ("archive", "archive")
        acts = "".join(
            f'<li><button type="button" class="link" data-do="post" data-value="/api/items/{item.id}/{act}"'
            f' data-go="{go}">{words}</button></li>'
            for act, words, go in (("duplicate", "duplicate", "new"), (*archive, list_address(item.kind)))
        )
    return f'<div class="group"><h2>Keep</h2><ul class="doors">{ways}{acts}</ul></div>'


def _download(href: str, item: Item) -> str:
    ending = {"toml": "toml", "sheet": "html", "study": "json"}.get(href.rpartition("/")[2])
    return f' download="{escape(file_stem(item), quote=True)}.{ending}"' if ending else ""


def list_address(kind: Kind) -> str:
    """The page that lists items of a kind."""
    return "/" if kind is Kind.STYLE else f"/shelf/{kind.value}"


def register(house: House) -> None:
    """The page of an item."""

    @ui.page("/items/{item_id}", response_timeout=PATIENCE_S)
    async def item_page(item_id: int, request: Request) -> None:
        window = ItemWindow(house, may_edit=house.may_edit(request))
        try:
            answer = await house.desk.answer(item_id)
        except Problem as problem:
            not_there(problem)
            return
        window.build(answer)
        house.desk.open(item_id, window)
        house.desk.work_on(item_id)
        newest = await asyncio.to_thread(house.shelf.load, item_id)
        if newest.version != answer.item.version:  # saved while this window was being built, before it could be told
            house.desk.changed(item_id)
        ui.context.client.on_delete(lambda: house.desk.close(item_id, window))
