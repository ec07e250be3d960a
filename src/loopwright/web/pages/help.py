"""The help: its pages listed at the left, one of them at the right."""

from __future__ import annotations

from html import escape

from nicegui import ui

from loopwright.problems import Problem
from loopwright.web.brief_line import line_html
from loopwright.web.elements import Part, Wires
from loopwright.web.frame import frame
from loopwright.web.help import PAGES, help_html, overview_html, title_of
from loopwright.web.house import House
from loopwright.web.pages.not_there import not_there


def register(_: House) -> None:
    """The list of pages, and each page."""

    @ui.page("/help")
    def overview() -> None:
        _show("", "Help", overview_html())

    @ui.page("/help/{page}")
    def help_page(page: str) -> None:
        try:
            html = help_html(page)
        except Problem as problem:
            not_there(problem)
            return
        _show(page, title_of(page), html)


def _show(page: str, title: str, html: str) -> None:
    line = line_html(title, [title], "all pages")
    with frame(title, here="help", help_page=page or "keys") as aside:
        with aside:
            Part("line", line).classes("line-place")
            Part("pages", pages_html(page))
        Part("help", html).classes("prose")
    Wires({})


def pages_html(shown: str) -> str:
    """The list of pages; the one on show is marked."""
    rows = "".join(
        f'<li><a href="/help/{page}"{" aria-current=true" if page == shown else ""}>{escape(title_of(page))}</a></li>'
        for page in PAGES
    )
    return f'<div class="group"><h2>Help</h2><ul class="list">{rows}</ul></div>'
