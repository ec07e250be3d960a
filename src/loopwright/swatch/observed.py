"""What a swatch says: one quantity, in one state, with the error of its mean.

In: readings reduced elsewhere (ruler, scale, photo). Out: `Observed`, the one form in which measurements reach the
learning and the study. Counts are visible wales and courses; lean is positive when the upper end of the wales leans
right on the technical face; changes are in per cent of the length before, negative when the cloth shrinks.
Not covered: the record of a swatch (`specimen`), statistics of readings (`statistics`).
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from loopwright.figure import State
from loopwright.structure.library import Structure
from loopwright.yarn.yarn import Yarn


class Quantity(StrEnum):
    """What can be measured on a swatch; the tail of the name is its unit."""

    WALES = "wales_per_cm"
    COURSES = "courses_per_cm"
    MASS = "mass_g_per_m2"
    THICKNESS = "thickness_mm"
    WIDTH_CHANGE = "width_change_percent"
    LENGTH_CHANGE = "length_change_percent"
    LEAN = "lean_percent"
    WIDTH_STRETCH = "width_stretch_percent"
    LENGTH_STRETCH = "length_stretch_percent"

    @property
    def unit(self) -> str:
        """The unit as it is written: per cm, g/m², mm or %."""
        return next(written for tail, written in _UNITS.items() if self.value.endswith(tail))

    @property
    def is_ratio(self) -> bool:
        """Whether it is positive and its errors are shares of it, so that its logarithm is learnt."""
        return self not in (Quantity.WIDTH_CHANGE, Quantity.LENGTH_CHANGE, Quantity.LEAN)


_UNITS = {"_per_cm": "per cm", "_g_per_m2": "g/m²", "_mm": "mm", "_percent": "%"}


@dataclass(frozen=True, slots=True)
class Observed:
    """One quantity of one swatch in one state.

    `standard_error` is that of the mean of the readings, in the unit of the quantity. `washes` counts the launderings
    behind the swatch. `days_old` is how long ago it was measured; the shell fills it, nothing here reads a clock.
    """

    swatch: str
    structure: Structure
    yarn: Yarn
    loop_length_mm: float
    state: State
    quantity: Quantity
    value: float
    standard_error: float
    washes: int = 0
    lot: str = ""
    days_old: float = 0.0
