"""The lattice measured over the whole picture by phase, and how it varies.

In: the evened picture and a first reciprocal basis. Out: the mean basis, its spread over blocks, the share of the area
that follows it. Each order of the lattice is cut out of one spectrum of the whole picture by a Gauss window and turned
back at one sample for each stitch or so; the slope of its phase is how far the stitches there depart from the mean.
Source: geometric phase analysis, Hÿtch, Snoeck and Kilaas, Ultramicroscopy 74 (1998) 131-146; step 8 of the note.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import fft

from loopwright.swatch.photo.flatten import Copy, Grey

Array = NDArray[np.float64]
Complex = NDArray[np.complex128]

LOW_PASS_PITCHES = 1.6
SAMPLE_PITCHES = 0.8
MOST_REACHES = 70  # along a picture: one with very many stitches is looked at less finely
MOST_CHANGE = 0.22
LEAST_AMPLITUDE = 0.25  # of the usual, of the orders that tell wales and of those that tell courses
ORDERS = [(h, k) for h in range(3) for k in range(-2, 3) if (h, k) > (0, 0)]


@dataclass(frozen=True, slots=True)
class Whole:
    """Spectrum of a whole copy, its edges tapered, and the spectrum of the taper."""

    values: NDArray[np.complex64]
    taper: Grey
    shape: tuple[int, int]
    padded: tuple[int, int]


@dataclass(frozen=True, slots=True)
class Fields:
    """The lattice on a coarse grid: reciprocal basis at each sample, which follow it, weights, where (px of the copy).

    `waves` are the demodulated orders (n, rows, columns), relative to `basis`.
    """

    basis: Array
    local: Array
    follows: NDArray[np.bool_]
    inside: NDArray[np.bool_]
    weight: Array
    x_px: Array
    y_px: Array
    waves: Complex
    reach_px: float


def whole_of(copy: Copy, edge_px: float) -> Whole:
    """One float32 FFT of the copy."""
    rows, columns = copy.shape
    taper = np.outer(ramp(rows, edge_px), ramp(columns, edge_px)).astype(np.float32)
    if copy.cloth is not None:
        taper *= copy.cloth
    padded = (fft.next_fast_len(rows, real=True), fft.next_fast_len(columns, real=True))
    return Whole(fft.rfft2(copy.values * taper, s=padded, workers=1), taper, copy.shape, padded)


def ramp(length: int, edge_px: float) -> Grey:
    """1 inside, falling to 0 over the edge as half a cosine."""
    edge = min(edge_px, length / 4)
    place = np.minimum(np.arange(length) + 0.5, length - 0.5 - np.arange(length))
    return np.asarray(0.5 - 0.5 * np.cos(math.pi * np.clip(place / edge, 0, 1)), np.float32)


def cut_out(whole: Whole, cycles: Array, reach: float, size: tuple[int, int]) -> tuple[Complex, Array, Array]:
    """Bins around one frequency, weighted by a Gauss curve; with their offsets from it in cycles per pixel."""
    rows, columns = whole.padded
    middle_x, middle_y = round(cycles[0] * columns), round(cycles[1] * rows)
    kx = middle_x + np.arange(size[1]) - size[1] // 2
    ky = middle_y + np.arange(size[0]) - size[0] // 2
    part = np.empty(size, complex)
    right = kx >= 0
    within = np.abs(kx) <= columns // 2
    part[:, right & within] = whole.values[np.ix_(ky % rows, kx[right & within])]
    part[:, ~right & within] = whole.values[np.ix_((-ky) % rows, -kx[~right & within])].conj()
    part[:, ~within] = 0
    off_x, off_y = kx / columns - cycles[0], ky / rows - cycles[1]
    gauss = np.exp(-0.5 * (reach * 2 * math.pi) ** 2 * (off_y[:, None] ** 2 + off_x[None, :] ** 2))
    return part * gauss, off_x, off_y


def turned_back(part: Complex, padded: tuple[int, int]) -> Complex:
    """From bins around a frequency to samples over the picture; a constant wave of amplitude a gives a / 2."""
    placed = fft.ifft2(fft.ifftshift(part))
    return np.asarray(placed * (part.size / (padded[0] * padded[1])))


def fields_of(whole: Whole, basis: Array) -> Fields:
    """Local lattice from the phases of its orders."""
    pitches = 1 / np.linalg.norm(basis, axis=1)
    pitch = float(math.sqrt(pitches[0] * pitches[1]))
    reach = max(LOW_PASS_PITCHES * pitch, math.sqrt(whole.shape[0] * whole.shape[1]) / MOST_REACHES)
    every = reach / LOW_PASS_PITCHES * SAMPLE_PITCHES
    rows, columns = whole.padded
    size = (max(8, 2 * math.ceil(rows / every / 2)), max(8, 2 * math.ceil(columns / every / 2)))
    waves, slopes, used = [], [], []
    for order in ORDERS:
        cycles = np.array(order) @ basis
        if max(abs(cycles)) > 0.48 or float(np.hypot(*cycles)) > 0.6:
            continue
        part, off_x, off_y = cut_out(whole, cycles, reach, size)
        turn = carrier(cycles, whole.padded, size)
        parts = (part, part * off_x[None, :], part * off_y[:, None])
        back = [turned_back(each, whole.padded) * turn for each in parts]
        power = np.abs(back[0]) ** 2
        slope = np.stack([np.real(np.conj(back[0]) * each) / np.maximum(power, 1e-20) for each in back[1:]], axis=-1)
        waves.append(back[0])
        slopes.append(slope)
        used.append(order)
    y_px = np.arange(size[0]) * rows / size[0]
    x_px = np.arange(size[1]) * columns / size[1]
    inside = sampled_share(whole, reach, size)
    return solved(basis, np.array(used, float), np.array(waves), np.array(slopes), inside, (x_px, y_px), reach)


def carrier(cycles: Array, padded: tuple[int, int], size: tuple[int, int]) -> Complex:
    """What is left of the wave because the window was cut at whole bins."""
    off_x = round(cycles[0] * padded[1]) / padded[1] - cycles[0]
    off_y = round(cycles[1] * padded[0]) / padded[0] - cycles[1]
    x = np.arange(size[1]) * padded[1] / size[1]
    y = np.arange(size[0]) * padded[0] / size[0]
    return np.asarray(np.exp(2j * math.pi * off_y * y)[:, None] * np.exp(2j * math.pi * off_x * x)[None, :])


def sampled_share(whole: Whole, reach: float, size: tuple[int, int]) -> NDArray[np.bool_]:
    """Samples whose surroundings lie on cloth."""
    rows, columns = whole.padded
    y = np.minimum((np.arange(size[0]) * rows / size[0]).astype(int), rows - 1)
    x = np.minimum((np.arange(size[1]) * columns / size[1]).astype(int), columns - 1)
    inside = np.zeros(size, bool)
    good_y, good_x = y < whole.shape[0], x < whole.shape[1]
    inside[np.ix_(good_y, good_x)] = whole.taper[np.ix_(y[good_y], x[good_x])] > 0.97
    edge_y, edge_x = reach, reach
    inside[(y < edge_y) | (y > whole.shape[0] - edge_y)] = False
    inside[:, (x < edge_x) | (x > whole.shape[1] - edge_x)] = False
    return inside


def solved(
    basis: Array,
    orders: Array,
    waves: Complex,
    slopes: Array,
    inside: NDArray[np.bool_],
    places: tuple[Array, Array],
    reach: float,
) -> Fields:
    """Weighted least squares of the local basis at each sample, and which samples follow the lattice."""
    power = np.abs(waves) ** 2
    base = power[:, inside] if inside.any() else power.reshape(len(orders), -1)
    ground = np.percentile(base, 5, axis=1)[:, None, None]
    weight = np.maximum(power - np.minimum(ground, 0.2 * np.median(base, axis=1)[:, None, None]), 0) + 1e-18
    normal = np.tensordot(weight, orders[:, :, None] * orders[:, None, :], (0, 0))
    normal += 1e-9 * np.trace(normal, axis1=2, axis2=3)[..., None, None] * np.eye(2)
    right = np.stack([np.tensordot(weight * slopes[..., axis], orders, (0, 0)) for axis in (0, 1)], axis=-1)
    change = np.linalg.solve(normal, right)
    relative = change @ np.linalg.inv(basis)
    strain = np.abs(relative).max(axis=(2, 3))
    follows = inside & (strain < MOST_CHANGE)
    for axis in (0, 1):  # a fold may keep its wales and lose its courses
        amplitude = np.sqrt(weight[orders[:, axis] != 0].sum(axis=0))
        follows &= amplitude > LEAST_AMPLITUDE * np.median(amplitude[inside] if inside.any() else amplitude)
    grid_y, grid_x = np.meshgrid(places[1], places[0], indexing="ij")
    return Fields(basis, basis + change, follows, inside, weight.sum(axis=0), grid_x, grid_y, waves, reach)


def mean_basis(fields: Fields) -> Array:
    """Weighted mean of the local bases that follow the lattice."""
    weight = np.where(fields.follows, np.minimum(fields.weight, 3 * np.median(fields.weight[fields.follows])), 0)
    return np.asarray(np.einsum("yx,yxij->ij", weight, fields.local) / weight.sum())


def refined(whole: Whole, basis: Array, rounds: int = 1) -> Fields | None:
    """The lattice after some rounds; None when hardly anything follows it."""
    fields = fields_of(whole, basis)
    for _ in range(rounds):
        if fields.follows.sum() < 8:
            return None
        fields = fields_of(whole, mean_basis(fields))
    return fields if fields.follows.sum() >= 8 else None
