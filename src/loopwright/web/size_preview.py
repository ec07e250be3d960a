"""A table brought in, as the person sees it before taking it: what changes, what stays, what was refused and why.

In: `Brought`, the file, its name. Out: HTML, the form to bring a table with included. Nothing here saves.
"""

from __future__ import annotations

from html import escape

from loopwright.garment.measures import letter_of_point, words_of
from loopwright.garment.table_text import TableRead
from loopwright.report.size_document import outcome, remarks
from loopwright.report.table_files import FileRead
from loopwright.report.tables import cm_text
from loopwright.store.values import Item
from loopwright.study.brought_table import Brought, CellChange, Way
from loopwright.web.table_form import brought_heading_html, left_out_html, refused_cells_html, table_fields_html


def file_stem(item: Item) -> str:
    """What a file of an item is called, without its ending."""
    return "".join(letter if letter.isalnum() else "-" for letter in item.number or item.name)[:60]


def size_doors_html(item: Item, *, may_edit: bool) -> str:
    """Ways out of and into the size table."""
    stem = escape(file_stem(item), quote=True)
    ways = "".join(
        f'<li><a href="/api/items/{item.id}/sizes.{ending}" download="{stem}-sizes.{ending}">{words}</a></li>'
        for ending, words in (("csv", "as CSV"), ("xlsx", "as a workbook"))
    )
    return f'<ul class="doors across">{ways}</ul>{_form(item.id) if may_edit else ""}'


def _form(item_id: int) -> str:
    fields = table_fields_html(
        "Paste it, as it stands in a spreadsheet or a mail", first_row=("Half chest", "S", "M", "L")
    )
    return (
        '<details class="bring" data-keep><summary>Bring a table in</summary>'
        f'<form data-table="/api/items/{item_id}/">{fields}'
        '<p><button class="button" data-read>Read it</button></p><p class="why-not" role="alert"></p></form>'
        '<div class="brought" tabindex="-1"></div></details>'
    )


def preview_html(brought: Brought, file: FileRead[TableRead], name: str) -> str:
    """What taking a table would do, with the two ways to answer."""
    said = "".join(f"<li>{escape(line)}</li>" for line in remarks(brought, file.findings))
    stops = "".join(f"<li><b>Stops</b> {escape(each.sentence())}</li>" for each in brought.contradictions)
    take = (
        '<button type="button" class="button filled" data-take>Take these measures</button>' if brought.writes else ""
    )
    return (
        f'{brought_heading_html(name, file)}<p class="said">{escape(outcome(brought))}</p>'
        f"{_changes(brought)}{_refused(brought)}"
        f'<ul class="remarks">{stops}{said}</ul>'
        f'<p class="acts">{take}<button type="button" class="button" data-leave>Leave them</button></p>'
    )


def _changes(brought: Brought) -> str:
    """Points that change, each size with its measure now and then."""
    if not brought.changes:
        return ""
    table = brought.after
    by_cell = {(each.size, each.point): each for each in brought.changes}
    head = "".join(
        f'<th scope="col" class="n{" base" if size == table.base_size else ""}">{escape(size)}</th>'
        for size in table.sizes
    )
    points = dict.fromkeys(each.point for each in brought.changes)
    rows = "".join(
        f'<tr><th class="letter">{escape(letter_of_point(point))}</th><th scope="row">{escape(words_of(point))}</th>'
        + "".join(_cell(brought, size, by_cell.get((size, point)), point) for size in table.sizes)
        + "</tr>"
        for point in points
    )
    caption = "Now → then, cm. Bold with a bar: set by hand. Grey: stays as it is."
    return (
        '<div class="scroll" tabindex="0" role="region" aria-label="What changes"><table class="brought-cells">'
        f'<thead><tr><td></td><th scope="col">Point of measure, cm</th>{head}</tr></thead><tbody>{rows}</tbody></table>'
        f'</div><p class="caption">{caption}</p>'
    )


def _cell(brought: Brought, size: str, change: CellChange | None, point: str) -> str:
    base = " base" if size == brought.after.base_size else ""
    if change is None:
        return f'<td class="n stays{base}">{escape(cm_text(brought.after.value_cm(size, point)))}</td>'
    by_hand = " hand" if change.way is Way.BY_HAND else ""
    return (
        f'<td class="n{base}{by_hand}" title="{escape(change.way.value, quote=True)}">'
        f"<span>{escape(cm_text(change.old_cm))} →</span> <span>{escape(cm_text(change.new_cm))}</span></td>"
    )


def _refused(brought: Brought) -> str:
    """Cells of the table that are left out, by row and column, each with its reason."""
    lines = refused_cells_html(brought.read.refused)
    lines += [
        f"<li><b>{escape(words_of(each.point))}, {escape(each.size)}</b> {escape(each.reason)}</li>"
        for each in brought.kept
    ]
    return left_out_html(lines)
