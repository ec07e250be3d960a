"""Figures of a fabric that somebody knows better than the constants: learnt from swatches, or simulated and calibrated.

In and out: `BetterKnown`; what is none is computed from the constants. Not covered: how they came to be known
(`swatch.learning`, `mechanics.calibration`), which of two stands (`study`).
"""

from __future__ import annotations

from dataclasses import dataclass

from loopwright.fabric.geometry import StitchGeometry
from loopwright.fabric.relaxation import Change
from loopwright.fabric.stretch import Stretch
from loopwright.figure import Basis, Figure

STANDS_ALONE = (Basis.MEASURED, Basis.SIMULATED)


@dataclass(frozen=True, slots=True)
class BetterKnown:
    """What is better known. `mass` is that of the structure with its floats laid over a wale; `lean` is signed."""

    geometry: StitchGeometry | None = None
    mass: Figure | None = None
    thickness: Figure | None = None
    lean: Figure | None = None
    stretch: Stretch | None = None
    change: Change | None = None

    @property
    def replaces_a_swatch(self) -> bool:
        """Whether the counts are so well known that no swatch has to be asked for."""
        return self.geometry is not None and self.geometry.wales_per_cm.basis in STANDS_ALONE


NOTHING = BetterKnown()
