"""Pieces of the page of an item: its title, a section with heading and tally, the line of contents, what stops it.

In: items, sections, problems. Out: HTML. Not covered: blocks inside a section (`report.html`), which sections there
are (`answer`).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from html import escape

from loopwright.problems import Problem
from loopwright.report.blocks import Section
from loopwright.report.html import notes_html
from loopwright.report.ways import KEY as WAYS
from loopwright.store.values import Item, Kind


def section_frame(section: Section, number: int, body: str, beside: str = "", *, is_old: bool = False) -> str:
    """A section of a page: heading, what stands beside it, tally and key; the body; notes in the margin.

    One that `is_old` is being worked out anew.
    """
    heading = f'<h2 id="h-{section.key}">{escape(section.heading)}</h2>{beside}'
    key = f"<kbd>{number}</kbd>" if number < TEN else ""
    head = f'<div class="head">{heading}<p class="tally">{escape(section.tally)}</p>{key}</div>'
    old = ' class="old" aria-busy="true"' if is_old else ""
    return (
        f'<section{old} aria-labelledby="h-{section.key}" data-number="{number}"><div class="body">{head}{body}</div>'
        f"{notes_html(section.notes)}</section>"
    )


TEN = 10


def title_html(item: Item, *, may_edit: bool = True) -> str:
    """Name, season and number at the head of the brief."""
    off = "" if may_edit else " disabled"
    if item.kind is not Kind.STYLE:
        return f"<h1>{escape(item.name)}</h1><p class='subtitle'>{escape(_KIND_WORDS[item.kind])} · on the shelf</p>"
    header = item.document.get("style", {})
    invented = " · invented example" if header.get("invented") else ""
    name = escape(str(header.get("name", "")), quote=True)
    number = escape(str(header.get("number", "")), quote=True)
    season = escape(str(header.get("season", "")), quote=True)
    return (
        f'<h1 class="unseen">{name or "Unnamed style"}</h1>'
        f'<textarea class="name" data-path=\'["style","name"]\' rows="2" aria-label="Name of the style" '
        f'placeholder="Unnamed style"{off}>{name}</textarea>'
        f'<p class="subtitle"><input data-path=\'["style","season"]\' value="{season}" aria-label="Season" '
        f'placeholder="season"{off}><span>style <input data-path=\'["style","number"]\' value="{number}" '
        f'aria-label="Style number" placeholder="number" size="8"{off}>{invented}</span></p>'
    )


_KIND_WORDS = {
    Kind.YARN: "yarn", Kind.MACHINE: "machine", Kind.STRUCTURE: "structure", Kind.RATES: "rate card",
    Kind.SIZES: "sizes", Kind.SWATCH: "swatch", Kind.STYLE: "style",
}  # fmt: skip


def problem_html(problem: Problem) -> str:
    """A problem as a section of its own."""
    limit = f'<p class="tries">Limit: {escape(problem.limit)}</p>' if problem.limit else ""
    tries = f'<p class="tries">Try: {escape("; ".join(problem.tries))}</p>' if problem.tries else ""
    return (
        '<section aria-label="What stops it"><div class="body"><ul class="findings"><li><p class="sign">Stops</p>'
        f'<div><p class="place">{escape(problem.where)}</p><p class="said">{escape(problem.what)}</p>{limit}{tries}'
        "</div></li></ul></div></section>"
    )


def contents_html(sections: Sequence[Section], names: Mapping[str, str] | None = None) -> str:
    """The line of contents, each heading with its live figure; `names` are short ones by key."""
    short = _SHORT if names is None else names
    items = "".join(
        f'<li><a href="#h-{each.key}">{escape(short.get(each.key, each.heading))} <b>{escape(each.short)}</b></a></li>'
        for each in sections
    )
    return f'<nav aria-label="Contents"><ol class="contents">{items}</ol></nav>'


_SHORT = {"findings": "Findings", WAYS: "Ways", "checks": "Cautions", "assumptions": "Assumed", "returned": "Came back"}


def sizes_html(sizes: Sequence[str], shown: str) -> str:
    """Buttons for the size to look at."""
    buttons = "".join(
        f'<button type="button" class="size" data-size="{escape(size, quote=True)}"'
        f"{' aria-pressed=true' if size == shown else ' aria-pressed=false'}>{escape(size)}</button>"
        for size in sizes
    )
    return f'<span class="pick" role="group" aria-label="Size on show">{buttons}</span>'
