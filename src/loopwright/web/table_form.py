"""What every table that a person brings has on its page: the fields that take it, its heading, and what was left out.

In: what to paste; a file as it was read. Out: HTML. Not covered: what the table says and the answers to it (the section
of each kind of table).
"""

from __future__ import annotations

from collections.abc import Iterable
from html import escape
from typing import Any

from loopwright.garment.table_layout import CellNote
from loopwright.report.size_document import column_letters
from loopwright.report.table_files import MOST_BYTES, FileRead

_UNITS = (("", "as the table says, else cm"), ("cm", "cm"), ("mm", "mm"), ("in", "inches"))


def table_fields_html(asked: str, *, first_row: tuple[str, ...]) -> str:
    """Where a table is pasted or its file is chosen, and the unit it is in; `first_row` shows how it may begin."""
    units = "".join(f'<option value="{unit}">{words}</option>' for unit, words in _UNITS)
    head = "&#9;".join(escape(words, quote=True) for words in first_row)
    return (
        f'<label><span>{escape(asked)}</span><textarea name="text" rows="5" '
        f'spellcheck="false" placeholder="{head}"></textarea></label>'
        "<label><span>or choose a file, CSV or XLSX</span>"
        f'<input type="file" name="file" accept=".csv,.tsv,.txt,.xlsx" data-most="{MOST_BYTES}"></label>'
        f'<label><span>Its unit</span><select name="unit">{units}</select></label>'
    )


def brought_heading_html(name: str, file: FileRead[Any]) -> str:
    """The name of the table that was read, and its sheet."""
    sheet = f", sheet {file.sheet}" if file.sheet else ""
    return f'<h3 tabindex="-1">{escape(name[:1].upper() + name[1:])}{escape(sheet)}</h3>'


def refused_cells_html(cells: Iterable[CellNote]) -> list[str]:
    """Cells that are left out, by row and column, each with its reason."""
    return [
        f"<li><b>Row {each.row}, column {column_letters(each.column)}</b> “{escape(each.text)}”: "
        f"{escape(each.reason)}</li>"
        for each in cells
    ]


def left_out_html(lines: list[str]) -> str:
    """All that was left out; nothing when nothing was."""
    return f'<h4>Left out</h4><ul class="remarks left-out">{"".join(lines)}</ul>' if lines else ""
