"""Two styles, or two yarns, on one page; before that, the page on which the other one is chosen."""

from __future__ import annotations

from html import escape
from urllib.parse import urlencode

from nicegui import ui

from loopwright.problems import Problem
from loopwright.store.values import Item, Kind, Line
from loopwright.web.brief_line import line_html
from loopwright.web.comparing import CompareAnswer, require_kin
from loopwright.web.elements import Part, Wires
from loopwright.web.frame import PATIENCE_S, frame
from loopwright.web.house import House
from loopwright.web.pages.lists import ONE, PAGE_LINES, find_html
from loopwright.web.pages.not_there import not_there
from loopwright.web.size_preview import file_stem


def register(house: House) -> None:
    """The page of a pair, and the page to choose one."""

    @ui.page("/compare/{first}")
    def choose_page(first: int, find: str = "", offset: int = 0) -> None:
        try:
            item = house.shelf.load(first)
            require_kin(item)
        except Problem as problem:
            not_there(problem)
            return
        lines = house.shelf.lines(item.kind, find=find, offset=max(0, offset), limit=PAGE_LINES)
        title = f"Compare {item.name}"
        with frame(title, here="compare", help_page=item.kind.value, style=style_of(item)) as aside:
            with aside:
                Part("line", line_html(title, [item.name], "find")).classes("line-place")
                Part("about", about_html(item, find))
            Part("lede", f'<p class="lede">{escape(item.name)} beside which {ONE[item.kind]}?</p>')
            Part("list", others_html(item, lines, find, offset))
        Wires({})

    @ui.page("/compare/{first}/{second}", response_timeout=PATIENCE_S)
    async def compare_page(first: int, second: int) -> None:
        try:
            answer = await house.comparisons.answer(first, second)
        except Problem as problem:
            not_there(problem)
            return
        one, two = answer.items
        title = f"{one.name} and {two.name}"
        with frame(title, here="compare", help_page=one.kind.value, style=style_of(one)) as aside:
            with aside:
                Part("line", line_html(title, list(answer.compared.names), "which two")).classes("line-place")
                Part("about", pair_html(answer))
            for name, html in answer.parts.items():
                Part(name, html)
        Wires({"why": f"/api/compare/{first}/{second}/why?key="})


def style_of(item: Item) -> tuple[int, str] | None:
    """The style to go back to."""
    return (item.id, item.name) if item.kind is Kind.STYLE else None


def about_html(item: Item, find: str) -> str:
    """What is compared, the way back, and the field to find by."""
    return (
        f'<h1>{escape(item.name)}</h1><p class="subtitle"><a href="/items/{item.id}">back to it</a></p>'
        f"{find_html(f'/compare/{item.id}', find)}"
    )


def others_html(item: Item, lines: list[Line], find: str, offset: int) -> str:
    """Everything of its kind that it can stand beside."""
    rows = "".join(
        f'<tr><th scope="row"><a href="/compare/{item.id}/{line.id}">{escape(line.name)}</a></th>'
        f"<td>{escape(line.number)}</td><td>{escape(line.season)}</td><td>{escape(line.detail)}</td></tr>"
        for line in lines
        if line.id != item.id
    )
    if not rows:
        return f'<p class="line">No other {ONE[item.kind]} is on the shelf{" by this name" if find else ""}.</p>'
    words = urlencode({"find": find, "offset": offset + PAGE_LINES})
    more = f'<p><a href="?{words}">further {ONE[item.kind]}s</a></p>' if len(lines) == PAGE_LINES else ""
    return (
        '<section aria-labelledby="h-others"><div class="body"><div class="head"><h2 id="h-others">Compare with …</h2>'
        '<p class="tally">last changed first</p></div>'
        '<div class="scroll" tabindex="0" role="group" aria-label="Others"><table><thead><tr>'
        '<th scope="col">Name</th><th scope="col">number</th><th scope="col">season</th>'
        f'<th scope="col">what</th></tr></thead><tbody>{rows}</tbody></table></div>{more}</div></section>'
    )


def pair_html(answer: CompareAnswer) -> str:
    """Both with the ways to them, another choice, the other way round, and the files to keep."""
    one, two = answer.items
    place = f"{one.id}/{two.id}"
    stem = escape(f"{file_stem(one)}-{file_stem(two)}", quote=True)
    items = "".join(f'<li><a href="/items/{item.id}">{escape(item.name)}</a></li>' for item in (one, two))
    turn = (
        f'<li><a href="/compare/{two.id}/{one.id}">the other way round</a></li>'
        f'<li><a href="/compare/{one.id}">another beside it</a></li>'
    )
    files = "".join(
        f'<li><button type="button" class="link" data-fetch="/api/compare/{place}/{door}" data-name="{stem}.{ending}">'
        f"{words}</button></li>"
        for door, ending, words in (
            ("pages", "pdf", "comparison (PDF)"),
            ("workbook", "xlsx", "comparison (workbook)"),
            ("sheet", "html", "comparison to keep (HTML)"),
        )
    )
    data = f'<li><a href="/api/compare/{place}" download="{stem}.json">JSON</a></li>'
    return (
        '<h1>Compared</h1><p class="subtitle">differences first</p>'
        f'<div class="group"><h2>Which two</h2><ul class="doors">{items}{turn}</ul></div>'
        f'<div class="group"><h2>Keep</h2><ul class="doors">{files}{data}</ul></div>'
    )
