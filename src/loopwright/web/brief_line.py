"""The brief in one line, for narrow windows: what it is about, and the button that opens it as a page.

In: an item of the shelf, or words. Out: HTML; shown only where there is no room for the brief at the left (look.md, 4).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from html import escape
from typing import Any

from loopwright.report.html import logo
from loopwright.store.values import Item, Kind
from loopwright.web.fields import text_of


def item_line_html(item: Item) -> str:
    """The line of an item: of a style pieces, count, gauge and sizes; of a thing of the shelf its name."""
    words = list(facts_of(item.document)) if item.kind is Kind.STYLE else []
    return line_html(item.name, words or [item.name], "brief")


def facts_of(document: Mapping[str, Any]) -> Iterable[str]:
    """What a style is, as far as it is named.

    >>> list(facts_of({"order": {"pieces": 640}, "machine": {"gauge": 12.0}, "garment": {"sizes": ["XS", "S", "M"]}}))
    ['640 pieces', 'E 12', 'XS–M']
    """
    pieces = document.get("order", {}).get("pieces")
    if pieces is not None:
        yield f"{text_of(pieces)} pieces"
    for yarn in list(document.get("yarns", {}).values())[:1]:
        if yarn.get("count"):
            yield str(yarn["count"])
    gauge = document.get("machine", {}).get("gauge")
    if gauge is not None:
        yield f"E {text_of(gauge)}"
    sizes = document.get("garment", {}).get("sizes") or []
    if sizes:
        yield str(sizes[0]) if len(sizes) == 1 else f"{sizes[0]}–{sizes[-1]}"


def line_html(title: str, words: Iterable[str], door: str) -> str:
    """The line: the way home, what it says, and what opening it gives. `title` heads the page while it is closed."""
    said = " · ".join(f"<b>{escape(each)}</b>" for each in words)
    return (
        f'<div class="brief-line"><a href="/" aria-label="Loopwright, to the season">{logo()}</a>'
        f'<h1 class="unseen">{escape(title) or "Unnamed"}</h1>'
        f'<button type="button" data-brief="open" aria-expanded="false"><span>{said}</span> '
        f"<u>{escape(door)}</u></button></div>"
    )
