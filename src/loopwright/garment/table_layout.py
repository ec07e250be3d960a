"""Where sizes and points of measure stand in a block of cells: sizes across or sizes down, titles above.

In: rows of cells as pasted or read from a file. Out: `Layout`, the grid turned so that sizes run across, with the point
of each row and the size of each column. Assumption: one table in the block; of the two ways to read it, the one that
names more points and sizes at once is right.
Not covered: what a label means (`table_labels`), the numbers (`table_text`), the cells beside them (`table_leftovers`).
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from loopwright.garment.measures import words_of
from loopwright.garment.sizes import letter_of
from loopwright.garment.table_labels import PointLabels, Role, labels_of, parted_label, role_of, size_named
from loopwright.problems import Problem

Cell = str | float | None
Grid = tuple[tuple[Cell, ...], ...]

MOST_ROWS, MOST_COLUMNS = 500, 100  # a size table of a hundred points in thirty sizes is far inside
SHOWN_SIGNS = 60
SURER = 3  # a number can be a size or a measure, L and M a size or a point; "Half chest" and "XL" are what they are


@dataclass(frozen=True, slots=True)
class CellNote:
    """A cell that gave no measure: row and column from 1 as a spreadsheet counts, its text, the reason."""

    row: int
    column: int
    text: str
    reason: str


@dataclass(frozen=True, slots=True)
class Layout:
    """One way to read a grid: which column holds words, which letters, point by row, the head row, size by column.

    `is_turned`: sizes run down in the block that the person sees.
    """

    grid: Grid
    is_turned: bool
    words_column: int | None
    letter_column: int | None
    points: Mapping[int, str]
    head: int
    sizes: Mapping[int, str]

    @property
    def score(self) -> int:
        """How much the reading explains: points times sizes, words and letter sizes surer than letters and numbers."""
        words = sum(
            self.words_column is not None and self.grid[row][self.words_column] is not None for row in self.points
        )
        letters = sum(letter_of(size) is not None for size in self.sizes.values())
        return (len(self.points) + SURER * words) * (len(self.sizes) + SURER * letters)

    @property
    def label_columns(self) -> tuple[int, ...]:
        """Columns that name the points, words first."""
        return tuple(column for column in (self.words_column, self.letter_column) if column is not None)

    def label(self, row: int) -> tuple[int, str] | None:
        """(column, text) of what names a row: its words, else its letter."""
        cells = self.grid[row]
        texts = ((column, shown_cell(cells[column])) for column in self.label_columns if cells[column] is not None)
        return next(texts, None)

    def note(self, row: int, column: int, reason: str) -> CellNote:
        """A remark on one cell, at the place where the person sees it."""
        at = (column, row) if self.is_turned else (row, column)
        return CellNote(at[0] + 1, at[1] + 1, shown_cell(self.grid[row][column]), reason)


def layout_of(rows: Sequence[Sequence[Cell]], points: Sequence[str], sizes: Sequence[str] = ()) -> Layout:
    """Where sizes and points stand in `rows`; `points` are those of the garment, `sizes` the labels it knows.

    Raises:
        Problem: too many cells, no size or no point of measure among them, or two readings that are equally good.
    """
    grid, labels = _squared(rows), labels_of(points)
    upright = _layout(grid, labels, sizes, is_turned=False)
    turned = _layout(tuple(zip(*grid, strict=True)), labels, sizes, is_turned=True)
    if not upright.score and not turned.score:
        raise _nothing_found(max(upright, turned, key=lambda each: len(each.points)), points)
    if upright.score == turned.score:
        what = "rows and columns can both be the sizes."
        raise Problem("size table", what, tries=["the points of measure in words instead of letters"])
    return upright if upright.score > turned.score else turned


def shown_cell(cell: Cell) -> str:
    """A cell as a person reads it, a long one cut."""
    text = "" if cell is None else cell if isinstance(cell, str) else f"{cell:g}"
    return text if len(text) <= SHOWN_SIGNS else f"{text[: SHOWN_SIGNS - 1]}…"


def _squared(rows: Sequence[Sequence[Cell]]) -> Grid:
    """The rows filled up to one width, texts stripped, empty texts as nothing."""
    width = max((len(row) for row in rows), default=0)
    if len(rows) > MOST_ROWS or width > MOST_COLUMNS:
        what = f"the block has {len(rows)} rows and {width} columns."
        limit = f"{MOST_ROWS} rows and {MOST_COLUMNS} columns"
        raise Problem("size table", what, limit=limit, tries=["only the size table", "a sheet of its own for it"])
    return tuple(tuple(_clean(cell) for cell in row) + (None,) * (width - len(row)) for row in rows)


def _clean(cell: Cell) -> Cell:
    return (cell.strip("\ufeff\u200b \t\r\n\u00a0") or None) if isinstance(cell, str) else cell


def _nothing_found(layout: Layout, points: Sequence[str]) -> Problem:
    if not layout.points:
        known = "; ".join(words_of(point) for point in points)
        what = "no point of measure of this garment is named in it."
        return Problem("size table", what, limit=f"points: {known}", tries=["a column with the points of measure"])
    count = len(layout.points)
    what = f"no size stands over its {count} points of measure." if count > 1 else "no size stands over its measure."
    tries = ["a head row with the sizes, such as S, M, L or 92, 98, 104", "tabs or semicolons between the cells"]
    return Problem("size table", what, tries=tries)


def _layout(grid: Grid, labels: PointLabels, sizes: Sequence[str], *, is_turned: bool) -> Layout:
    words_column, first = _label_column(grid, labels.by_words_of)
    letter_column, _ = _label_column(grid, labels.by_letter_of, taken=words_column, first=first)
    points: dict[int, str] = {}
    for row, cells in enumerate(grid):
        words = None if words_column is None else cells[words_column]
        letter = None if letter_column is None else cells[letter_column]
        point = _point(labels.by_letter_of, letter) if words is None else _point(labels.by_words_of, words)
        if point is not None:
            points[row] = point
    apart = {words_column, letter_column}
    heads = {row: _sizes_of(grid[row], sizes, apart) for row in range(min(points, default=0))}
    head = max(heads, key=lambda row: (_letters_in(heads[row], sizes), len(heads[row]), -row), default=0)
    return Layout(grid, is_turned, words_column, letter_column, points, head, heads.get(head, {}))


def _label_column(
    grid: Grid, point_of: Callable[[str], str | None], *, taken: int | None = None, first: int = 0
) -> tuple[int | None, int]:
    """(column, first row) of the column in which most cells from row `first` on name a point, more than are numbers.

    None when no column names any.
    """
    best, most, top = None, 0, 0
    for column, cells in enumerate(zip(*grid, strict=True)):
        named = [row for row in range(first, len(grid)) if _point(point_of, cells[row]) is not None]
        if column == taken or len(named) <= max(most, sum(map(_is_number, cells))):
            continue
        if not any(_is_head_of_another(shown_cell(cell)) for cell in cells[: named[0]]):
            best, most, top = column, len(named), named[0]
    return best, top


def _is_head_of_another(head: str) -> bool:
    """Whether the cells under a head are notes, or measures of a size, and name no points."""
    return role_of(head) is Role.WORDS or letter_of(head) is not None


def _point(point_of: Callable[[str], str | None], cell: Cell) -> str | None:
    return point_of(parted_label(cell)[0]) if isinstance(cell, str) else None


def _is_number(cell: Cell) -> bool:
    return cell is not None and (not isinstance(cell, str) or cell[0].isdigit())


def _sizes_of(cells: Sequence[Cell], known: Sequence[str], apart: set[int | None]) -> dict[int, str]:
    named = {column: size_named(shown_cell(cell), known) for column, cell in enumerate(cells) if column not in apart}
    return {column: size for column, size in named.items() if size is not None}


def _letters_in(sizes: Mapping[int, str], known: Sequence[str]) -> int:
    return sum(size in known or letter_of(size) is not None for size in sizes.values())
