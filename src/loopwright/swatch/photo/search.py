"""The search for the cell: small copies first, the lattice that explains most with the smallest cell.

In: brightness and the cloth mask. Out: `Found`: reciprocal basis in cycles per pixel of the picture and its coherence;
it may hold several stitches or less than one, which `settling` tells. Fine copies are looked at only where the coarse
ones show no good stitch, and then only the middle of the picture. What repeats in a reduced copy has to repeat in one
twice as fine: stitches smaller than two of its pixels beat with the grid of pixels and look like large ones.
Source: steps 2 to 6 of the note on swatch pictures.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loopwright.swatch.photo.candidates import MOST_CELL_PX, candidates_of
from loopwright.swatch.photo.coherence import Table, table_of
from loopwright.swatch.photo.flatten import Copy, Grey, Mask, copy_of, factor_for
from loopwright.swatch.photo.lattice import cell_px, doubled, halved, reduced, same
from loopwright.swatch.photo.peaks import peaks_of
from loopwright.swatch.photo.spectrum import Spectra, spectra_of, standing_out

Array = NDArray[np.float64]

COARSE_PX, FINE_PX = 450_000, 700_000
SHORTEST_SIDE = 90
GOOD_CELL_PX, GOOD_COHERENCE = 8.0, 0.2
BEST_CELL_PX = 11.0
NEARLY = 0.9
SHOWN = 0.1  # of the share that repeats: white noise leaves a quarter of it in a copy twice as fine; prior


@dataclass(frozen=True, slots=True)
class Found:
    """A lattice of the picture: basis in cycles per pixel, and the share of the texture that repeats with it."""

    basis: Array
    coherence: float


@dataclass(slots=True)
class Scales:
    """A picture, its spectra by (pixels of the picture in one, side of the window), and the lattices proposed."""

    grey: Grey
    cloth: Mask | None
    spectra: dict[tuple[int, int], Spectra]
    proposed: list[Array]
    is_moire: bool = False  # what repeats well in a reduced copy was not there in a finer one

    def level_for(self, basis: Array) -> int:
        """The copy whose pixels fit a cell best."""
        factors = sorted({factor for factor, _ in self.spectra})
        return min(factors, key=lambda factor: abs(math.log(cell_px(basis) / factor / BEST_CELL_PX)))

    def table(self, basis: Array, level: int | None = None) -> Table:
        """Powers of a lattice at its own copy, or at a given one."""
        level = level or self.level_for(basis)
        return table_of(self.spectra[level, 128], basis * level)

    def clearest(self, size_px: float) -> Spectra:
        """The finest copy in whose windows a cell of that size (px of the picture) is seen with its neighbours."""
        wide = [key for key in self.spectra if key[1] == 256] or list(self.spectra)
        fit = [key for key in wide if size_px / key[0] < MOST_CELL_PX]
        return self.spectra[min(fit) if fit else max(wide)]

    def add(self, copy: Copy) -> None:
        """Spectra of one more copy."""
        for side in (128, 256):
            if side == 256 and min(copy.shape) < 200:
                continue
            spectra = spectra_of(copy, side)
            if spectra is not None:
                self.spectra[copy.factor, side] = spectra

    def add_middle(self, factor: int) -> None:
        """Spectra of the middle of the picture at a fine copy."""
        part = middle_of(self.grey, self.cloth, factor)
        self.add(copy_of(part.grey, part.cloth, factor))

    def finer(self, spectra: Spectra) -> Spectra | None:
        """Spectra of a copy twice as fine; none when there is none."""
        factor = max(1, int(spectra.factor) // 2)
        if factor == spectra.factor:
            return None
        if (factor, 128) not in self.spectra:
            self.add_middle(factor)
        return self.spectra.get((factor, 256)) or self.spectra.get((factor, 128))

    def propose(self, factor: int) -> None:
        """The lattices that the spectra of one copy propose."""
        for side in (128, 256):
            spectra = self.spectra.get((factor, side))
            if spectra is not None:
                standing = standing_out(spectra.power)
                found = candidates_of(standing, peaks_of(standing))
                self.proposed.extend(basis / factor for basis in found)

    def drop_moire(self) -> None:
        """Lattices that a finer copy doesn't show are none."""
        gone = [basis for basis in distinct(self.proposed) if not self.shows_again(basis)]
        self.is_moire = self.is_moire or any(self.table(basis).coherence > GOOD_COHERENCE for basis in gone)
        self.proposed = [basis for basis in self.proposed if not any(same(basis, other) for other in gone)]

    def shows_again(self, basis: Array) -> bool:
        """Whether the share of the texture that repeats stays of its order in finer copies; noise takes some of it.

        Cells larger than a window can tell are left out.
        """
        own = self.level_for(basis)
        least = SHOWN * self.table(basis, own).coherence
        return all(
            table_of(spectra, basis * factor).coherence > least
            for (factor, side), spectra in self.spectra.items()
            if side == 256 and factor < own and cell_px(basis) < MOST_CELL_PX * factor
        )


def scales_of(grey: Grey, cloth: Mask | None) -> Scales:
    """Copies from coarse to fine, until a good stitch is seen."""
    scales = Scales(grey, cloth, {}, [])
    first = factor_for(grey.shape, COARSE_PX)
    factor = first
    while factor == first or min(grey.shape) // factor >= SHORTEST_SIDE:
        scales.add(copy_of(grey, cloth, factor))
        scales.propose(factor)
        factor *= 2
        if factor > 2 * first and seen_well(scales, first):
            break
    factor = first
    while factor > 1:
        finer = max(1, factor // 2)
        scales.add_middle(finer)
        scales.drop_moire()
        if seen_well(scales, factor):
            break
        scales.propose(finer)
        factor = finer
    return scales


def seen_well(scales: Scales, factor: int) -> bool:
    """Whether some lattice is coherent with cells that are large enough at this copy."""
    for basis in distinct(scales.proposed):
        if cell_px(basis) / factor >= GOOD_CELL_PX and scales.table(basis).coherence > GOOD_COHERENCE:
            return True
    return False


@dataclass(frozen=True, slots=True)
class Part:
    """A part of a picture, with its left upper corner (px of the picture)."""

    grey: Grey
    cloth: Mask | None
    corner_px: tuple[int, int]


def middle_of(grey: Grey, cloth: Mask | None, factor: int, most_px: int = FINE_PX) -> Part:
    """The middle of the picture that has at most `most_px` at this copy; the middle of the cloth where it is known."""
    side = factor * math.sqrt(most_px)
    rows, columns = grey.shape
    height, width = min(rows, round(side)), min(columns, round(side))
    y, x = rows / 2, columns / 2
    if cloth is not None and cloth.any():
        places = np.nonzero(cloth[::8, ::8])
        y, x = 8 * float(np.median(places[0])), 8 * float(np.median(places[1]))
    top = int(np.clip(y - height / 2, 0, rows - height))
    left = int(np.clip(x - width / 2, 0, columns - width))
    part = (slice(top, top + height), slice(left, left + width))
    return Part(grey[part], None if cloth is None else cloth[part], (left, top))


def distinct(bases: list[Array]) -> list[Array]:
    """Each lattice once."""
    kept: list[Array] = []
    for basis in bases:
        if not any(same(basis, other) for other in kept):
            kept.append(basis)
    return kept


def best_of(scales: Scales) -> Found | None:
    """The smallest cell that explains nearly as much as any."""
    rated = [(basis, scales.table(basis).coherence) for basis in distinct(scales.proposed)]
    most = max((coherence for _, coherence in rated), default=0.0)
    if most <= 0:  # nothing repeats: every lattice holds less than its surroundings
        return None
    strong = [basis for basis, coherence in rated if coherence >= 0.6 * most]
    near = [smallest(scales, basis) for basis in strong]
    rated = [(basis, scales.table(basis).coherence) for basis in near]
    most = max(coherence for _, coherence in rated)
    if most <= 0:
        return None
    basis, coherence = min((each for each in rated if each[1] >= NEARLY * most), key=lambda each: cell_px(each[0]))
    return Found(reduced(basis), coherence)


def smallest(scales: Scales, basis: Array) -> Array:
    """Among a lattice, its halves and doubles, at one copy: the smallest cell with nearly the best coherence."""
    level = scales.level_for(basis)
    variants = [basis, *halved(basis), *doubled(basis)]
    rated = [(each, scales.table(each, level).coherence) for each in variants if 3.0 < cell_px(each) / level < 40]
    if not rated:
        return basis
    most = max(coherence for _, coherence in rated)
    return min((each for each, value in rated if value >= NEARLY * most), key=cell_px)
