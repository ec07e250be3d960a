"""Spectra of small windows: where in the cloth what repeats, and how often.

In: a working copy. Out: for one window size, the power of every window over frequency, each divided by its own mean
square, and the mean log power above its surroundings. Source: steps 2 and 3 of the note on swatch pictures.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import fft
from scipy.ndimage import uniform_filter

from loopwright.swatch.photo.flatten import Copy, Grey

BINS = 256
MOST_WINDOWS = 14
SIGMAS = {128: 18.7, 256: 38.0}  # Gauss window, pixels
LEAST_CYCLES, MOST_CYCLES = 1 / 50, 0.46


@dataclass(frozen=True, slots=True)
class Spectra:
    """Windows of one copy: `power[n, ky, kx]`, ky and kx from -128 to 127."""

    power: Grey
    sigma_px: float
    factor: float
    centres: NDArray[np.float64]


def window_starts(shape: tuple[int, int], side: int, cloth: NDArray[np.bool_] | None) -> list[tuple[int, int]]:
    """Corners of half-overlapping windows, evenly spread, on cloth."""
    counts = [max(1, math.ceil((length - side) / (side / 2)) + 1) for length in shape]
    while counts[0] * counts[1] > MOST_WINDOWS * (1 if cloth is None else 3):
        longer = 0 if counts[0] * shape[1] > counts[1] * shape[0] else 1
        counts[longer] -= 1
    rows = np.linspace(0, max(shape[0] - side, 0), counts[0]).astype(int)
    columns = np.linspace(0, max(shape[1] - side, 0), counts[1]).astype(int)
    starts = [(int(row), int(column)) for row in rows for column in columns]
    if cloth is None:
        return starts
    shares = [float(cloth[row : row + side : 4, column : column + side : 4].mean()) for row, column in starts]
    good = [start for start, share in zip(starts, shares, strict=True) if share > 0.9]
    if len(good) < 3:
        order = np.argsort(shares)[::-1]
        good = [starts[index] for index in order[:6] if shares[index] > 0.3]
    every = max(1, math.ceil(len(good) / MOST_WINDOWS))
    return good[::every]


def spectra_of(copy: Copy, side: int) -> Spectra | None:
    """Spectra of windows of `side` pixels; None when no window has cloth."""
    starts = window_starts(copy.shape, side, copy.cloth)
    if not starts:
        return None
    sigma = min(SIGMAS[side], min(copy.shape) / 5)
    place = np.arange(side) - (side - 1) / 2
    gauss = np.exp(-0.5 * (place / sigma) ** 2).astype(np.float32)
    cut = np.zeros((len(starts), side, side), np.float32)
    for index, (row, column) in enumerate(starts):
        piece = copy.values[row : row + side, column : column + side]
        cut[index, : piece.shape[0], : piece.shape[1]] = piece
    window = gauss[:, None] * gauss[None, :]
    weight = float(window.sum())
    cut -= (cut * window).sum(axis=(1, 2), keepdims=True) / weight
    square = (cut**2 * window).sum(axis=(1, 2)) / weight
    half = fft.rfft2(cut * window, s=(BINS, BINS), axes=(1, 2), workers=1)
    power = (half.real**2 + half.imag**2) / weight**2
    power /= np.maximum(square, 1e-12)[:, None, None]
    whole = unfolded(power)
    centres = np.array(starts, float)[:, ::-1] + side / 2
    return Spectra(whole, sigma, copy.factor, centres)


def unfolded(half: Grey) -> Grey:
    """From the half plane kx ≥ 0 to both signs, frequency 0 in the middle."""
    whole = np.empty((half.shape[0], BINS, BINS), np.float32)
    middle = BINS // 2
    shifted = np.roll(half, middle, axis=1)
    whole[:, :, middle:] = shifted[:, :, :middle]
    mirrored = np.roll(half[:, ::-1], 1, axis=1)  # ky -> -ky
    mirrored = np.roll(mirrored, middle, axis=1)
    whole[:, :, :middle] = mirrored[:, :, middle:0:-1]
    return whole


def radius_bins() -> NDArray[np.int64]:
    """Distance of each bin from frequency 0, whole bins."""
    place = np.arange(BINS) - BINS // 2
    return np.rint(np.hypot(place[:, None], place[None, :])).astype(np.int64)


_RADIUS = radius_bins()
_EDGES = np.concatenate([[0], np.cumsum(np.bincount(_RADIUS.ravel()))])
_LOWER, _UPPER = (_EDGES[:-1] + _EDGES[1:] - 1) // 2, (_EDGES[:-1] + _EDGES[1:]) // 2  # the middle of each radius


def standing_out(power: Grey) -> Grey:
    """Mean log power over the windows, above the median of its radius and the mean of its ring."""
    logs = np.log(power + 1e-12).mean(axis=0)
    ordered = logs.ravel()[np.lexsort((logs.ravel(), _RADIUS.ravel()))]
    medians = (ordered[_LOWER] + ordered[_UPPER]) / 2
    above = logs - medians[_RADIUS]
    capped = np.minimum(above, 1.2)
    for _ in range(2):
        wide, narrow = uniform_filter(capped, 15, mode="wrap"), uniform_filter(capped, 5, mode="wrap")
        ring = (wide * 225 - narrow * 25) / 200
        capped = np.minimum(above, ring + 0.7)
    return np.asarray(above - ring, np.float32)


def sampled(image: Grey, cycles: NDArray[np.float64]) -> NDArray[np.float64]:
    """Values of one or many spectra at frequencies (…, 2) in cycles per pixel, linear between bins; 0 outside."""
    x = cycles[..., 0] * BINS + BINS // 2
    y = cycles[..., 1] * BINS + BINS // 2
    inside = (x >= 0) & (x < BINS - 1) & (y >= 0) & (y < BINS - 1)
    x, y = np.where(inside, x, 0), np.where(inside, y, 0)
    column, row = x.astype(np.int64), y.astype(np.int64)
    right, down = x - column, y - row
    upper = image[..., row, column] * (1 - right) + image[..., row, column + 1] * right
    lower = image[..., row + 1, column] * (1 - right) + image[..., row + 1, column + 1] * right
    return np.asarray(np.where(inside, upper * (1 - down) + lower * down, 0.0), float)
