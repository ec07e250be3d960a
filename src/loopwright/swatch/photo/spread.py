"""How exact a lattice is: its spread over blocks of the picture.

In: `Fields`. Out: blocks (for the map) and standard errors with the half-width that holds the truth in 95 of 100
pictures. The factors and floors between the two are calibrated on rendered cloth of known truth, seeds 20000 to 20039,
21000 to 21059 and 31000 to 31099 of the battery, that of the courses up to 32059; what real cloth adds is not in them.
Source: step 9 of the note on swatch pictures.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loopwright.swatch.photo.lattice import measures, steps_of
from loopwright.swatch.photo.refine import Fields

Array = NDArray[np.float64]

BLOCK_REACHES = 3.2
WIDTHS = np.array([2.25, 2.5, 1.9, 1.9])  # standard errors: wale pitch, course pitch, skew, rotation
FLOORS = np.array([0.00001, 0.001, 0.035, 0.035])  # relative; degrees
FEWEST_BLOCKS, MOST_BLOCKS = 9, 400
PART = 0.15  # of a stitch, by which the stitches seen may be miscounted where fewer blocks tell of their spread


@dataclass(frozen=True, slots=True)
class BlockMap:
    """Middles (px of the copy); wale pitch, course pitch (px of the copy), skew, rotation (degrees) of each block."""

    x_px: Array
    y_px: Array
    values: Array
    side_px: float


def blocks_of(fields: Fields) -> BlockMap:
    """Medians over squares of the picture."""
    rows, columns = np.nonzero(fields.follows)
    x, y = fields.x_px[rows, columns], fields.y_px[rows, columns]
    side = max(BLOCK_REACHES * fields.reach_px, math.sqrt(float(np.ptp(x) * np.ptp(y)) / MOST_BLOCKS))
    local = fields.local[rows, columns].reshape(-1, 4)
    number = np.floor(y / side).astype(int) * (int(x.max() / side) + 1) + np.floor(x / side).astype(int)
    order = np.argsort(number, kind="stable")
    found = []
    for own in np.split(order, np.nonzero(np.diff(number[order]))[0] + 1):
        if len(own) < 4:
            continue
        steps = steps_of(np.median(local[own], axis=0).reshape(2, 2))
        stitch = measures(steps[:, 0], steps[:, 1])
        found.append(
            (
                x[own].mean(),
                y[own].mean(),
                stitch.wale_pitch_px,
                stitch.course_pitch_px,
                stitch.skew_deg,
                stitch.rotation_deg,
            )
        )
    table = np.array(found).reshape(-1, 6)
    return BlockMap(table[:, 0], table[:, 1], table[:, 2:], side)


def deviations(blocks: BlockMap, pitches: tuple[float, float]) -> Array:
    """Robust spread of the blocks: relative for the pitches, degrees for the angles."""
    if len(blocks.values) < 2:
        return np.zeros(4)
    middle = np.median(blocks.values, axis=0)
    spread = 1.4826 * np.median(np.abs(blocks.values - middle), axis=0)
    return np.asarray(spread / np.array([pitches[0], pitches[1], 1.0, 1.0]))


def standard_errors(blocks: BlockMap, pitches: tuple[float, float], wales_per_repeat: int = 1) -> Array:
    """Of the mean over the blocks; in a rib one wale in a repeat tells as much of the pitch as every wale in plain."""
    count = max(len(blocks.values), 1)
    told = np.array([math.sqrt(wales_per_repeat), 1.0, 1.0, 1.0])
    return np.asarray(1.25 * told * deviations(blocks, pitches) / math.sqrt(count))


def half_widths(errors: Array, block_count: int, seen: tuple[float, float]) -> Array:
    """Half-widths that hold the truth in 95 of 100 pictures."""
    wide = np.sqrt((WIDTHS * errors) ** 2 + FLOORS**2)
    if block_count >= FEWEST_BLOCKS:
        return np.asarray(wide)
    part = np.array([PART / seen[0], PART / seen[1], math.degrees(PART / seen[0]), math.degrees(PART / seen[1])])
    return np.asarray(np.maximum(wide, part))
