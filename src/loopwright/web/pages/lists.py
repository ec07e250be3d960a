"""What stands on the shelf, a page for each kind: find, open, begin a new one, bring one in from a file."""

from __future__ import annotations

import json
from collections.abc import Mapping
from html import escape
from typing import Any
from urllib.parse import urlencode

from fastapi import Request
from nicegui import ui

from loopwright.problems import Problem
from loopwright.store.values import Kind, Line
from loopwright.web.brief_line import line_html
from loopwright.web.elements import Part, Wires
from loopwright.web.frame import frame
from loopwright.web.house import House
from loopwright.web.pages.not_there import not_there
from loopwright.web.times import time_words

PAGE_LINES = 200
MOST_TOML = 2_000_000

HEADINGS: Mapping[Kind, str] = {
    Kind.YARN: "Yarns", Kind.MACHINE: "Machines", Kind.STRUCTURE: "Structures", Kind.RATES: "Rate cards",
    Kind.SIZES: "Sizes", Kind.SWATCH: "Swatches", Kind.STYLE: "Styles",
}  # fmt: skip
ONE: Mapping[Kind, str] = {
    Kind.YARN: "yarn", Kind.MACHINE: "machine", Kind.STRUCTURE: "structure", Kind.RATES: "rate card",
    Kind.SIZES: "size table", Kind.SWATCH: "swatch", Kind.STYLE: "style",
}  # fmt: skip

# What a new one begins with: the least that makes sense, to be typed over.
NEW: Mapping[Kind, dict[str, Any]] = {
    Kind.YARN: {"yarns": {"new": {"name": "New yarn", "count": "2/30 Nm", "fibres": "merino"}}},
    Kind.MACHINE: {"machine": {"name": "New machine", "gauge": 12}},
    Kind.STRUCTURE: {"structures": {"own": {"name": "Own structure", "courses": ["F:KK B:--", "F:KK B:--"]}}},
    Kind.RATES: {"style": {"name": "New rate card"}, "rates": {"currency": "EUR"}},
    Kind.SIZES: {
        "style": {"name": "New size table"},
        "garment": {"population": "women", "sizes": ["S", "M", "L"], "base_size": "M"},
    },
    Kind.SWATCH: {
        "yarns": {"main": {"count": "2/30 Nm", "fibres": "merino"}},
        "swatches": {"new": {"name": "New swatch", "structure": "plain", "yarn": "main"}},
    },
}


def register(house: House) -> None:
    """The page of a kind."""

    @ui.page("/shelf/{kind}")
    def list_page(kind: str, request: Request, find: str = "", offset: int = 0, archived: bool = False) -> None:
        if kind not in NEW:
            not_there(Problem("shelf", f"“{kind[:60]}” is nothing that the shelf keeps.", tries=[", ".join(NEW)]))
            return
        wanted = Kind(kind)
        lines = house.shelf.lines(wanted, find=find, archived=archived, offset=max(0, offset), limit=PAGE_LINES)
        count = house.shelf.count(wanted, archived=archived)
        line = line_html(HEADINGS[wanted], [HEADINGS[wanted], str(count)], "find, new")
        with frame(HEADINGS[wanted], here=kind, help_page=kind) as aside:
            with aside:
                Part("line", line).classes("line-place")
                Part("about", f"<h1>{HEADINGS[wanted]}</h1>{find_html(f'/shelf/{kind}', find)}")
                Part("new", new_html(wanted, archived=archived, may_edit=house.may_edit(request)))
            Part("lede", f'<p class="lede">{escape(lede(wanted, count, lines, find))}</p>')
            Part("list", list_html(lines, wanted, find, offset))
        Wires({})


def lede(kind: Kind, count: int, lines: list[Line], find: str) -> str:
    """How many there are, and what a new person would do."""
    if not count:
        return f"No {ONE[kind]} is on the shelf yet. Begin one, or bring one in from a file."
    many = f"{count} {ONE[kind]}{'s' * (count != 1)}" if kind is not Kind.RATES else f"{count} rate cards"
    return f"{many} on the shelf; {len(lines)} hold “{find}”." if find else f"{many} on the shelf."


def find_html(address: str, find: str) -> str:
    """The field to find by."""
    return (
        f'<form method="get" action="{address}" role="search"><label class="unseen" for="find">Find</label>'
        f'<input class="find" id="find" name="find" value="{escape(find, quote=True)}" placeholder="find  /" '
        'autocomplete="off"></form>'
    )


def new_html(kind: Kind, *, archived: bool, may_edit: bool) -> str:
    """Begin a new one, bring one in, see the archive."""
    other = "" if archived else "?archived=true"
    words = "what is not archived" if archived else "the archive"
    archive = f'<p><a href="/shelf/{kind.value}{other}">{words}</a></p>'
    if not may_edit:
        return archive
    body = escape(json.dumps({"kind": kind.value, "document": NEW[kind]}), quote=True)
    loop = '<p><a href="/loop">any structure of the library, at yarn level</a></p>' if kind is Kind.STRUCTURE else ""
    return loop + (
        f'<div class="group"><p><button type="button" class="button filled" data-do="post" data-value="/api/items" '
        f'data-body="{body}" data-go="new" data-new>New {ONE[kind]} <kbd>N</kbd></button></p>{bring_html()}</div>'
        f"{archive}"
    )


def bring_html() -> str:
    """A file field for TOML."""
    return (
        '<p><button type="button" class="link" data-do="file" data-value="toml">bring in a TOML file</button>'
        f'<input type="file" class="unseen" tabindex="-1" aria-label="TOML file" data-bring="toml" accept=".toml" '
        f'data-url="/api/import" data-most="{MOST_TOML}"></p>'
    )


def list_html(lines: list[Line], kind: Kind, find: str, offset: int) -> str:
    """The lines as a table, with a way to those that follow."""
    if not lines:
        return '<p class="line">Nothing to show.</p>'
    rows = "".join(
        f'<tr><th scope="row"><a href="/items/{line.id}">{escape(line.name)}</a></th><td>{escape(line.number)}</td>'
        f"<td>{escape(line.detail)}</td><td>{escape(line.changed_by)}, {time_words(line.changed_at)}</td></tr>"
        for line in lines
    )
    words = {"find": find, "offset": offset + PAGE_LINES}
    more = f'<p><a href="?{urlencode(words)}">further {ONE[kind]}s</a></p>' if len(lines) == PAGE_LINES else ""
    return (
        '<section aria-labelledby="h-list"><div class="body"><div class="head"><h2 id="h-list">On the shelf</h2>'
        '<p class="tally">last changed first</p></div><div class="scroll" tabindex="0" role="group" aria-label="List">'
        '<table><thead><tr><th scope="col">Name</th><th scope="col">number</th><th scope="col">what</th>'
        f'<th scope="col">last change</th></tr></thead><tbody>{rows}</tbody></table></div>{more}</div></section>'
    )
