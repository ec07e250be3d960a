"""Candidate lattices: which two repeats could carry all the peaks of a spectrum.

In: `Spectra` and their `Peaks`. Out: a handful of reciprocal bases in cycles per pixel of the copy.
Source: step 4 of the note on swatch pictures.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from loopwright.swatch.photo.flatten import Grey
from loopwright.swatch.photo.lattice import reduced
from loopwright.swatch.photo.peaks import Peaks
from loopwright.swatch.photo.spectrum import BINS, sampled

Array = NDArray[np.float64]

PAIRED = 10
LEAST_CELL_PX, MOST_CELL_PX = 3.5, 44.0
BAND_CYCLES = 0.42
_ORDERS = np.array([(h, k) for h in range(-9, 10) for k in range(-9, 10) if (h, k) > (0, 0)], float)
_MIXES = np.array([[[1, 0], [0, 1]], [[0.5, 0], [0, 1]], [[1, 0], [0, 0.5]], [[0.5, 0.5], [0.5, -0.5]]])


def candidates_of(standing: Grey, peaks: Peaks) -> list[Array]:
    """The bases that explain the spectrum best: three choices by share of power and by points that stand out."""
    bases = paired(peaks)
    if len(bases) == 0:
        return []
    bases = fitted(bases, peaks)
    points = np.einsum("nij,mi->nmj", bases, _ORDERS)
    inside = np.hypot(points[..., 0], points[..., 1]) < BAND_CYCLES
    height = np.where(inside, best_near(standing, points), 0.0)
    shares = np.where(inside, np.expm1(np.clip(height, 0, 4)), 0).sum(axis=1)
    logs = np.where(inside, np.clip(height, 0, 3.5) - 0.9, 0).sum(axis=1)
    cells = 1 / np.abs(np.linalg.det(bases))
    good = shares >= 0.85 * shares.max()
    chosen = [int(np.argmin(np.where(good, cells, np.inf))), int(np.argmax(shares))]
    chosen += [int(index) for index in np.argsort(logs)[::-1][:3]]
    return [bases[index] for index in dict.fromkeys(chosen)]


def paired(peaks: Peaks) -> Array:
    """Bases of all pairs of strong peaks, with halves of each and of both."""
    found: list[Array] = []
    count = min(PAIRED, len(peaks.cycles))
    for first in range(count):
        for second in range(first):
            pair = np.array([peaks.cycles[first], peaks.cycles[second]])
            found.extend(reduced(mix @ pair) for mix in _MIXES)
    bases = np.array(found).reshape(-1, 2, 2)
    if len(bases) == 0:
        return bases
    area = np.abs(np.linalg.det(bases))
    shortest = np.linalg.norm(bases, axis=2).min(axis=1)
    fits = (area > MOST_CELL_PX**-2) & (area < LEAST_CELL_PX**-2) & (shortest > 1 / 64)
    return np.asarray(bases[fits])


def fitted(bases: Array, peaks: Peaks, tolerance_bins: float = 1.2) -> Array:
    """Least squares on the peaks within about one bin of a lattice point."""
    for _ in range(2):
        whole = np.round(np.einsum("mj,njk->nmk", peaks.cycles, np.linalg.inv(bases)))
        apart = np.einsum("nmk,nkj->nmj", whole, bases) - peaks.cycles
        near = (np.hypot(apart[..., 0], apart[..., 1]) < tolerance_bins / BINS) & (np.abs(whole).sum(axis=2) > 0)
        weight = near * np.clip(peaks.heights, 0, 3.5)
        normal = np.einsum("nm,nmi,nmj->nij", weight, whole, whole)
        right = np.einsum("nm,nmi,mj->nij", weight, whole, peaks.cycles)
        solvable = np.linalg.det(normal) > 0.5
        safe = np.where(solvable[:, None, None], normal, np.eye(2))
        better = np.linalg.solve(safe, right)
        solid = solvable & (np.abs(np.linalg.det(better)) > MOST_CELL_PX**-2 / 2)
        bases = np.where(solid[:, None, None], better, bases)
    return np.asarray(bases)


def best_near(standing: Grey, points: Array) -> Array:
    """The highest of a point and its neighbours half a bin away."""
    half = 0.5 / BINS
    shifts = ((0, 0), (half, 0), (-half, 0), (0, half), (0, -half))
    values = [sampled(standing, points + np.array(shift)) for shift in shifts]
    return np.asarray(np.max(values, axis=0))
