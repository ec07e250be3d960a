"""How exact a lattice is: its spread over blocks of the picture.

In: `Fields`. Out: blocks (for the map) and standard errors with the half-width that holds the truth in 95 of 100
pictures. The factor between the two is calibrated on rendered cloth with known truth.
Source: step 9 of the note on swatch pictures.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loopwright.swatch.photo.lattice import measures
from loopwright.swatch.photo.refine import Fields

Array = NDArray[np.float64]

BLOCK_REACHES = 3.2
WIDTHS = 3.5  # standard errors
FLOOR = 0.001  # of a pitch; and of a radian for angles
FEWEST_BLOCKS, MOST_BLOCKS = 4, 400


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
        steps = np.linalg.inv(np.median(local[own], axis=0).reshape(2, 2))
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


def standard_errors(blocks: BlockMap, pitches: tuple[float, float]) -> Array:
    """Of the mean over the blocks."""
    count = max(len(blocks.values), 1)
    return np.asarray(1.25 * deviations(blocks, pitches) / math.sqrt(count))


def half_widths(errors: Array, block_count: int, seen: tuple[float, float]) -> Array:
    """Half-widths that hold the truth in 95 of 100 pictures."""
    floor = np.array([FLOOR, FLOOR, math.degrees(FLOOR), math.degrees(FLOOR)])
    wide = np.sqrt((WIDTHS * errors) ** 2 + floor**2)
    if block_count >= FEWEST_BLOCKS:
        return np.asarray(wide)
    half_stitch = np.array([0.5 / seen[0], 0.5 / seen[1], math.degrees(0.5 / seen[0]), math.degrees(0.5 / seen[1])])
    return np.asarray(np.maximum(wide, half_stitch))
