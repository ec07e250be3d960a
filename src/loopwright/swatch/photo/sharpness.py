"""Why nothing repeats: too blurred, too small, lines in one direction, or no stitches at all.

In: spectra of the finest copy. Out: the code of the refusal. Detail of a blurred picture ends long before its finest
wave; in a picture that is too small the repeats that stand out are finer than four pixels.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from loopwright.swatch.photo.peaks import Peaks, peaks_of
from loopwright.swatch.photo.refusal import Refusal
from loopwright.swatch.photo.spectrum import _RADIUS, BINS, Spectra, standing_out

FINE_CYCLES, LONG_CYCLES = 0.14, 0.03
STRONG = 1.8
BLUR_FALL, BLUR_REST = 6.0, 1.6


def why_nothing(spectra: Spectra) -> Refusal:
    """The likeliest reason, seen in one copy."""
    peaks = peaks_of(standing_out(spectra.power))
    if fine_repeats(peaks):
        return Refusal.RESOLUTION
    if coarse_repeats(peaks) and is_blurred(spectra):
        return Refusal.BLUR
    if one_direction(peaks):
        return Refusal.ONE_DIRECTION
    return Refusal.WEAK_PATTERN


def fine_repeats(peaks: Peaks) -> bool:
    """Whether most of what repeats is finer than seven pixels, long folds left aside."""
    cycles = np.linalg.norm(peaks.cycles, axis=1)
    strong = np.where((peaks.heights > STRONG) & (cycles > LONG_CYCLES), peaks.heights, 0)
    return bool(strong.sum() > 0 and strong[cycles > FINE_CYCLES].sum() > 0.6 * strong.sum())


def coarse_repeats(peaks: Peaks) -> bool:
    """Whether something coarser than seven pixels repeats."""
    cycles = np.linalg.norm(peaks.cycles, axis=1)
    return bool(((peaks.heights > STRONG) & (cycles < FINE_CYCLES)).any())


def is_blurred(spectra: Spectra) -> bool:
    """Whether detail ends early: much power in long waves, no more than noise in short ones."""
    profile = radial(spectra)
    ground = float(np.median(profile[int(0.32 * BINS) : int(0.45 * BINS)]))
    long_waves = float(profile[int(0.02 * BINS) : int(0.05 * BINS)].max())
    short_waves = float(np.median(profile[int(0.13 * BINS) : int(0.2 * BINS)]))
    return long_waves > BLUR_FALL * ground and short_waves < BLUR_REST * ground


def radial(spectra: Spectra) -> NDArray[np.float64]:
    """Mean power at each distance from frequency 0, mean over windows."""
    power = spectra.power.mean(axis=0).ravel()
    total = np.bincount(_RADIUS.ravel(), power)
    return np.asarray(total / np.bincount(_RADIUS.ravel()))


def one_direction(peaks: Peaks) -> bool:
    """Whether all repeats lie on one line through frequency 0."""
    if len(peaks.cycles) < 2:
        return False
    strongest = peaks.cycles[0] / np.linalg.norm(peaks.cycles[0])
    beside = np.abs(peaks.cycles @ np.array([-strongest[1], strongest[0]])) > 1.5 / BINS
    return bool((peaks.heights * beside).sum() < 0.15 * peaks.heights.sum())
