"""A settled lattice followed over the whole picture.

In: brightness (wales about upright), a first basis in cycles per pixel of the picture. Out: `Measured`: the copy used,
the lattice's fields, and the proof that a cell is one stitch.
Assumed: about 12 pixels for the smaller pitch hold all there is to know; more pixels add time.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loopwright.swatch.photo.flatten import MOST_PX, Copy, Grey, Mask, copy_of, factor_for
from loopwright.swatch.photo.proof import Proof, proof_of
from loopwright.swatch.photo.refine import Fields, mean_basis, refined, whole_of
from loopwright.swatch.photo.repeats import Likeness, likeness_of
from loopwright.swatch.photo.search import middle_of

Array = NDArray[np.float64]

ENOUGH_PX = 11.0  # of the smaller pitch
LEAST_PX = 5.0
EDGE_PITCHES = 1.5


@dataclass(frozen=True, slots=True)
class Measured:
    """Lattice of one copy; `corner_px` is where the copy begins in the picture."""

    copy: Copy
    corner_px: tuple[int, int]
    fields: Fields
    likeness: Likeness
    proof: Proof

    @property
    def basis(self) -> Array:
        """Mean reciprocal basis in cycles per pixel of the picture: rows for wales and courses."""
        return mean_basis(self.fields) / self.copy.factor


def working_copy(grey: Grey, cloth: Mask | None, basis: Array) -> tuple[Copy, tuple[int, int]]:
    """The copy that holds the stitches: whole and reduced, or the middle of the picture where stitches are tiny."""
    pitch = float(1 / np.linalg.norm(basis, axis=1).max())
    factor = max(1, int(pitch / ENOUGH_PX))
    least = factor_for(grey.shape, MOST_PX)
    if factor >= least or pitch / least >= LEAST_PX:
        return copy_of(grey, cloth, max(factor, least)), (0, 0)
    part = middle_of(grey, cloth, factor, MOST_PX)
    return copy_of(part.grey, part.cloth, factor), part.corner_px


def measured(grey: Grey, cloth: Mask | None, basis: Array, repeat: tuple[int, int]) -> Measured | None:
    """The lattice followed by phase; None when the picture doesn't follow it."""
    copy, corner = working_copy(grey, cloth, basis)
    whole = whole_of(copy, EDGE_PITCHES / float(np.linalg.norm(basis, axis=1).min()) / copy.factor)
    fields = refined(whole, basis * copy.factor)
    likeness = None if fields is None else likeness_of(copy, fields)
    if fields is None or likeness is None:
        return None
    return Measured(copy, corner, fields, likeness, proof_of(likeness, repeat))
