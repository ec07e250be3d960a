"""Straight edges to a fraction of a pixel: the sides of a card or of a drawn square.

In: brightness of the whole picture and four rough corners (px). Out: `Sides`: four corners where fitted lines meet,
how well the edges stand. A first wide search adds the slope of brightness along every thinkable line, so that neither
cloth nor print beside the edge takes the line; two narrow passes follow. The round corners are kept clear of.
Source: the project's feasibility note on swatch pictures (a narrow first pass costs up to 9 %).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

from loopwright.swatch.photo.perspective import Points

FIRST, LAST = 0.12, 0.88  # part of a side that is looked at
PROFILES = 72  # across a side in the wide search
FINE_PROFILES = 180  # in the narrow ones: what lies beside an edge blurs it less the more places are joined
WIDE_SHARE = 0.03  # half width of the first search, in long sides
NARROW_PX = (8.0, 5.0)
NEAR_PX = 1.5  # an edge point so near belongs to its line
RIDGE_SHARE = 0.04  # a drawn line is no wider than this, in sides

Grey = NDArray[np.float32]


@dataclass(frozen=True, slots=True)
class Sides:
    """Corners (4, 2) px in the order given; spread of edge points about their lines; share of them on it.

    `contrast` is the mean step of brightness over the edges. `ridge_px` is the mean width of a drawn line, 0 where the
    edge is a single step; the corners are then those of the middle of the line.
    """

    corners: Points
    rms_px: float
    support: float
    contrast: float
    ridge_px: float = 0.0


@dataclass(frozen=True, slots=True)
class _Line:
    start: Points
    end: Points
    rms_px: float
    support: float
    contrast: float


def fit_sides(grey: Grey, corners: Points) -> tuple[Sides, bool]:
    """The four sides near rough corners, and whether the inside is brighter than what lies around."""
    long_px = max(float(np.linalg.norm(corners[i] - corners[i - 1])) for i in range(4))
    wide = [_wide(grey, corners[i], corners[(i + 1) % 4], WIDE_SHARE * long_px + 2) for i in range(4)]
    is_brighter = sum(brighter.contrast for brighter, _ in wide) > sum(darker.contrast for _, darker in wide)
    sign = -1.0 if is_brighter else 1.0
    lines = [brighter if is_brighter else darker for brighter, darker in wide]
    for half_px in NARROW_PX:
        met = _meet(lines)
        lines = [_narrow(grey, met[i], met[(i + 1) % 4], half_px, sign) for i in range(4)]
    sides = Sides(
        _meet(lines),
        float(np.mean([line.rms_px for line in lines])),
        float(np.min([line.support for line in lines])),
        float(np.mean([line.contrast for line in lines])),
    )
    return sides, is_brighter


def to_middle_of_line(grey: Grey, sides: Sides, *, is_brighter: bool) -> Sides:
    """The same sides moved to the middle of the drawn line, where there is one."""
    sign = -1.0 if is_brighter else 1.0
    lines, widths = [], []
    for i in range(4):
        start, end = sides.corners[i], sides.corners[(i + 1) % 4]
        width = _ridge_px(grey, start, end, sign)
        normal = _normal(start, end)
        lines.append(_Line(start + normal * width / 2, end + normal * width / 2, 0.0, 1.0, 0.0))
        widths.append(width)
    if min(np.abs(widths)) <= 0 or max(widths) * min(widths) < 0:
        return sides
    return Sides(_meet(lines), sides.rms_px, sides.support, sides.contrast, float(np.mean(np.abs(widths))))


def _normal(start: Points, end: Points) -> Points:
    """Unit vector out of a figure whose corners run clockwise on the screen."""
    along = (end - start) / np.linalg.norm(end - start)
    out: Points = np.array([along[1], -along[0]])
    return out


def _profiles(
    grey: Grey, start: Points, end: Points, half_px: float, step: float, count: int = PROFILES
) -> NDArray[np.float64]:
    """Brightness across a side: one row for each place along it, from inside to outside."""
    share = np.linspace(FIRST, LAST, count)[:, None]
    offsets = np.arange(-half_px, half_px + step / 2, step)[None, :]
    normal = _normal(start, end)
    x = start[0] + share * (end - start)[0] + offsets * normal[0]
    y = start[1] + share * (end - start)[1] + offsets * normal[1]
    sampled: NDArray[np.float64] = ndimage.map_coordinates(grey, [y, x], order=1, mode="nearest").astype(np.float64)
    return sampled


def _slopes(profiles: NDArray[np.float64], step: float, sigma_px: float) -> NDArray[np.float64]:
    slopes: NDArray[np.float64] = ndimage.gaussian_filter1d(profiles, sigma_px / step, axis=1, order=1) / step
    return slopes


def _wide(grey: Grey, start: Points, end: Points, half_px: float) -> tuple[_Line, _Line]:
    """The lines, among all that cross the search band, along which brightness falls most and rises most outwards."""
    step = max(1.0, half_px / 30)
    slopes = _slopes(_profiles(grey, start, end, half_px, step), step, 1.5)
    count = slopes.shape[1]
    padded = np.pad(slopes, ((0, 0), (count, count)))
    leans = np.arange(-(count // 2), count // 2 + 1)
    shift = np.rint(np.linspace(-0.5, 0.5, PROFILES)[:, None] * leans).astype(np.int64) + count
    windows = np.lib.stride_tricks.sliding_window_view(padded, count, axis=1)
    summed = windows[np.arange(PROFILES)[:, None], shift].sum(axis=0)  # leans, places
    normal, reach = _normal(start, end), 1 / (LAST - FIRST)
    lines = []
    for sign in (-1.0, 1.0):
        lean_at, place = np.unravel_index(int(np.argmax(sign * summed)), summed.shape)
        middle, lean = float(place) * step - half_px, float(leans[lean_at]) * step * reach / 2
        total = float(sign * summed[lean_at, place])
        lines.append(_Line(start + normal * (middle - lean), end + normal * (middle + lean), 0, 1, total))
    return lines[0], lines[1]


def _narrow(grey: Grey, start: Points, end: Points, half_px: float, sign: float) -> _Line:
    """The line through the places of steepest brightness, each to a fraction of a pixel."""
    step = 0.5
    slopes = sign * _slopes(_profiles(grey, start, end, half_px, step, FINE_PROFILES), step, 1.0)
    inner = slopes[:, 1:-1]
    peak = np.argmax(inner, axis=1) + 1
    row = np.arange(len(peak))
    before, top, after = slopes[row, peak - 1], slopes[row, peak], slopes[row, peak + 1]
    bend = before - 2 * top + after
    shift = np.where(np.abs(bend) > 1e-12, 0.5 * (before - after) / np.where(bend == 0, 1, bend), 0)
    offset = (peak + np.clip(shift, -1, 1)) * step - half_px
    share = np.linspace(FIRST, LAST, FINE_PROFILES)
    slope, level, rms, support = _robust_line(share, offset, np.maximum(top, 0))
    normal = _normal(start, end)
    contrast = float(np.median(top)) * 2.5
    return _Line(start + normal * level, end + normal * (level + slope), rms, support, contrast)


def _robust_line(x: Points, y: Points, weight: Points) -> tuple[float, float, float, float]:
    """Slope and level of a line through most points; their spread about it; the share that lies near."""
    keep = weight * np.ones(len(x)) + 1e-12
    slope, level = 0.0, float(np.median(y))
    for _ in range(8):
        total = float(keep.sum())
        middle, height = float(keep @ x) / total, float(keep @ y) / total
        slope = float(keep @ ((x - middle) * y)) / max(float(keep @ (x - middle) ** 2), 1e-12)
        level = height - slope * middle
        rest = y - slope * x - level
        scale = max(1.4826 * float(np.median(np.abs(rest))), 0.15)
        keep = weight * np.clip(1 - (rest / (4 * scale)) ** 2, 0, None) ** 2 + 1e-12
    near = np.abs(rest) < NEAR_PX
    rms = float(np.sqrt(np.mean(rest[near] ** 2))) if near.any() else 99.0
    return slope, level, rms, float(near.mean())


def _meet(lines: list[_Line]) -> Points:
    """Where each line meets the one before it."""
    return np.array([_crossing(lines[i - 1], lines[i]) for i in range(4)])


def _crossing(one: _Line, other: _Line) -> Points:
    a, b = one.end - one.start, other.end - other.start
    turned = a[0] * b[1] - a[1] * b[0]
    if abs(turned) < 1e-9:
        return other.start
    gap = other.start - one.start
    crossing: Points = one.start + a * (gap[0] * b[1] - gap[1] * b[0]) / turned
    return crossing


def _ridge_px(grey: Grey, start: Points, end: Points, sign: float) -> float:
    """Signed width of the line drawn along a side: the way from the found edge to its other edge; 0 when none."""
    half_px = RIDGE_SHARE * float(np.linalg.norm(end - start)) + 3
    step = 0.25
    slope = sign * _slopes(_profiles(grey, start, end, half_px, step).mean(axis=0)[None], step, 1.0)[0]
    offsets = np.arange(len(slope)) * step - half_px
    here = float(slope[np.abs(offsets) < 1.5].max())
    away = np.where(np.abs(offsets) > 1.0, -slope, 0.0)
    other = int(np.argmax(away))
    return float(offsets[other]) if away[other] > 0.5 * here else 0.0
