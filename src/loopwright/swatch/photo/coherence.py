"""Coherence: the share of the texture that repeats with a lattice, and the power of each of its orders.

In: `Spectra` (many small windows) and a reciprocal basis. Out: the share, median over windows, and a table of powers.
The share doesn't grow when empty points are added and drops when the cell is too small.
Source: step 5 of the note on swatch pictures.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loopwright.swatch.photo.spectrum import Spectra, sampled

Array = NDArray[np.float64]
BAND_CYCLES = 0.42


@dataclass(frozen=True, slots=True)
class Table:
    """Orders (n, 2), one of each pair ±; their power over the local mean square and its sum, for each window."""

    orders: NDArray[np.int64]
    powers: Array
    shares: Array

    @property
    def coherence(self) -> float:
        """Share of the texture that repeats: median over the windows."""
        return float(np.median(self.shares))

    @property
    def mean(self) -> Array:
        """Power of each order, mean over the better half of the windows."""
        good = self.shares >= np.median(self.shares)
        return np.asarray(np.maximum(self.powers[good].mean(axis=0), 0))


def orders_within(basis: Array, band: float) -> NDArray[np.int64]:
    """All orders of the lattice below a frequency, one of each pair ±."""
    steps = np.linalg.inv(basis)
    most = [max(1, math.ceil(band * math.hypot(*steps[:, index]))) for index in (0, 1)]
    h, k = np.meshgrid(np.arange(-most[0], most[0] + 1), np.arange(-most[1], most[1] + 1), indexing="ij")
    pairs = np.stack([h.ravel(), k.ravel()], axis=1)
    pairs = pairs[(pairs[:, 0] > 0) | ((pairs[:, 0] == 0) & (pairs[:, 1] > 0))]
    length = np.linalg.norm(pairs @ basis, axis=1)
    return np.asarray(pairs[length < band])


def table_of(spectra: Spectra, basis: Array, band: float = BAND_CYCLES) -> Table:
    """Powers at the orders of `basis` (cycles per pixel of that copy), the surroundings taken off."""
    orders = orders_within(basis, band)
    points = orders @ basis
    away = 0.46 / spectra.sigma_px
    around = np.array([(away, 0), (-away, 0), (0, away), (0, -away)])
    here = sampled(spectra.power, points)
    ground = np.mean([sampled(spectra.power, points + shift) for shift in around], axis=0)
    powers = 2 * (here - ground)
    return Table(orders, powers, powers.sum(axis=1))
