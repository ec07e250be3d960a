"""The picture compared with itself so many pixels on, from its spectra: where it repeats, before a lattice is known.

In: `Spectra` of one copy. Out: `LikeMap`, likeness 1 at no step, at steps of any length to any side. The likeness
beside a direction leaves out what is the same all along it: tones of courses and stripes then say nothing of stitches.
Source: the power spectrum is the transform of the likeness (Wiener and Khinchin); the windows' own likeness, a Gauss
curve as well, is divided out.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import fft
from scipy.ndimage import map_coordinates, spline_filter

from loopwright.swatch.photo.spectrum import BINS, Spectra

Array = NDArray[np.float64]

REACH_SIGMAS = 3.0  # as far as the likeness of the windows is above a tenth
LEAST_WINDOW = 0.2  # what the likeness is divided by at least: far off little but noise is left
STREAK = 2.2  # half-width of what runs along a direction, in standard deviations of a window's spectrum
_MIDDLE = BINS // 2
_PLACE = np.arange(BINS) - _MIDDLE
_SQUARE = (_PLACE[:, None] ** 2 + _PLACE[None, :] ** 2).astype(float)


@dataclass(frozen=True, slots=True)
class LikeMap:
    """Likeness of one copy at steps in its pixels; `reach_px` is how far it can be trusted."""

    coefficients: Array
    reach_px: float

    def at(self, steps: Array) -> Array:
        """Likeness at steps (…, 2), cubic between pixels."""
        places = [steps[..., 1] + _MIDDLE, steps[..., 0] + _MIDDLE]
        return np.asarray(map_coordinates(self.coefficients, places, order=3, prefilter=False, mode="nearest"))

    def climbed(self, step: Array, by: float = 0.5) -> tuple[Array, float]:
        """The highest place near a step, and the likeness there."""
        here, best = np.array(step, float), float(self.at(np.array([step], float))[0])
        while by > 0.05:
            around = here + by * np.array([(1.0, 0.0), (-1.0, 0.0), (0.0, 1.0), (0.0, -1.0)])
            values = self.at(around)
            index = int(np.argmax(values))
            if values[index] > best:
                here, best = around[index], float(values[index])
            else:
                by /= 2
        return here, best

    def grid(self) -> Array:
        """Likeness at whole pixels, no step in the middle."""
        rows, columns = np.meshgrid(_PLACE, _PLACE, indexing="ij")
        return self.at(np.stack([columns, rows], axis=-1).astype(float))


def like_map(spectra: Spectra, along: Array | None = None) -> LikeMap:
    """Likeness of a copy; what is the same all `along` a direction left out."""
    power = spectra.power.mean(axis=0).astype(float)
    if along is not None:
        cycles = _PLACE / BINS
        off = np.abs(cycles[None, :] * along[0] + cycles[:, None] * along[1]) / math.hypot(*along)
        power = np.where(off * 2 * math.pi * spectra.sigma_px < STREAK, 0.0, power)
    like = fft.fftshift(fft.ifft2(fft.ifftshift(power), workers=1).real)
    window = np.exp(-_SQUARE / (4 * spectra.sigma_px**2))
    like = like / np.maximum(window, LEAST_WINDOW)
    return LikeMap(spline_filter(like / max(float(like[_MIDDLE, _MIDDLE]), 1e-12), 3), REACH_SIGMAS * spectra.sigma_px)
