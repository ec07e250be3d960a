"""A ruler beside the swatch: its smallest divisions, whose size was entered, give the scale.

In: a picture, the smallest division in mm, where the cloth lies. Out: `Scale` or `NoScale`. A strip anywhere in the
picture at any angle is looked for; that its finest ticks are the smallest divisions has to show in the lengths of the
ticks (one in five and ten longer, or by halves for parts of an inch), so that a fifth or tenth isn't taken for one.
A ruler mends no tilt: what a hand may be off the plumb line is in the spread.
Source: the project's feasibility note on swatch pictures.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from PIL import Image
from scipy import ndimage

from loopwright.swatch.photo.cloth import ClothArea
from loopwright.swatch.photo.perspective import USUAL_FOCAL, Points
from loopwright.swatch.photo.picture import Grey, Picture
from loopwright.swatch.photo.scale import (
    CAMERA_TILT_DEG,
    LENS,
    MM_PER_INCH,
    NoScale,
    Scale,
    ScaleRefusal,
    tilt_spread,
)
from loopwright.swatch.photo.ticks import MOST_RMS, Ticks, ticks_of

LOOKED_AT_PX = 2000  # longer side of the copy in which strips are looked for
BLOCK = 16
LEAST_COHERENCE = 0.55
IN_CLOTH = 0.15  # weight of blocks where cloth was found: a ruler may lie on it
NEAR_DEG = 2.5  # blocks so near in direction belong together
ANGLES, OFFSETS = 6, 3  # directions, and strips of each, that are looked at
STRIP_BLOCKS = 5  # width of a strip
TICKS_TILT = 1.5  # a tilt seen along the ruler is allowed for across it so many times


@dataclass(frozen=True, slots=True)
class _Strip:
    """A strip of the picture: brightness, its first point and the directions along and across (unit, px)."""

    bright: NDArray[np.float64]
    start: Points
    along: Points
    across: Points


@dataclass(frozen=True, slots=True)
class _Spacing:
    """Places x = (a + b k) / (1 + c k) of tick k along a strip; spread of the ticks (px), covariance of a, b, c."""

    a: float
    b: float
    c: float
    rms_px: float
    covariance: NDArray[np.float64]
    last: int

    def at(self, number: float) -> float:
        """Pixels to a division at a tick."""
        return float((self.b - self.a * self.c) / (1 + self.c * number) ** 2)

    def spread(self, number: float) -> float:
        """Relative half-width of `at`, in 95 of 100 pictures."""
        base = (self.a, self.b, self.c)
        slopes = []
        for index, step in enumerate((1e-3, 1e-5, 1e-8)):
            moved = [value + (step if each == index else 0) for each, value in enumerate(base)]
            there = (moved[1] - moved[0] * moved[2]) / (1 + moved[2] * number) ** 2
            slopes.append((there / self.at(number) - 1) / step)
        variance = float(np.array(slopes) @ self.covariance @ np.array(slopes))
        return float(np.hypot(1.96 * np.sqrt(max(variance, 0)), LENS))

    def number_at(self, place_px: float) -> float:
        """The tick at a place along the strip, no farther than the ruler is seen."""
        return float(np.clip((place_px - self.a) / (self.b - self.c * place_px), 0, self.last))


def find_ruler(
    picture: Picture, division_mm: float, cloth_middle: Points, area: ClothArea | None = None
) -> Scale | NoScale:
    """The scale that a ruler in the picture gives at the middle of the cloth."""
    proven: list[tuple[_Strip, Ticks, _Spacing]] = []
    unproven = False
    for strip in _strips(picture, area):
        ticks = ticks_of(strip.bright)
        spacing = None if ticks is None else _spacing(ticks)
        if ticks is None or spacing is None or spacing.rms_px > MOST_RMS * ticks.interval_px:
            continue
        if _is_proven(ticks.groups, division_mm):
            proven.append((strip, ticks, spacing))
        elif len(ticks.groups):
            unproven = True
    if proven:
        best = max(proven, key=lambda each: len(each[1].places))
        return _scale(picture, *best, division_mm=division_mm, cloth_middle=cloth_middle)
    if unproven:
        return NoScale(
            ScaleRefusal.REFERENCE_AMBIGUOUS,
            f"Ticks are seen, but not that their smallest division is {division_mm:g} mm: "
            "their lengths don't show which are longer.",
            ("go closer, so that each smallest tick is sharp", "check the division typed", "use a card"),
        )
    return NoScale(
        ScaleRefusal.NO_REFERENCE,
        "No ruler is found in the picture.",
        ("lay it flat along the cloth, 20 divisions or more in view, without glare", "use a card"),
    )


def _is_proven(groups: frozenset[int], division_mm: float) -> bool:
    """Whether groups of longer ticks fit the division: fives and tens for a mm, halves for parts of an inch."""
    parts = MM_PER_INCH / division_mm
    if abs(parts - round(parts)) < 0.01 and round(parts) in (8, 16, 32):
        finer = {2 * round(parts)} & set(groups)
        return 2 in groups and round(parts) in groups and not finer
    if abs(division_mm - 0.5) < 1e-9:
        return 2 in groups and bool({10, 20} & groups) and not {4, 5} & groups
    return bool({5, 10} & groups) and not {2, 4} & groups


def _strips(picture: Picture, area: ClothArea | None = None) -> Iterator[_Strip]:
    """Strips of the picture in which many short lines stand side by side, the busiest first."""
    factor = max(1, round(max(picture.grey.shape) / LOOKED_AT_PX))
    copy = picture.grey if factor == 1 else np.asarray(Image.fromarray(picture.grey).reduce(factor), np.float32)
    energy, angle, coherence = _directions(copy)
    weight = np.sqrt(energy) * (coherence > LEAST_COHERENCE)
    weight = np.minimum(weight, 4 * float(np.median(weight[weight > 0])) if (weight > 0).any() else 0)
    if area is not None:
        weight[_block_means(area.mask(*picture.grey.shape)[::factor, ::factor].astype(np.float32)) > 0.5] *= IN_CLOTH
    rows, columns = np.indices(weight.shape)
    x, y = (columns + 0.5) * BLOCK * factor, (rows + 0.5) * BLOCK * factor
    for direction in _peaks_of_angle(angle, weight):
        exact, near = direction, weight > 0
        for _ in range(3):
            off = (angle - exact + np.pi / 2) % np.pi - np.pi / 2
            near = (np.abs(off) < np.radians(NEAR_DEG)) & (weight > 0)
            if not near.any():
                break
            exact += float(np.average(off[near], weights=weight[near]))
        if not near.any():
            continue
        offset = -x * np.sin(exact) + y * np.cos(exact)
        yield from _strips_along(picture.grey, exact, offset[near], weight[near], BLOCK * factor)


def _directions(copy: Grey) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
    """Of each block: how busy it is, across which direction (radians, 0 to π) and how much it keeps to it."""
    gx = ndimage.gaussian_filter(copy, 0.8, order=(0, 1))
    gy = ndimage.gaussian_filter(copy, 0.8, order=(1, 0))
    xx, xy, yy = (_block_means(each) for each in (gx * gx, gx * gy, gy * gy))
    energy = xx + yy
    coherence = np.hypot(xx - yy, 2 * xy) / (energy + 1e-12)
    return energy, (0.5 * np.arctan2(2 * xy, xx - yy)) % np.pi, coherence


def _block_means(values: Grey) -> NDArray[np.float64]:
    rows, columns = values.shape[0] // BLOCK, values.shape[1] // BLOCK
    cut = values[: rows * BLOCK, : columns * BLOCK].reshape(rows, BLOCK, columns, BLOCK)
    means: NDArray[np.float64] = cut.mean(axis=(1, 3), dtype=np.float64)
    return means


def _peaks_of_angle(angle: NDArray[np.float64], weight: NDArray[np.float64]) -> list[float]:
    """The directions that most blocks keep to."""
    bins = 120
    histogram = np.bincount((angle * bins / np.pi).astype(int).ravel() % bins, weight.ravel(), bins)
    smooth = ndimage.gaussian_filter1d(histogram, 1.2, mode="wrap")
    peaks = [k for k in range(bins) if smooth[k] >= max(smooth[k - 1], smooth[(k + 1) % bins]) and smooth[k] > 0]
    return [(k + 0.5) * np.pi / bins for k in sorted(peaks, key=lambda k: -smooth[k])[:ANGLES]]


def _strips_along(
    grey: Grey, angle: float, offset: NDArray[np.float64], weight: NDArray[np.float64], block_px: int
) -> Iterator[_Strip]:
    """The busiest strips of one direction."""
    low = float(offset.min())
    histogram = np.bincount(((offset - low) / (block_px / 2)).astype(int), weight)
    smooth = ndimage.uniform_filter1d(histogram, 3, mode="constant")
    for _ in range(OFFSETS):
        best = int(np.argmax(smooth))
        if smooth[best] <= 0:
            return
        yield _cut(grey, angle, low + (best + 0.5) * block_px / 2, STRIP_BLOCKS * block_px)
        smooth[max(0, best - 4) : best + 5] = 0


def _cut(grey: Grey, angle: float, offset: float, width_px: float) -> _Strip:
    """The strip along a direction at an offset from the corner of the picture, as far as the picture goes."""
    along, across = np.array([np.cos(angle), np.sin(angle)]), np.array([-np.sin(angle), np.cos(angle)])
    height, width = grey.shape
    corners = np.array([[0, 0], [width, 0], [0, height], [width, height]]) @ along
    step = max(1.0, width_px / 80)
    u = np.arange(np.floor(corners.min()), np.ceil(corners.max()))
    v = offset + np.arange(-width_px / 2, width_px / 2, step)
    middle = offset * across[None] + u[:, None] * along[None]
    is_in = ((middle > -width_px) & (middle < np.array([width, height]) + width_px)).all(axis=1)
    u = u[is_in]
    x = u[None, :] * along[0] + v[:, None] * across[0]
    y = u[None, :] * along[1] + v[:, None] * across[1]
    bright = ndimage.map_coordinates(grey, [y, x], order=1, mode="nearest").astype(np.float64)
    return _Strip(bright, u[0] * along + v[0] * across, along, across * step)


def _spacing(ticks: Ticks) -> _Spacing | None:
    """Places of the ticks as a camera sees even divisions: least squares, ticks far off left out."""
    k, x = ticks.numbers.astype(float), ticks.places
    keep = np.ones(len(k), bool)
    for _ in range(4):
        design = np.column_stack([np.ones(len(k)), k, -k * x])
        found, *_ = np.linalg.lstsq(design[keep], x[keep], rcond=None)
        a, b, c = (float(each) for each in found)
        rest = x - (a + b * k) / (1 + c * k)
        scale = max(1.4826 * float(np.median(np.abs(rest[keep]))), 0.02)
        keep = np.abs(rest) < 3.5 * scale
        if keep.sum() < len(k) / 2:
            return None
    rms = float(np.sqrt(np.mean(rest[keep] ** 2)))
    normal = design[keep].T @ design[keep]
    covariance = np.linalg.pinv(normal) * max(rms, 0.02) ** 2
    return _Spacing(a, b, c, rms, covariance, int(ticks.numbers[-1]))


def _scale(
    picture: Picture, strip: _Strip, ticks: Ticks, spacing: _Spacing, *, division_mm: float, cloth_middle: Points
) -> Scale:
    """The scale at the tick nearest to the middle of the cloth."""
    number = spacing.number_at(float((cloth_middle - strip.start) @ strip.along))
    mm = division_mm / spacing.at(number)
    foot = strip.start + float(spacing.a + spacing.b * number) / (1 + spacing.c * number) * strip.along
    focal_px = USUAL_FOCAL * max(picture.width_px, picture.height_px)
    change = abs(2 * spacing.c / (1 + spacing.c * number)) / spacing.at(number)
    along_deg = float(np.degrees(np.arctan(change * focal_px / 2)))
    tilt = max(CAMERA_TILT_DEG, TICKS_TILT * along_deg)
    of_scale = spacing.spread(number)

    def spread(point: Points) -> tuple[float, float]:
        return of_scale, tilt_spread(tilt, float(np.linalg.norm(point - foot)) / focal_px)

    return Scale(
        f"ruler, {len(ticks.places)} divisions of {division_mm:g} mm",
        np.diag([mm, mm, 1.0]),
        (_outline(strip, ticks),),
        spread,
        None,
        is_tilt_corrected=False,
        notes=("the nearer the ruler lies to the stitches, the surer the scale",),
    )


def _outline(strip: _Strip, ticks: Ticks) -> Points:
    """The part of the strip that the ticks take."""
    first, last = ticks.places[0], ticks.places[-1]
    rows = strip.bright.shape[0]
    corners = [(first, 0), (last, 0), (last, rows), (first, rows)]
    outline: Points = np.array([strip.start + u * strip.along + v * strip.across for u, v in corners])
    return outline
