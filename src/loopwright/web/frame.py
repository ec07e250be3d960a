"""The frame of all pages: the brief at the left, the way to the other pages above, the study at the right."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from typing import Any

from nicegui import ui

from loopwright import __version__
from loopwright.report.html import logo
from loopwright.store.values import Item
from loopwright.web.elements import Part

PLACES = (  # page, words, address
    ("season", "Season", "/"),
    ("swatch", "Swatches", "/shelf/swatch"),
    ("structure", "Structures", "/shelf/structure"),
    ("loop", "Loop", "/loop"),
    ("yarn", "Yarns", "/shelf/yarn"),
    ("machine", "Machines", "/shelf/machine"),
    ("rates", "Rates", "/shelf/rates"),
    ("sizes", "Sizes", "/shelf/sizes"),
)

PATIENCE_S = 60.0  # for the first answer of a page; a program that was just started on a busy machine needs some


@contextmanager
def frame(
    title: str, *, here: str, help_page: str, style: tuple[int, str] | None = None, saves: bool = False
) -> Iterator[ui.element]:
    """A page: gives the column at the right to fill; the brief is `aside()` of the page, filled first.

    `style` is (id, name) of the style that the page is about, for the way back to it; a page that `saves` says what
    is saved and undoes it. A brief whose first part is a line (`brief_line`) folds to it where the window is narrow;
    another stands above the study there.
    """
    ui.page_title(f"{title} · Loopwright")
    ui.add_head_html(f'<link rel="stylesheet" href="/assets/{__version__}/workroom.css">')
    with ui.element("div").classes("room"):
        Part("skip", '<a class="skip" href="#study">To the study</a>').classes("skip-place")
        aside = ui.element("aside").classes("brief").props('aria-label="The brief"')
        with aside:
            Part("mark", _mark_html())
        with ui.element("div").classes("study").props("id=study tabindex=-1"):
            Part("nav", _nav(here, help_page, style, saves=saves))
            yield aside


def _mark_html() -> str:
    """The name of the program and, where the brief is a page of its own, the way back from it."""
    close = '<button type="button" class="button close" data-brief="close">Close</button>'
    return f'<p class="mark"><a href="/">{logo()} Loopwright</a>{close}</p>'


def _nav(here: str, help_page: str, style: tuple[int, str] | None, *, saves: bool) -> str:
    ways = [_way(words, address, current=page == here) for page, words, address in PLACES]
    if style is not None:
        ways.insert(1, _way("Style", f"/items/{style[0]}", current=here == "style"))
    way = "".join(ways)
    saved = (
        '<p class="saved"><span class="time"></span> <span class="version"></span> '
        '<button type="button" class="link" data-do="undo" disabled>undo</button> '
        '<button type="button" class="link" data-do="redo" disabled>redo</button> <kbd>Ctrl Z</kbd></p>'
        if saves
        else ""
    )
    question = f'<a class="help" href="/help/{help_page}">Help <kbd>?</kbd></a>'
    return f'<nav class="ways" aria-label="Pages"><ul>{way}</ul>{saved}{question}</nav>'


def _way(words: str, address: str, *, current: bool) -> str:
    mark = ' aria-current="page"' if current else ""
    return f'<li><a href="{address}"{mark}>{words}</a></li>'


def saved_state(item: Item) -> Mapping[str, Any]:
    """What the page says of saving: when, version, what undo and redo would do."""
    return {
        "item": item.id,
        "version": item.version,
        "at": item.changed_at.isoformat(),
        "undo": item.can_undo,
        "redo": item.can_redo,
    }
