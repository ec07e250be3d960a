"""Ticks of a ruler along a strip of a picture: where they are, how long, and which of them are longer.

In: a strip of brightness, rows along the ruler (px). Out: `Ticks`: places of the smallest divisions with whole numbers,
and of every group of 2, 4, 5, 8, 10, 16, 20, 32 whether one in the group stands out by its length.
Assumed: ticks are lines of one tone, darker or lighter than the ruler, square to its edge.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

GROUPS = (2, 4, 5, 8, 10, 16, 20, 32)
FEWEST_TICKS = 16
IRREGULAR = 0.22  # by which an interval may miss the median of those around it
DEEP = 0.35  # of the deepest ticks of a row: what is shallower is no tick
LEAST_DEPTH = 0.02  # of full brightness
FINEST_PX = 2.8  # ticks nearer than that aren't resolved
LONGER = 1.12  # a tick is longer than others by this factor at least
CLEAR = 0.85  # share of ticks that have to keep to the rule of their group
MOST_RMS = 0.13  # spread of ticks about their places, in divisions
MOST_FILL = 0.5  # share of a ruler's length that may be without ticks (glare, a shadow)

Strip = NDArray[np.float64]
Places = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Run:
    """A run of regular ticks in one row: row, places (px), median interval (px)."""

    row: int
    places: Places
    interval_px: float

    @property
    def length_px(self) -> float:
        """From the first tick to the last."""
        return float(self.places[-1] - self.places[0])


@dataclass(frozen=True, slots=True)
class Ticks:
    """Smallest divisions: places along the strip (px), their numbers, groups that stand out by length, rows."""

    places: Places
    numbers: NDArray[np.int64]
    groups: frozenset[int]
    rows: tuple[int, int]
    interval_px: float


def ticks_of(strip: Strip) -> Ticks | None:
    """The ticks in a strip; none when no row shows regular ones."""
    best: Ticks | None = None
    for ink in (-1.0, 1.0):
        depth = ink * _without_shade(strip)
        found = _of_depth(depth)
        if found is not None and (best is None or _weight(found) > _weight(best)):
            best = found
    return best


def _weight(ticks: Ticks) -> tuple[bool, int]:
    """Lines of the right tone show their groups; the gaps between them are as regular and as many."""
    return bool(ticks.groups), len(ticks.places)


def _without_shade(strip: Strip) -> Strip:
    """Brightness less its surroundings along the ruler."""
    fine = ndimage.gaussian_filter(strip, (0.7, 0.6))
    shaded: Strip = fine - ndimage.gaussian_filter1d(strip, 10.0, axis=1)
    return shaded


def _of_depth(depth: Strip) -> Ticks | None:
    runs = [run for row in range(depth.shape[0]) if (run := _regular_run(row, depth[row])) is not None]
    if len(runs) < 2:
        return None
    finest = _finest(runs)
    if len(finest) < 2:
        return None
    rows = np.array([run.row for run in finest])
    longest = max(finest, key=lambda run: run.length_px)
    near = rows[np.abs(rows - longest.row) <= 8]
    profile = depth[near].mean(axis=0)
    run = _regular_run(longest.row, profile)
    if run is None or abs(run.interval_px / longest.interval_px - 1) > 0.15:
        run = longest
    numbers = _numbers(run.places)
    lengths = _lengths(depth, run, int(np.median(near)))
    return Ticks(run.places, numbers, _groups(numbers, lengths), (int(rows.min()), int(rows.max())), run.interval_px)


def _regular_run(row: int, depth: Places) -> Run | None:
    """The longest run of ticks at regular intervals in a row; a missing tick may be stepped over."""
    places = _dips(depth)
    if len(places) < FEWEST_TICKS:
        return None
    intervals = np.diff(places)
    around = ndimage.median_filter(intervals, 9, mode="nearest")
    multiple = np.rint(intervals / around)
    is_regular = (
        (multiple >= 1) & (multiple <= 2) & (np.abs(intervals / (around * np.maximum(multiple, 1)) - 1) < IRREGULAR)
    )
    first, last = _longest_true(is_regular)
    if last - first + 1 < FEWEST_TICKS:
        return None
    chosen = places[first : last + 1]
    return Run(row, chosen, float(np.median(np.diff(chosen))))


def _dips(depth: Places) -> Places:
    """Places of the maxima of depth that are deep beside the deepest, to a fraction of a pixel."""
    inner = depth[1:-1]
    peaks = np.flatnonzero((inner > depth[:-2]) & (inner >= depth[2:]) & (inner > LEAST_DEPTH)) + 1
    if len(peaks) < FEWEST_TICKS:
        return np.empty(0)
    peaks = peaks[depth[peaks] > DEEP * np.percentile(depth[peaks], 80)]
    before, top, after = depth[peaks - 1], depth[peaks], depth[peaks + 1]
    bend = before - 2 * top + after
    places: Places = peaks.astype(np.float64) + np.clip(
        0.5 * (before - after) / np.where(bend == 0, -1, bend), -0.5, 0.5
    )
    return places


def _longest_true(values: NDArray[np.bool_]) -> tuple[int, int]:
    """First and last place of the longest unbroken run of true intervals, as numbers of the ticks that bound it."""
    edges = np.flatnonzero(np.diff(np.concatenate(([0], values.astype(np.int8), [0]))))
    if len(edges) == 0:
        return 0, -1
    starts, ends = edges[::2], edges[1::2]
    longest = int(np.argmax(ends - starts))
    return int(starts[longest]), int(ends[longest])


def _finest(runs: list[Run]) -> list[Run]:
    """Runs of the smallest interval that spans most of the ruler in several rows."""
    span = max(run.length_px for run in runs)
    long = [run for run in runs if run.length_px > MOST_FILL * span and run.interval_px >= FINEST_PX]
    for run in sorted(long, key=lambda each: each.interval_px):
        alike = [each for each in long if abs(each.interval_px / run.interval_px - 1) < 0.1]
        if len(alike) >= 2:
            return alike
    return []


def _numbers(places: Places) -> NDArray[np.int64]:
    """Whole numbers of the ticks, counted by their intervals."""
    intervals = np.diff(places)
    around = ndimage.median_filter(intervals, 9, mode="nearest")
    steps = np.maximum(1, np.rint(intervals / around)).astype(np.int64)
    numbers: NDArray[np.int64] = np.concatenate(([0], np.cumsum(steps)))
    return numbers


def _lengths(depth: Strip, run: Run, row: int) -> Places:
    """How many rows each tick goes on from the row where all are seen; the way is found that tells them apart more."""
    half = max(1, round(run.interval_px / 5))
    columns = np.rint(run.places).astype(int)
    sides = np.clip(columns[None, :] + np.arange(-half, half + 1)[:, None], 0, depth.shape[1] - 1)
    shown = depth[:, sides].max(axis=1)
    least = 0.4 * np.maximum(shown[max(0, row - 1) : row + 2].mean(axis=0), LEAST_DEPTH)
    is_there = shown > least[None, :]
    down = np.cumprod(is_there[row:], axis=0).sum(axis=0)
    up = np.cumprod(is_there[row::-1], axis=0).sum(axis=0)
    counted = np.asarray(max((down, up), key=lambda each: float(each.std() / (each.mean() + 1))), float)
    lean = float(np.polyfit(run.places, np.minimum(counted, 1.5 * np.median(counted)), 1)[0])
    level: Places = counted - lean * (run.places - run.places.mean())
    return level


def _groups(numbers: NDArray[np.int64], lengths: Places) -> frozenset[int]:
    """The groups of which one tick in each stands out as longer than all others."""
    return frozenset(group for group in GROUPS if _stands_out(numbers, lengths, group))


def _stands_out(numbers: NDArray[np.int64], lengths: Places, group: int) -> bool:
    phase = numbers % group
    if len(numbers) < 2 * group:
        return False
    means = [lengths[phase == each].mean() if (phase == each).any() else 0 for each in range(group)]
    long = phase == int(np.argmax(means))
    if long.sum() < 2:
        return False
    others = lengths[~long]
    limit = max(LONGER * float(np.percentile(others, 75)), float(np.percentile(others, 75)) + 1)
    return bool((lengths[long] > limit).mean() >= CLEAR and (others < limit).mean() >= CLEAR)
