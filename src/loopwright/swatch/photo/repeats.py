"""The picture compared with itself, one stitch, half a stitch or several stitches further on.

In: the evened picture and the local lattice. Out: the likeness at steps of a twelfth of a stitch, tones of courses and
wales removed: the independent proof that a cell is one stitch and not half of one or several.
Assumed: over a block of some stitches the lattice is nearly even. Likeness 1 means the same picture.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import fft
from scipy.ndimage import map_coordinates, uniform_filter

from loopwright.swatch.photo.flatten import Copy
from loopwright.swatch.photo.refine import Fields

Array = NDArray[np.float64]

SAMPLES = 12  # for each stitch
STITCHES = 9  # side of one block
MOST_BLOCKS = 16
REACH = 4  # stitches to either side
MOST_OUTSIDE = 0.5


@dataclass(frozen=True, slots=True)
class Likeness:
    """Likeness at (courses, wales) from -4 to 4 in twelfths, mean over the blocks; spread of that mean."""

    mean: Array
    blocks: Array

    def at(self, wales: float, courses: float, near: int = 0) -> float:
        """Likeness so many stitches on; `near` twelfths about it are searched for the best."""
        row, column = round((courses + REACH) * SAMPLES), round((wales + REACH) * SAMPLES)
        part = self.mean[max(row - near, 0) : row + near + 1, max(column - near, 0) : column + near + 1]
        return float(part.max())


def likeness_of(copy: Copy, fields: Fields, *, box: tuple[float, float] = (1.0, 1.0)) -> Likeness | None:
    """Likeness over blocks that follow the lattice; `box` (wales, courses) is what tones are removed over."""
    found = []
    for basis, middle in block_places(fields):
        piece = straightened(copy, basis, middle)
        if piece is not None:
            found.append(compared(piece, box))
    if not found:
        return None
    blocks = np.array(found)
    return Likeness(blocks.mean(axis=0), blocks)


def block_places(fields: Fields) -> list[tuple[Array, Array]]:
    """Local basis and middle of blocks spread over what follows the lattice."""
    rows, columns = np.nonzero(fields.follows)
    if len(rows) == 0:
        return []
    side = STITCHES * math.sqrt(abs(1 / np.linalg.det(fields.basis)))
    x, y = fields.x_px[rows, columns], fields.y_px[rows, columns]
    tall, wide = max(1, round((y.max() - y.min()) / side)), max(1, round((x.max() - x.min()) / side))
    places = []
    for index in range(0, tall * wide, max(1, math.ceil(tall * wide / MOST_BLOCKS))):
        row, column = divmod(index, wide)
        middle_y = y.min() + (row + 0.5) * (y.max() - y.min()) / tall
        middle_x = x.min() + (column + 0.5) * (x.max() - x.min()) / wide
        near = (np.abs(x - middle_x) < side / 2) & (np.abs(y - middle_y) < side / 2)
        if near.sum() >= 9:
            local = fields.local[rows[near], columns[near]].mean(axis=0)
            places.append((local, np.array([middle_x, middle_y])))
    return places


def straightened(copy: Copy, basis: Array, middle: Array) -> Array | None:
    """A block in wales across and courses up; None when much of it lies outside."""
    steps = np.linalg.inv(basis)
    count = STITCHES * SAMPLES
    place = (np.arange(count) - count / 2) / SAMPLES
    u, v = np.meshgrid(place, place)
    x = middle[0] + steps[0, 0] * u + steps[0, 1] * v
    y = middle[1] + steps[1, 0] * u + steps[1, 1] * v
    outside = (x < 0) | (y < 0) | (x > copy.shape[1] - 1) | (y > copy.shape[0] - 1)
    if outside.mean() > MOST_OUTSIDE:
        return None
    values = map_coordinates(copy.values, [y, x], order=1, mode="nearest").astype(float)
    values[outside] = np.nan
    return np.asarray(values)


def compared(piece: Array, box: tuple[float, float]) -> Array:
    """Likeness of a block with itself at all steps up to `REACH`, over what both share."""
    known = np.isfinite(piece).astype(float)
    values = np.where(known > 0, piece, 0.0)
    size = (max(3, round(box[1] * SAMPLES)), max(3, round(box[0] * SAMPLES)))
    share = np.maximum(uniform_filter(known, size), 0.05)
    values = (values - uniform_filter(values, size) / share) * known
    spread = np.sqrt(np.maximum(uniform_filter(values**2, size), 0) / share)
    values = values / np.maximum(spread, 0.3 * np.median(spread[known > 0]) + 1e-9)
    padded = (fft.next_fast_len(2 * piece.shape[0]), fft.next_fast_len(2 * piece.shape[1]))
    wave, ones = fft.rfft2(values, s=padded), fft.rfft2(known, s=padded)
    square = fft.rfft2(values**2, s=padded)
    product = fft.irfft2(wave * wave.conj(), s=padded)
    mine = fft.irfft2(square * ones.conj(), s=padded)
    theirs = fft.irfft2(ones * square.conj(), s=padded)
    like = product / np.sqrt(np.maximum(mine * theirs, 1e-9))
    reach = REACH * SAMPLES
    return np.asarray(np.roll(like, (reach, reach), axis=(0, 1))[: 2 * reach + 1, : 2 * reach + 1])
