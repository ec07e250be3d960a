"""The size table as a grid to type into: points of measure down, sizes across, graded and hand-set kept apart.

In: the study's size table, the style's document. Out: HTML; each cell carries the path it writes to. The base column
writes the base measures, every other column a hand-set cell; emptied, a cell goes back to the body or the grade.
"""

from __future__ import annotations

import json
from html import escape

from loopwright.garment.grading import SizeTable, step_cm
from loopwright.garment.measures import letter_of_point, tolerance_cm, words_of
from loopwright.report.tables import cm_text, pieces_by_size
from loopwright.study.study import StyleStudy
from loopwright.web.fields import Path


def size_grid_html(study: StyleStudy, *, may_edit: bool = True) -> str:
    """The grid; empty when there is no size table yet."""
    table = study.size_table
    if table is None:
        return ""
    head = "".join(
        f'<th scope="col" class="n{" base" if size == table.base_size else ""}">{escape(size)}</th>'
        for size in table.sizes
    )
    rows = "".join(_row(study, table, name, row) for row, name in enumerate(table.names))
    order = _order_row(study, table, len(table.names))
    edit = "" if may_edit else ' aria-readonly="true"'
    keys = (
        '<p class="caption">Bold with a bar: set by hand, the grade leaves it alone. <kbd>F2</kbd> edit '
        "<kbd>Ctrl C</kbd> <kbd>Ctrl V</kbd> copy, paste a block <kbd>Ctrl D</kbd> fill down <kbd>Ctrl R</kbd> fill "
        "right <kbd>Del</kbd> back to the grade</p>"
    )
    return (
        '<div class="scroll"><table role="grid" class="sizes" data-grid="sizes" aria-label="Size table"'
        f'{edit}><thead><tr><td></td><th scope="col">Point of measure, cm</th>'
        f'<th scope="col" class="n">± tol</th><th scope="col" class="n">grade</th>{head}</tr></thead>'
        f"<tbody>{rows}{order}</tbody></table></div>{keys}"
    )


def _row(study: StyleStudy, table: SizeTable, name: str, row: int) -> str:
    cells = "".join(_cell(table, name, size, (row, column)) for column, size in enumerate(table.sizes, start=1))
    regular, beyond = step_cm(
        name, table.population, study.style.garment.grade_cm if study.style.garment else {}, table.shape
    )
    graded = cm_text(regular) if regular == beyond else f"{cm_text(regular)} / {cm_text(beyond)}"
    own = study.style.garment is not None and name in study.style.garment.grade_cm
    grade = _td(("garment", "grade_cm", name), graded, (row, 0), hand=own)
    return (
        f'<tr><th class="letter">{escape(letter_of_point(name))}</th><th scope="row">{escape(words_of(name))}</th>'
        f'<td class="n quiet">{tolerance_cm(name):g}</td>{grade}{cells}</tr>'
    )


def _cell(table: SizeTable, name: str, size: str, at: tuple[int, int]) -> str:
    is_base = size == table.base_size
    path: Path = ("garment", "measures_cm", name) if is_base else ("garment", "hand_set_cm", size, name)
    hand = table.is_hand_set(size, name) or (is_base and table.cell(size, name).words == "typed")
    said = f"{words_of(name)}, {size}: {table.cell(size, name).words}"
    return _td(path, cm_text(table.value_cm(size, name)), at, base=is_base, hand=hand and not is_base, said=said)


def _order_row(study: StyleStudy, table: SizeTable, row: int) -> str:
    counts = pieces_by_size(study)
    if not counts:
        return ""
    own = study.style.order.size_mix if study.style.order else {}
    cells = "".join(
        _td(
            ("order", "size_mix", size),
            counts[size],
            (row, column),
            base=size == table.base_size,
            hand=size in own,
            said=f"pieces in {size}",
        )
        for column, size in enumerate(table.sizes, start=1)
    )
    return f'<tr class="order"><td></td><th scope="row">Order, pieces</th><td></td><td></td>{cells}</tr>'


def _td(path: Path, text: str, at: tuple[int, int], *, base: bool = False, hand: bool = False, said: str = "") -> str:
    row, column = at
    names = " ".join(["n", *(["base"] if base else []), *(["hand"] if hand else [])])
    title = f' title="{escape(said, quote=True)}"' if said else ""
    tab = "0" if at == (0, 1) else "-1"
    return (
        f'<td role="gridcell" tabindex="{tab}" class="{names}" data-row="{row}" data-column="{column}"{title} '
        f"data-path='{escape(json.dumps(path), quote=True)}'>{escape(text)}</td>"
    )
