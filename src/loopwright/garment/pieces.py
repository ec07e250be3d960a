"""Garments that came back: what was measured, weighed and found on each piece, and the table that a person types it in.

In: rows of cells, a row a piece under one head row (size, points of measure, mass, colour, faults). Out: `PiecesRead`,
pieces in cm and g with every cell that said nothing usable and its reason. Lengths are in the unit of their head, of
the table, or cm. Not covered: what the pieces prove (`study.returned`), files (`report.size_files`).
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from enum import StrEnum

from loopwright.garment.length_text import decimal_signs_of
from loopwright.garment.table_labels import PointLabels, labels_of, parted_label, plain_words, size_named, unit_said
from loopwright.garment.table_layout import Cell, CellNote, shown_cell
from loopwright.garment.table_text import NOT_GIVEN, cell_cm
from loopwright.problems import Problem
from loopwright.units import quantity

MOST_PIECES = 2000
HEAVIEST_G = 20_000.0


class FaultClass(StrEnum):
    """How much a fault matters: critical can hurt or breaks the law, major spoils the piece, minor is a blemish."""

    CRITICAL = "critical"
    MAJOR = "major"
    MINOR = "minor"


@dataclass(frozen=True, slots=True)
class Piece:
    """One garment on the table: measures in cm by point, mass in g, faults in words by class."""

    name: str
    size: str
    colour: str = ""
    measures_cm: Mapping[str, float] = field(default_factory=dict)
    mass_g: float | None = None
    faults: tuple[tuple[FaultClass, str], ...] = ()


@dataclass(frozen=True, slots=True)
class PiecesRead:
    """The pieces of a table, the unit of its lengths, and the cells that could not be used."""

    pieces: tuple[Piece, ...]
    unit: str
    is_unit_said: bool
    refused: tuple[CellNote, ...]


_WORDS = {
    "name": ("piece", "no", "number", "name", "sample"),
    "size": ("size",),
    "colour": ("colour", "color", "shade"),
    "mass": ("mass", "weight", "mass g", "weight g", "grams", "g"),
    **{each.value: (each.value, f"{each.value} fault") for each in FaultClass},
}


@dataclass(frozen=True, slots=True)
class _Head:
    """Where the columns stand: by role, and point with its unit by column."""

    row: int
    roles: Mapping[str, int]
    points: Mapping[int, tuple[str, str | None]]


def pieces_of_rows(
    rows: Sequence[Sequence[Cell]], points: Sequence[str], *, sizes: Sequence[str], unit: str | None = None
) -> PiecesRead:
    """Pieces from rows of cells; `points` and `sizes` are those of the garment, `unit` cm, mm or in.

    >>> rows = [["Piece", "Size", "Half chest", "Mass, g", "Major"], ["1", "M", "49,5", "214", ""]]
    >>> read = pieces_of_rows(rows, ["half_chest"], sizes=["M"])
    >>> read.pieces[0].measures_cm, read.pieces[0].mass_g
    ({'half_chest': 49.5}, 214.0)

    Raises:
        Problem: no head row with a size and a point of measure, no piece under it, or more than anybody measures.
    """
    head = _head_of(rows, labels_of(points))
    below = [(number, row) for number, row in enumerate(rows) if number > head.row and any(map(_is_said, row))]
    if not below:
        raise Problem("pieces", "no piece stands under the head row.", tries=["a row for each piece"])
    if len(below) > MOST_PIECES:
        raise Problem("pieces", f"the table has {len(below)} pieces.", limit=f"{MOST_PIECES}")
    said = unit or _unit_above(rows[: head.row + 1])
    signs = decimal_signs_of(cell for _, row in below for cell in row if isinstance(cell, str))
    refused: list[CellNote] = []
    read = (_piece(_Line(number, row, head, refused), sizes, said or "cm", signs) for number, row in below)
    pieces = tuple(piece for piece in read if piece is not None)
    return PiecesRead(pieces, said or "cm", said is not None, tuple(refused))


def _head_of(rows: Sequence[Sequence[Cell]], labels: PointLabels) -> _Head:
    """The first row that names a size column and something to look at."""
    for number, row in enumerate(rows[:20]):
        roles, points = _columns(row, labels)
        if "size" in roles and (points or len(roles) > 1):
            return _Head(number, roles, points)
    raise Problem(
        "pieces",
        "no head row names a column “size” and a point of measure.",
        tries=["a first row such as: Piece, Size, Half chest, Body length, Mass, Major, Minor"],
    )


def _columns(row: Sequence[Cell], labels: PointLabels) -> tuple[dict[str, int], dict[int, tuple[str, str | None]]]:
    roles: dict[str, int] = {}
    points: dict[int, tuple[str, str | None]] = {}
    for column, cell in enumerate(row):
        label, unit = parted_label(shown_cell(cell))
        point = labels.by_words_of(label) or labels.by_letter_of(label)
        role = next((role for role, words in _WORDS.items() if plain_words(shown_cell(cell)) in words), None)
        if role is not None:
            roles.setdefault(role, column)
        elif point is not None:
            points[column] = (point, unit)
    return roles, points


def _unit_above(rows: Sequence[Sequence[Cell]]) -> str | None:
    """The unit that a title gives to the whole table."""
    return next((said for row in rows[:-1] for cell in row if (said := unit_said(shown_cell(cell)))), None)


def _is_said(cell: Cell) -> bool:
    return cell is not None and (not isinstance(cell, str) or bool(cell.strip())) and cell not in NOT_GIVEN


@dataclass(frozen=True, slots=True)
class _Line:
    """A row under the head, with what could not be used of the table so far."""

    number: int
    cells: Sequence[Cell]
    head: _Head
    refused: list[CellNote]

    def cell(self, column: int | None) -> Cell:
        """A cell that says something; none otherwise."""
        content = self.cells[column] if column is not None and column < len(self.cells) else None
        return content if _is_said(content) else None

    def text(self, role: str) -> str:
        """The words in the column of a role."""
        return shown_cell(self.cell(self.head.roles.get(role))).strip()

    def refuse(self, column: int, reason: str) -> None:
        """Note a cell that could not be used."""
        self.refused.append(CellNote(self.number + 1, column + 1, shown_cell(self.cell(column)), reason))


def _piece(line: _Line, sizes: Sequence[str], unit: str, signs: frozenset[str]) -> Piece | None:
    """The piece of a row; none when its size is not known, which is told."""
    size = size_named(line.text("size"), sizes)
    if size is None or size not in sizes:
        line.refuse(line.head.roles["size"], f"no size of this garment; it has {', '.join(sizes)}")
        return None
    measures: dict[str, float] = {}
    for column, (point, own) in line.head.points.items():
        if (cell := line.cell(column)) is not None:
            try:
                measures[point] = cell_cm(cell, unit=own or unit, decimal_signs=signs)
            except Problem as problem:
                line.refuse(column, _reason(problem))
    mass_g = None
    if line.text("mass"):
        try:
            mass_g = _grams(line.text("mass"))
        except Problem as problem:
            line.refuse(line.head.roles["mass"], _reason(problem))
    name = line.text("name") or f"row {line.number + 1}"
    return Piece(name, size, line.text("colour"), measures, mass_g, tuple(_faults(line)))


def _faults(line: _Line) -> Iterator[tuple[FaultClass, str]]:
    for each in FaultClass:
        words = line.text(each.value)
        if words and words.casefold() not in ("0", "no", "none"):
            yield each, words


def _grams(words: str) -> float:
    value = quantity(words, "g")
    if not 0 < value <= HEAVIEST_G:
        raise Problem("mass", f"{value:g} g is no mass of a garment.", limit=f"above 0, up to {HEAVIEST_G:,.0f} g")
    return value


def _reason(problem: Problem) -> str:
    return " ".join(filter(None, [problem.what, problem.limit and f"Limit: {problem.limit}."]))
