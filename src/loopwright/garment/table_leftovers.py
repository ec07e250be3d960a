"""What stands in a measurement table and is no measure: every such cell is told, so that nothing is lost silently.

In: a `Layout`. Out: cells that were meant as measures and are refused, and cells that only were passed over (titles,
how to measure, notes), each with its reason. A size or a point that stands twice is refused in all its places.
Not covered: numbers that cannot be read (`table_text`).
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Hashable, Iterator, Mapping
from typing import TypeVar

from loopwright.garment.length_text import TABLE_UNITS, unit_named
from loopwright.garment.measures import letter_of_point, words_of
from loopwright.garment.table_labels import PointLabels, Role, role_of
from loopwright.garment.table_layout import CellNote, Layout, shown_cell

Named = TypeVar("Named", bound=Hashable)


def once(named: Mapping[int, Named]) -> dict[int, Named]:
    """The places whose name stands nowhere else.

    >>> once({2: "S", 3: "M", 4: "S"})
    {3: 'M'}
    """
    times = Counter(named.values())
    return {place: name for place, name in named.items() if times[name] == 1}


def roles_of(layout: Layout) -> dict[int, Role]:
    """Columns that are no size and say by their head what they are for."""
    heads = {
        column: role_of(shown_cell(head))
        for column, head in enumerate(layout.grid[layout.head])
        if column not in layout.sizes and column not in layout.label_columns
    }
    return {column: role for column, role in heads.items() if role is not None}


def refused_labels(layout: Layout, labels: PointLabels) -> Iterator[CellNote]:
    """Heads and row labels whose measures are left out."""
    head = layout.head
    for column in sorted(layout.sizes.keys() - once(layout.sizes).keys()):
        yield layout.note(head, column, f"size {layout.sizes[column]} stands twice; keep one of them")
    roles = roles_of(layout)
    for column in sorted(roles.keys() - once(roles).keys()):
        if roles[column] is not Role.WORDS:
            yield layout.note(head, column, f"the {roles[column].value} stands twice; give one that holds both ways")
    for column in _columns_of_others(layout):
        rows = [row for row in range(head + 1, len(layout.grid)) if _looks_like_a_number(layout, row, column)]
        if rows and layout.grid[head][column] is not None:
            yield layout.note(head, column, "no size; the column is left out")
        elif rows:
            yield layout.note(rows[0], column, "no size stands over this column")
    yield from _refused_rows(layout, labels)


def _refused_rows(layout: Layout, labels: PointLabels) -> Iterator[CellNote]:
    single = once(layout.points)
    for row in range(layout.head + 1, len(layout.grid)):
        label = layout.label(row)
        values = _values_of(layout, row)
        if row in layout.points and row not in single and label:
            yield layout.note(row, label[0], f"{words_of(layout.points[row])} stands twice; keep one of them")
        elif row not in layout.points and values and not is_row_of_units(layout, row):
            if label is None:
                yield layout.note(row, values[0], "no point of measure is named in this row")
            else:
                yield layout.note(row, label[0], _no_point(label[1], labels))


def _no_point(label: str, labels: PointLabels) -> str:
    near = labels.nearest(label)
    return "no point of measure of this garment" + (f"; near it: {', '.join(near)}" if near else "")


def passed_over(layout: Layout, labels: PointLabels) -> Iterator[CellNote]:
    """Cells that nobody meant as a measure."""
    for row in range(layout.head):
        for column, cell in enumerate(layout.grid[row]):
            if cell is not None:
                yield layout.note(row, column, "stands above the sizes")
    for column, role in roles_of(layout).items():
        if role is Role.WORDS:
            yield layout.note(layout.head, column, "words, read by people only")
    for column in _columns_of_others(layout):
        if not any(_looks_like_a_number(layout, row, column) for row in range(layout.head + 1, len(layout.grid))):
            filled = [row for row in range(layout.head, len(layout.grid)) if layout.grid[row][column] is not None]
            yield from (layout.note(row, column, "words, no measure") for row in filled[:1])
    for row in range(layout.head + 1, len(layout.grid)):
        yield from _passed_over_in(layout, labels, row)


def _passed_over_in(layout: Layout, labels: PointLabels, row: int) -> Iterator[CellNote]:
    letter = None if layout.letter_column is None else layout.grid[row][layout.letter_column]
    if row not in layout.points:
        label = layout.label(row)
        if label is not None and (not _values_of(layout, row) or is_row_of_units(layout, row)):
            yield layout.note(row, label[0], "a row without measures")
    elif isinstance(letter, str) and layout.letter_column is not None:
        other = labels.by_letter_of(letter)
        if other != layout.points[row]:
            own = letter_of_point(layout.points[row])
            yield layout.note(row, layout.letter_column, f"the words were followed; their letter here is {own}")


def _columns_of_others(layout: Layout) -> list[int]:
    """Columns that are neither size nor label nor say what they are for, and are not empty."""
    known = {*layout.sizes, *layout.label_columns, *roles_of(layout)}
    filled = [column for column, cells in enumerate(zip(*layout.grid, strict=True)) if any(cells[layout.head :])]
    return [column for column in filled if column not in known]


def _looks_like_a_number(layout: Layout, row: int, column: int) -> bool:
    cell = layout.grid[row][column]
    return cell is not None and (not isinstance(cell, str) or any(sign.isdigit() for sign in cell[:3]))


def _values_of(layout: Layout, row: int) -> list[int]:
    return [column for column in layout.sizes if layout.grid[row][column] is not None]


def is_row_of_units(layout: Layout, row: int) -> bool:
    """Whether a row holds nothing but units under its sizes."""
    cells = [layout.grid[row][column] for column in _values_of(layout, row)]
    return bool(cells) and all(isinstance(cell, str) and unit_named(cell) in TABLE_UNITS for cell in cells)
