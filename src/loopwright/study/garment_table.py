"""The size table of a style's garment: the person's decisions handed to the grading.

In: the garment as the style says it. Out: `SizeTable`, cm. Not covered: bodies, ease and grade themselves (`garment`).
"""

from __future__ import annotations

from loopwright.garment.spec import SizeTable, size_table_of
from loopwright.study.style import Garment


def garment_table(garment: Garment) -> SizeTable:
    """Every measure of every size of a garment.

    Raises:
        Problem: unknown sizes or measures, or measures that contradict each other.
    """
    return size_table_of(
        population=garment.population,
        sizes=garment.sizes,
        base_size=garment.base_size,
        fit=garment.fit,
        chest_ease_cm=garment.chest_ease_cm,
        typed_cm=garment.measures_cm,
        hand_set_cm=garment.hand_set_cm,
        grade_cm=garment.grade_cm,
        shape=garment.shape,
    )
