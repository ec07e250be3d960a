"""Peaks of a spectrum: the repeats that stand out from their surroundings.

In: `Spectra`. Out: frequencies in cycles per pixel of that copy and how far each stands out, strongest first.
Source: step 3 of the note on swatch pictures.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import maximum_filter

from loopwright.swatch.photo.flatten import Grey
from loopwright.swatch.photo.spectrum import _RADIUS, BINS, LEAST_CYCLES, MOST_CYCLES

LEAST_STANDING = 1.0
MOST_PEAKS = 28


@dataclass(frozen=True, slots=True)
class Peaks:
    """Frequencies (n, 2), one of each pair ±f, and their heights in log power."""

    cycles: NDArray[np.float64]
    heights: NDArray[np.float64]


def peaks_of(standing: Grey) -> Peaks:
    """The highest local maxima of the half plane, placed between bins by a parabola."""
    top = maximum_filter(standing, 5, mode="wrap") == standing
    radius = _RADIUS / BINS
    half = np.zeros_like(top)
    half[:, BINS // 2 + 1 :] = True
    half[BINS // 2 + 1 :, BINS // 2] = True
    found = top & half & (standing > LEAST_STANDING) & (radius > LEAST_CYCLES) & (radius < MOST_CYCLES)
    found[0], found[-1], found[:, -1] = False, False, False
    rows, columns = np.nonzero(found)
    order = np.argsort(standing[rows, columns])[::-1][:MOST_PEAKS]
    rows, columns = rows[order], columns[order]
    x = columns + _vertex(standing[rows, columns - 1], standing[rows, columns], standing[rows, columns + 1])
    y = rows + _vertex(standing[rows - 1, columns], standing[rows, columns], standing[rows + 1, columns])
    cycles = np.stack([x - BINS // 2, y - BINS // 2], axis=1) / BINS
    return Peaks(cycles, np.asarray(standing[rows, columns], float))


def _vertex(before: Grey, here: Grey, after: Grey) -> NDArray[np.float64]:
    """Where between -0.5 and 0.5 a parabola through three neighbours is highest."""
    bend = np.minimum(before - 2 * here + after, -1e-6)
    return np.asarray(np.clip(0.5 * (before - after) / bend, -0.5, 0.5), float)
