"""A buyer's measurement table brought into a style: what to write so that the style says what the table says.

In: the table as read, the style document. Out: `Brought`: the fields to write, the document with them, every cell that
then differs (old and new cm, and which way it came), what stays, what is left out and why. The document is worked out
anew after each round of writing, because points that nobody typed follow from those that somebody did; what the grade
gives stays graded, what it does not give is set by hand.
Not covered: reading the table (`garment.table_text`), saving (`store`, the command line), tolerances, which a style
does not hold.
"""

from __future__ import annotations

import copy
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import Any

from loopwright.garment.grading import SizeTable
from loopwright.garment.measures import OTHER_WORDS, as_point, check_ranges, tolerance_cm
from loopwright.garment.table_changes import SAME_CM, table_changes
from loopwright.garment.table_text import TableRead
from loopwright.problems import Problem
from loopwright.study.garment_table import garment_table
from loopwright.study.style import read_style

Path = tuple[str, ...]
Document = dict[str, Any]

WRITTEN_DECIMALS = 4  # of a centimetre: a thousandth of a millimetre, far below any tape


class Way(StrEnum):
    """How a cell comes to its new measure."""

    BASE = "base size"
    BY_HAND = "set by hand"
    GRADED = "graded"
    FOLLOWS = "follows from the others"


@dataclass(frozen=True, slots=True)
class CellChange:
    """A cell of the style that differs once the table is taken: cm before and after."""

    size: str
    point: str
    old_cm: float
    new_cm: float
    way: Way


@dataclass(frozen=True, slots=True)
class KeptCell:
    """A cell that was read and is not taken, with its reason."""

    size: str
    point: str
    reason: str


@dataclass(frozen=True, slots=True)
class OtherTolerance:
    """A tolerance of the table beside that of the style, cm."""

    point: str
    theirs_cm: float
    ours_cm: float


@dataclass(frozen=True, slots=True)
class Brought:
    """A table brought into a style. `writes` are fields of the document with their values, None where one goes out.

    `same`: cells (size, point) of the table that the style says already and goes on saying; `contradictions`: what the
    new measures cannot be together.
    """

    read: TableRead
    before: SizeTable
    after: SizeTable
    document: Document
    writes: Mapping[Path, float | None]
    changes: tuple[CellChange, ...]
    same: tuple[tuple[str, str], ...]
    kept: tuple[KeptCell, ...]
    not_given: tuple[tuple[str, str], ...]
    unknown_sizes: tuple[str, ...]
    tolerances: tuple[OtherTolerance, ...]
    contradictions: tuple[Problem, ...]


def brought_table(read: TableRead, document: Document) -> Brought:
    """What `read` makes of the style in `document`, which itself stays as it is.

    Raises:
        Problem: the style has no size table, or none can be made with these measures.
    """
    before = document_table(document)
    read, kept = _possible(read, before)
    writes: dict[Path, float | None] = {}
    changed, after = copy.deepcopy(document), before
    for _ in range(len(before.cells) + 1):  # each round settles a cell at least
        step = _writes(read, after, changed)
        if not step:
            break
        writes |= step
        _put(changed, step)
        after = _table_with(changed, read)
    told = table_changes(read, after)
    changes = tuple(_changes(before, after, writes))
    moved = {(change.size, change.point) for change in changes}
    return Brought(
        read=read,
        before=before,
        after=after,
        document=changed,
        writes=writes,
        changes=changes,
        same=tuple(cell for cell in told.same if cell not in moved),
        kept=kept,
        not_given=told.not_given,
        unknown_sizes=told.unknown_sizes,
        tolerances=tuple(_tolerances(read)),
        contradictions=tuple(_new_contradictions(before, after)),
    )


def document_table(document: Document) -> SizeTable:
    """The size table of a style document.

    Raises:
        Problem: no garment in it, or one whose table cannot be made.
    """
    garment = read_style(document).garment
    if garment is None:
        raise Problem("sizes", "there is no size table yet.", tries=["say body and sizes under garment"], is_gap=True)
    return garment_table(garment)


def _table_with(changed: Document, read: TableRead) -> SizeTable:
    """The size table with new measures; where they cannot be one, the unit is the first thing to look at."""
    try:
        return document_table(changed)
    except Problem as problem:
        unit = [] if read.is_unit_said else [f"the unit of the table: it names none, and {read.unit} was taken"]
        raise Problem(problem.where, problem.what, limit=problem.limit, tries=[*unit, *problem.tries]) from None


def _possible(read: TableRead, table: SizeTable) -> tuple[TableRead, tuple[KeptCell, ...]]:
    """The table without measures that the point cannot have, and those with their reasons."""
    kept = []
    for (size, point), value_cm in read.measures_cm.items():
        try:
            check_ranges({point: value_cm}, "measure")
        except Problem as problem:
            if size in table.sizes:
                kept.append(KeptCell(size, point, f"{problem.what} Limit: {problem.limit}."))
    out = {(cell.size, cell.point) for cell in kept}
    rest = {cell: value_cm for cell, value_cm in read.measures_cm.items() if cell not in out}
    return replace(read, measures_cm=rest), tuple(kept)


def _writes(read: TableRead, table: SizeTable, document: Document) -> dict[Path, float | None]:
    """The fields that this round writes, and the same measures in other words that go out for them."""
    changes = table_changes(read, table)
    writes: dict[Path, float | None] = {}
    for path, value_cm in (
        *((("garment", "measures_cm", each.point), each.new_cm) for each in changes.base),
        *((("garment", "hand_set_cm", each.size, each.point), each.new_cm) for each in changes.by_hand),
    ):
        writes |= dict.fromkeys(_in_other_words(document, table, path))
        writes[path] = round(value_cm, WRITTEN_DECIMALS)
    return writes


def said_in_other_words(document: Document, paths: Iterable[Path]) -> tuple[Path, ...]:
    """Fields of a style that say the measures at `paths` in other words ("armhole_depth" beside the straight armhole).

    They have to go out when the measures themselves are written, or they would stand twice.

    Raises:
        Problem: the style has no size table, or none can be made.
    """
    table = document_table(document)
    others = (other for path in paths if _is_measure(path) for other in _in_other_words(document, table, path))
    return tuple(dict.fromkeys(others))


def _is_measure(path: Path) -> bool:
    return (path[:2], len(path)) in (
        (("garment", "measures_cm"), BASE_PATH),
        (("garment", "hand_set_cm"), HAND_SET_PATH),
    )


BASE_PATH, HAND_SET_PATH = 3, 4  # garment, measures_cm, point; garment, hand_set_cm, size, point


def _in_other_words(document: Document, table: SizeTable, path: Path) -> Iterator[Path]:
    *place, point = path
    size = table.base_size if len(path) == BASE_PATH else path[2]
    held: Any = document
    for key in place:
        held = held.get(key) or {}
    known = frozenset(table.names)
    words = [word for word in OTHER_WORDS if word in held and word not in known]
    if not words or size not in table.sizes:
        return
    around = {name: table.value_cm(size, name) for name in table.names}
    for word in words:
        if as_point(word, LONG_ENOUGH_CM, around, shape=table.shape, known=known)[0] == point:
            yield (*place, word)


LONG_ENOUGH_CM = 300.0  # only the name is asked for; deeper than any shoulder drop


def _put(document: Document, writes: Mapping[Path, float | None]) -> None:
    for path, value in writes.items():
        *tables, last = path
        held = document
        for key in tables:
            held = held.setdefault(key, {})
        if value is None:
            held.pop(last, None)
        else:
            held[last] = value


def _changes(before: SizeTable, after: SizeTable, writes: Mapping[Path, float | None]) -> Iterator[CellChange]:
    for point in after.names:
        for size in after.sizes:
            old_cm, new_cm = before.value_cm(size, point), after.value_cm(size, point)
            way = _way(after, writes, size, point)
            if way in (Way.BASE, Way.BY_HAND) or abs(new_cm - old_cm) > SAME_CM:
                yield CellChange(size, point, old_cm, new_cm, way)


def _way(after: SizeTable, writes: Mapping[Path, float | None], size: str, point: str) -> Way:
    if ("garment", "hand_set_cm", size, point) in writes:
        return Way.BY_HAND
    if size == after.base_size and ("garment", "measures_cm", point) in writes:
        return Way.BASE
    return Way.FOLLOWS if size == after.base_size or after.is_hand_set(size, point) else Way.GRADED


def _tolerances(read: TableRead) -> Iterator[OtherTolerance]:
    for point, theirs_cm in read.tolerances_cm.items():
        if abs(theirs_cm - tolerance_cm(point)) > SAME_CM:
            yield OtherTolerance(point, theirs_cm, tolerance_cm(point))


def _new_contradictions(before: SizeTable, after: SizeTable) -> Iterator[Problem]:
    known = {problem.sentence() for problem in _contradictions(before)}
    return (problem for problem in _contradictions(after) if problem.sentence() not in known)


def _contradictions(table: SizeTable) -> Iterator[Problem]:
    for size in table.sizes:
        try:
            table.measures(size)
        except Problem as problem:
            yield problem
