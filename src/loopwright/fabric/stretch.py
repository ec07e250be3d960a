"""Stretch: how far a fabric opens under the hand, and where the yarn stops it.

In: structure, loop length, yarn diameter, geometry. Out: extension bands (%) at about 2.5 N/cm, geometric ceilings.
Assumption: bands are those of the trade; ceilings take the yarn as inextensible and each U-turn as π·d. Valid:
relaxed fabrics; ceilings for plain only. Not covered: recovery (`swatch`, later), elastane.
Sources: knit_characters (order of structures), fletcher_1952 (Peirce's loop); eqs 9.2, 9.3 of the fabric reference.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from loopwright.fabric.kin import row_for
from loopwright.figure import Figure, State, banded
from loopwright.sources.table import Row
from loopwright.structure.library import Structure


@dataclass(frozen=True, slots=True)
class Stretch:
    """Extension at a moderate hand force in both directions, %."""

    width_percent: Figure
    length_percent: Figure


def course_spacing_when_pulled_mm(*, loop_length_mm: float, wale_spacing_mm: float, diameter_mm: float) -> float:
    """Course spacing of plain pulled to a wale spacing, at constant loop length: p = (l − a − 5.94 d)/2 (eq 9.2).

    >>> round(course_spacing_when_pulled_mm(loop_length_mm=5.082, wale_spacing_mm=1.69, diameter_mm=0.30), 3)    # F-51
    0.805
    """
    return (loop_length_mm - wale_spacing_mm - 5.94 * diameter_mm) / 2


def largest_wale_spacing_mm(*, loop_length_mm: float, diameter_mm: float) -> float:
    """Width at which all yarn of a plain loop lies coursewise: l − 2·π·d (eq 9.3)."""
    return loop_length_mm - 2 * math.pi * diameter_mm


def largest_course_spacing_mm(*, loop_length_mm: float, diameter_mm: float) -> float:
    """Height at which all yarn of a plain loop lies walewise: l/2 − π·d + d (eq 9.3)."""
    return loop_length_mm / 2 - math.pi * diameter_mm + diameter_mm


def stretch_of(structure: Structure, state: State) -> Stretch:
    """Extension bands of a structure; the likely value is the geometric middle of the band."""
    row = row_for("stretch", structure)
    return Stretch(_band(row, structure, "width", state), _band(row, structure, "length", state))


def _band(row: Row, structure: Structure, direction: str, state: State) -> Figure:
    low, high = row[f"{direction}_low_percent"], row[f"{direction}_high_percent"]
    return banded(
        f"{direction} stretch",
        math.sqrt(low * high),
        "%",
        low=low,
        high=high,
        basis=row.basis,
        words=f"{structure.name}, relaxed, at about 2.5 N/cm; band of the trade, measure a swatch to narrow it",
        source=row.source,
        state=state,
    )
