"""The measurement table of a buyer as text or cells, read into cm by size and point of measure.

In: text pasted from a spreadsheet or a file (cells parted by tabs, semicolons or commas), or rows of cells; the points
of the garment. Out: `TableRead`, measures and tolerances in cm, and every cell that gave none with its reason: nothing
is guessed and nothing is lost silently. The unit is said by the table or by the caller; said by neither, it is cm.
Assumption: one table, one unit in it unless a row or a cell names its own.
Not covered: files (`report.size_files`), what would change in a style (`table_changes`).
"""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from loopwright.garment.length_text import TABLE_UNITS, decimal_signs_of, length_cm, unit_named
from loopwright.garment.measures import LARGEST_CM
from loopwright.garment.table_labels import Role, labels_of, parted_label, unit_said
from loopwright.garment.table_layout import Cell, CellNote, Layout, layout_of, shown_cell
from loopwright.garment.table_leftovers import is_row_of_units, once, passed_over, refused_labels, roles_of
from loopwright.problems import Problem

SEPARATORS = ("\t", ";", ",")  # of two that part as many lines, the first
NOT_GIVEN = ("-", "–", "—", "−", ".", "/")


@dataclass(frozen=True, slots=True)
class TableRead:
    """What a table says: cm by (size, point), tolerances in cm by point, and the cells that say nothing we can use.

    `is_unit_said`: the unit stands in the table or came from the caller; otherwise cm was taken.
    """

    unit: str
    is_unit_said: bool
    is_turned: bool
    sizes: tuple[str, ...]
    points: tuple[str, ...]
    measures_cm: Mapping[tuple[str, str], float]
    tolerances_cm: Mapping[str, float]
    refused: tuple[CellNote, ...]
    passed_over: tuple[CellNote, ...]


def table_of_text(text: str, points: Sequence[str], *, sizes: Sequence[str] = (), unit: str | None = None) -> TableRead:
    """A table from text; `points` are those of the garment, `sizes` labels it knows, `unit` cm, mm or in.

    >>> read = table_of_text("inches;S;M\\nHalf chest;18 1/4;19¼", ["half_chest"])
    >>> read.unit, read.measures_cm["M", "half_chest"]
    ('in', 48.895)

    Raises:
        Problem: no table in it, or a decimal comma among cells that commas part.
    """
    separator = separator_of(text)
    rows = rows_of_text(text, separator)
    layout = layout_of(rows, points, sizes)
    if separator == ",":
        _require_uncut(rows, layout)
    return _read(layout, points, unit)


def table_of_rows(
    rows: Sequence[Sequence[Cell]], points: Sequence[str], *, sizes: Sequence[str] = (), unit: str | None = None
) -> TableRead:
    """A table from rows of cells: texts, numbers, None for an empty cell. Arguments as in `table_of_text`.

    Raises:
        Problem: no table in it.
    """
    return _read(layout_of(rows, points, sizes), points, unit)


def separator_of(text: str) -> str:
    """The sign that parts the cells: of tab, semicolon and comma the one in most lines."""
    lines = text.splitlines()
    return max(SEPARATORS, key=lambda sign: sum(sign in line for line in lines))


def rows_of_text(text: str, separator: str) -> list[list[Cell]]:
    """The cells of a text, row by row; a cell in quotation marks may hold the separator.

    Raises:
        Problem: a quotation mark that opens and is not closed.
    """
    lines = io.StringIO(text.removeprefix("\ufeff"), newline="")
    reader = csv.reader(lines, delimiter=separator, skipinitialspace=True, strict=True)
    try:
        return [list(row) for row in reader]
    except csv.Error:
        what = "a cell opens with a quotation mark that is not closed as it should be."
        where = f"size table, line {reader.line_num}"
        raise Problem(where, what, tries=["in instead of the mark for inches", "no quotation marks"]) from None


def _require_uncut(rows: Sequence[Sequence[Cell]], layout: Layout) -> None:
    """Refuse a table whose decimal commas part its cells."""
    head, measured = (layout.label_columns[0], layout.sizes) if layout.is_turned else (layout.head, layout.points)
    for row in measured:
        width = len(rows[row])
        if width > len(rows[head]):
            what = f"it has {width} cells under a head of {len(rows[head])}: a decimal comma cuts a measure in two."
            tries = ["semicolons or tabs between the cells", "a decimal point", "quotation marks around each measure"]
            raise Problem(f"size table, row {row + 1}", what, tries=tries)


def _read(layout: Layout, points: Sequence[str], unit: str | None) -> TableRead:
    said = _unit_of(layout, unit)
    cells = _cells(layout, said or "cm")
    signs = decimal_signs_of(shown_cell(cell.content) for cell in cells if isinstance(cell.content, str))
    measures: dict[tuple[str, str], float] = {}
    tolerances: dict[str, float] = {}
    labels = labels_of(points)
    refused = list(refused_labels(layout, labels))
    for cell in cells:
        try:
            value = cell_cm(cell.content, unit=cell.unit, decimal_signs=signs)
        except Problem as problem:
            refused.append(layout.note(cell.row, cell.column, _reason(problem)))
            continue
        if cell.size is None:
            tolerances[cell.point] = value
        else:
            measures[cell.size, cell.point] = value
    return TableRead(
        unit=said or "cm",
        is_unit_said=said is not None,
        is_turned=layout.is_turned,
        sizes=tuple(once(layout.sizes).values()),
        points=tuple(once(layout.points).values()),
        measures_cm=measures,
        tolerances_cm=tolerances,
        refused=tuple(sorted(refused, key=lambda note: (note.row, note.column))),
        passed_over=tuple(sorted(passed_over(layout, labels), key=lambda note: (note.row, note.column))),
    )


@dataclass(frozen=True, slots=True)
class _Measure:
    """A cell that should hold a length: its place, point, size (none for a tolerance), unit."""

    row: int
    column: int
    point: str
    size: str | None
    content: str | float
    unit: str


def _cells(layout: Layout, unit: str) -> list[_Measure]:
    """All cells that should hold a length and are not empty, in the unit of their row, column or table."""
    found = []
    tolerances = _column_of(layout, Role.TOLERANCE)
    for row, point in sorted(once(layout.points).items()):
        own = _unit_of_row(layout, row)
        for column, size in once(layout.sizes).items():
            if (content := layout.grid[row][column]) is not None and content not in NOT_GIVEN:
                found.append(_Measure(row, column, point, size, content, own or unit))
        if tolerances is not None and (content := layout.grid[row][tolerances]) is not None:
            by_head = parted_label(shown_cell(layout.grid[layout.head][tolerances]))[1]
            found.append(_Measure(row, tolerances, point, None, _without_sign(content), by_head or own or unit))
    return found


def _without_sign(content: str | float) -> str | float:
    return content.replace("±", "").replace("+/-", "").strip() if isinstance(content, str) else content


def _column_of(layout: Layout, role: Role) -> int | None:
    return next((column for column, each in once(roles_of(layout)).items() if each is role), None)


def _unit_of_row(layout: Layout, row: int) -> str | None:
    """The unit behind the label of a row or in the column of units."""
    units = _column_of(layout, Role.UNIT)
    label = layout.label(row)
    in_column = unit_named(shown_cell(layout.grid[row][units])) if units is not None else None
    return in_column or (parted_label(label[1])[1] if label else None)


def cell_cm(content: str | float, *, unit: str, decimal_signs: frozenset[str]) -> float:
    """Cm of a cell that holds a measure of a garment, written in `unit` unless it names its own.

    Raises:
        Problem: no number, or none that a garment has.
    """
    if isinstance(content, str):
        value = length_cm(content, unit=unit, decimal_signs=decimal_signs)
    else:
        value = content * length_cm("1", unit=unit)
    if not (math.isfinite(value) and 0 <= value <= LARGEST_CM):
        what = f"{value:g} cm is no measure of a garment."
        raise Problem("measure", what, limit=f"0 to {LARGEST_CM:g} cm", tries=[f"check the unit, taken as {unit}"])
    return value


def _reason(problem: Problem) -> str:
    limit = f" Limit: {problem.limit}." if problem.limit else ""
    return f"{problem.what}{limit} Try: {'; '.join(problem.tries)}."


def _unit_of(layout: Layout, asked: str | None) -> str | None:
    """The unit that the caller or the table says, none when neither does; nearest to the measures counts.

    Raises:
        Problem: two units.
    """
    near = set(_units_said(layout, _is_near))
    said = near or set(_units_said(layout, _is_far))
    if asked is not None:
        said.add(asked)
    if len(said) > 1:
        what = f"two units are given for one table: {' and '.join(sorted(said))}."
        raise Problem("size table", what, tries=["one unit for the table", "the other unit beside its own cells"])
    found = next(iter(said), None)
    if found is not None and found not in TABLE_UNITS:
        raise Problem("size table", f"“{found}” is no unit for a table.", limit="cm, mm or in", tries=["cm"])
    return found


def _is_near(layout: Layout, row: int) -> bool:
    """Whether a row is the head or names the unit of each column."""
    return row == layout.head or (row > layout.head and row not in layout.points and is_row_of_units(layout, row))


def _is_far(layout: Layout, row: int) -> bool:
    """Whether a row is a title or a note."""
    return row not in layout.points and not _is_near(layout, row)


def _units_said(layout: Layout, stands: Callable[[Layout, int], bool]) -> Iterator[str]:
    """Units named by the rows asked for, but not by the head of the tolerance."""
    tolerance_head = {column for column, role in roles_of(layout).items() if role is Role.TOLERANCE}
    for row, cells in enumerate(layout.grid):
        for column, cell in enumerate(cells if stands(layout, row) else ()):
            if row == layout.head and (column in tolerance_head or column in layout.sizes):
                continue
            if isinstance(cell, str) and (unit := unit_said(cell)) is not None:
                yield unit
