"""Where a stitch sits in the picture, so that a lattice can be drawn over it.

In: the evened picture and its lattice. Out: the middle of a stitch near the middle of the picture, pixels of the copy:
across, the brighter of the two lines about which a wale mirrors; up, where the mean stitch is brightest.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from loopwright.swatch.photo.flatten import Copy
from loopwright.swatch.photo.refine import Fields
from loopwright.swatch.photo.repeats import SAMPLES, STITCHES, block_places, straightened

Array = NDArray[np.float64]


def origin_of(copy: Copy, fields: Fields) -> tuple[float, float]:
    """Middle of a stitch (px of the copy)."""
    places = block_places(fields)
    middle = np.array(copy.shape[::-1], float) / 2
    places.sort(key=lambda each: float(np.hypot(*(each[1] - middle))))
    for basis, centre in places:
        piece = straightened(copy, basis, centre)
        if piece is not None:
            across, up = middle_of_stitch(piece)
            steps = np.linalg.inv(basis)
            spot = centre + steps @ (np.array([across, up]) - STITCHES / 2 % 1)
            return float(spot[0]), float(spot[1])
    return float(middle[0]), float(middle[1])


def middle_of_stitch(piece: Array) -> tuple[float, float]:
    """Place of the middle in the mean stitch of a straightened block, in stitches."""
    cells = piece.reshape(STITCHES, SAMPLES, STITCHES, SAMPLES)
    with np.errstate(invalid="ignore"):
        stitch = np.nan_to_num(np.nanmean(cells, axis=(0, 2)))
    likes = []
    for twice in range(2 * SAMPLES):
        mirrored = np.roll(stitch[:, ::-1], twice + 1, axis=1)
        likes.append(float((stitch * mirrored).sum()))
    best = int(np.argmax([likes[index] + likes[(index + SAMPLES) % (2 * SAMPLES)] for index in range(SAMPLES)]))
    columns = stitch.mean(axis=0)
    ends = [(best / 2) % SAMPLES, (best / 2 + SAMPLES / 2) % SAMPLES]
    across = max(ends, key=lambda place: float(np.interp(place, np.arange(SAMPLES), columns, period=SAMPLES)))
    return (across + 0.5) / SAMPLES, (int(np.argmax(stitch.mean(axis=1))) + 0.5) / SAMPLES
