"""A picture made ready: reduced to a size that holds the stitches, light and contrast evened out.

In: brightness of any unit and size, a mask of the cloth. Out: the working copy, mean 0, spread about 1, and how many
pixels of the picture one of its pixels holds. Source: step 1 of the note on swatch pictures.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from PIL import Image
from scipy.ndimage import uniform_filter

Grey = NDArray[np.float32]
Mask = NDArray[np.bool_]

MOST_PX = 3_000_000
REACH_PX = 20.0  # standard deviation of the smoothing that stands for light and tone
CLIP = 3.0
COARSE = 4  # pixels in one where only what is smooth counts


@dataclass(frozen=True, slots=True)
class Copy:
    """Evened brightness, where it is cloth, and the pixels of the picture in one of its pixels."""

    values: Grey
    cloth: Mask | None
    factor: int

    @property
    def shape(self) -> tuple[int, int]:
        """Rows and columns."""
        return self.values.shape[0], self.values.shape[1]


def binned(grey: Grey, factor: int) -> Grey:
    """Means of `factor` × `factor` pixels; a rest at the right and lower edge is left out."""
    if factor == 1:
        return np.ascontiguousarray(grey, np.float32)
    rows, columns = grey.shape[0] // factor, grey.shape[1] // factor
    part = grey[: rows * factor, : columns * factor]
    total = part[:, 0::factor].astype(np.float32)
    for shift in range(1, factor):
        total += part[:, shift::factor]
    upright = total[0::factor]
    for shift in range(1, factor):
        upright = upright + total[shift::factor]
    return np.asarray(upright / np.float32(factor * factor), np.float32)


def factor_for(shape: tuple[int, ...], most_px: int = MOST_PX) -> int:
    """How many pixels go into one so that at most `most_px` remain."""
    return max(1, math.ceil(math.sqrt(shape[0] * shape[1] / most_px)))


def smoothed(values: Grey, reach_px: float) -> Grey:
    """Two passes of a moving mean on a copy reduced by 4, together about a Gauss curve of that standard deviation."""
    rows, columns = values.shape
    small = np.asarray(Image.fromarray(values).reduce(COARSE), np.float32)
    width = max(3, round(math.sqrt(6) * reach_px / COARSE) | 1)
    once = uniform_filter(small, width, mode="nearest")
    twice = Image.fromarray(uniform_filter(once, width, mode="nearest"))
    box = (0, 0, columns / COARSE, rows / COARSE)
    return np.asarray(twice.resize((columns, rows), Image.Resampling.BILINEAR, box), np.float32)


def flattened(grey: Grey, cloth: Mask | None, reach_px: float = REACH_PX) -> Grey:
    """Brightness over its surroundings, then over its local spread; 0 where there is no cloth."""
    low = float(np.percentile(grey[::7, ::7], 1))
    high = float(np.percentile(grey[::7, ::7], 99))
    lifted = np.asarray(grey - np.float32(min(low, 0.0)) + np.float32(0.02 * max(high - low, 1e-6)), np.float32)
    if cloth is None:
        around = smoothed(lifted, reach_px)
        change: Grey = np.asarray(lifted / np.maximum(around, np.float32(1e-6)) - 1, np.float32)
        spread = smoothed(np.square(change), reach_px)
    else:
        weight = cloth.astype(np.float32)
        share = np.maximum(smoothed(weight, reach_px), np.float32(1e-3))
        around = np.asarray(smoothed(lifted * weight, reach_px) / share, np.float32)
        change = np.asarray((lifted / np.maximum(around, np.float32(1e-6)) - 1) * weight, np.float32)
        spread = np.asarray(smoothed(np.square(change), reach_px) / share, np.float32)
    deviation = np.sqrt(np.maximum(spread, 0))
    usual = float(np.median(deviation[::5, ::5]))
    change /= np.maximum(deviation, np.float32(max(0.25 * usual, 1e-9)))
    return np.asarray(np.clip(change, -CLIP, CLIP, out=change))


def copy_of(grey: Grey, cloth: Mask | None, factor: int) -> Copy:
    """The working copy at one pixel for `factor` × `factor`."""
    small = binned(grey, factor)
    kept = None
    if cloth is not None:
        kept = binned(cloth.astype(np.float32), factor) > 0.999
    return Copy(flattened(small, kept), kept, factor)
