"""What a measurement table would change in a style: measures of the base size, and cells that leave the grade.

In: the table as read, the size table of the style. Out: `TableChanges`, every cell that differs by more than half a
millimetre, old and new. A new measure of the base size carries its graded sizes with it; only what the grade does not
give then is a cell to set by hand, so graded and hand-set stay apart.
Assumption: the grade adds to the base measure and does not depend on it, as `grading` has it; a base size that is set
by hand carries nothing with it.
Not covered: writing into a style (the caller's), measures that contradict each other (`measures`).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from loopwright.garment.grading import SizeTable
from loopwright.garment.table_text import TableRead

SAME_CM = 0.05  # half a millimetre: closer than that no tape tells two measures apart
ROUNDING_CM = 1e-9  # what a difference of two decimals may be off as the machine holds them


@dataclass(frozen=True, slots=True)
class MeasureChange:
    """A cell that differs: cm now and cm in the table read."""

    size: str
    point: str
    old_cm: float
    new_cm: float


@dataclass(frozen=True, slots=True)
class TableChanges:
    """What to write into a style so that it says what the table says.

    `base` are measures of the base size, `by_hand` cells that the grade does not give once the base is changed, `same`
    cells (size, point) that need nothing written, `unknown_sizes` those that the style does not have, `not_given` cells
    of the style that the table leaves out.
    """

    base: tuple[MeasureChange, ...]
    by_hand: tuple[MeasureChange, ...]
    same: tuple[tuple[str, str], ...]
    unknown_sizes: tuple[str, ...]
    not_given: tuple[tuple[str, str], ...]

    def hand_set_cm(self) -> dict[str, dict[str, float]]:
        """Cells to set by hand, cm, by size and point."""
        cells: dict[str, dict[str, float]] = {}
        for change in self.by_hand:
            cells.setdefault(change.size, {})[change.point] = change.new_cm
        return cells

    def base_cm(self) -> dict[str, float]:
        """Measures of the base size to write, cm, by point."""
        return {change.point: change.new_cm for change in self.base}


def table_changes(read: TableRead, table: SizeTable) -> TableChanges:
    """What `read` changes in `table`."""
    base: list[MeasureChange] = []
    by_hand: list[MeasureChange] = []
    same: list[tuple[str, str]] = []
    not_given: list[tuple[str, str]] = []
    for size in table.sizes:
        for point in table.names:
            new_cm = read.measures_cm.get((size, point))
            if new_cm is None:
                not_given.append((size, point))
            elif abs(new_cm - _cm_without_writing(read.measures_cm, table, size, point)) <= SAME_CM + ROUNDING_CM:
                same.append((size, point))
            else:
                change = MeasureChange(size, point, table.value_cm(size, point), new_cm)
                carries = size == table.base_size and not table.is_hand_set(size, point)
                (base if carries else by_hand).append(change)
    unknown = tuple(size for size in read.sizes if size not in table.sizes)
    return TableChanges(tuple(base), tuple(by_hand), tuple(same), unknown, tuple(not_given))


def _cm_without_writing(read_cm: Mapping[tuple[str, str], float], table: SizeTable, size: str, point: str) -> float:
    """What a cell holds when only the base size is changed, cm: a graded cell moves with it, others stay."""
    now = table.value_cm(size, point)
    if size == table.base_size or any(table.is_hand_set(each, point) for each in (size, table.base_size)):
        return now
    base_now = table.value_cm(table.base_size, point)
    base_new = read_cm.get((table.base_size, point), base_now)
    return now + (base_new - base_now if abs(base_new - base_now) > SAME_CM + ROUNDING_CM else 0.0)
