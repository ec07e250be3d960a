"""Laying closed shapes on a strip: every shape at the lowest place that is free, the leftmost of equals.

In: outlines in cm as arrays of shape (points, 2). Out: where each one lies. The strip is cut into narrow columns along
its length; in each column a shape fills the stretch between its lowest and highest point there, rounded outwards, so
what is laid can never overlap, and free places between shapes are found as well as on top of them.
Main assumption: a shape has one stretch in a column; a hollow that opens sideways is taken as filled. Places across the
strip go by whole columns. Not covered: what the shapes are (`marker`). Source: identity (geometry).
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import NDArray

Lengths = NDArray[np.float64]
TOUCH_CM = 1e-6  # shapes this near may share a place


@dataclass(frozen=True, slots=True)
class Stretches:
    """A shape by columns of the strip: lowest and highest point in each, shape (columns,), and its width in cm."""

    low: Lengths
    high: Lengths
    width_cm: float


def stretches(outline: Sequence[tuple[float, float]], column_cm: float) -> Stretches:
    """Cut a closed outline into columns; its leftmost and lowest point lie at 0.

    >>> flat = stretches([(0, 0), (2, 0), (0, 4)], column_cm=1.0)    # a triangle, falling to the right
    >>> flat.low.tolist(), flat.high.tolist()
    ([0.0, 0.0], [4.0, 2.0])
    """
    points = np.asarray(outline, dtype=np.float64)
    width = float(np.ptp(points[:, 0]))
    count = max(math.ceil(width / column_cm - TOUCH_CM), 1)
    low, high = np.full(count, math.inf), np.full(count, -math.inf)
    for (x1, y1), (x2, y2) in pairwise([*points.tolist(), points[0].tolist()]):
        (x1, y1), (x2, y2) = sorted(((x1, y1), (x2, y2)))
        first = min(int(x1 / column_cm), count - 1)
        last = min(int(x2 / column_cm), count - 1)
        borders = np.clip(np.arange(first, last + 2) * column_cm, x1, x2)
        heights = np.interp(borders, [x1, x2], [y1, y2]) if x2 > x1 else np.array([y1, y2])
        ends = np.stack([heights[:-1], heights[1:]])
        low[first : last + 1] = np.minimum(low[first : last + 1], ends.min(axis=0))
        high[first : last + 1] = np.maximum(high[first : last + 1], ends.max(axis=0))
    return Stretches(low, high, width)


class Strip:
    """A strip of cloth of a width, open upwards, with what lies on it."""

    def __init__(self, width_cm: float, column_cm: float) -> None:
        self.width_cm = width_cm
        self.column_cm = column_cm
        columns = max(math.ceil(width_cm / column_cm - TOUCH_CM), 1)
        self._starts: Lengths = np.full((columns, 0), math.inf)
        self._ends: Lengths = np.full((columns, 0), -math.inf)
        self._filled: NDArray[np.int64] = np.zeros(columns, dtype=np.int64)
        self.length_cm = 0.0

    def lowest_place(self, shape: Stretches) -> tuple[float, float]:
        """(y, x) of the lowest free place of a shape, leftmost of equals; its lower left corner comes there."""
        places = int((self.width_cm - shape.width_cm) / self.column_cm + TOUCH_CM) + 1
        heights = self._free_heights(shape, places)
        place = int(np.argmin(np.round(heights, 6)))
        return float(heights[place]), place * self.column_cm

    def _free_heights(self, shape: Stretches, places: int) -> Lengths:
        """Lowest free height at each of the places across the strip, shape (places,).

        In a column a lying stretch (a, b) forbids the heights between a − high and b − low; a height that some stretch
        forbids gives way to the highest end of those that do, until none does.
        """
        starts = (self._windows(self._starts, shape, places) - shape.high + TOUCH_CM).reshape(places, -1)
        ends = (self._windows(self._ends, shape, places) - shape.low).reshape(places, -1)
        heights, open_ = np.zeros(places), np.arange(places)
        while len(open_):
            now = heights[open_, None]
            raised = np.where((starts[open_] < now) & (ends[open_] > now), ends[open_], 0.0).max(axis=1, initial=0.0)
            higher = raised > now[:, 0]
            open_ = open_[higher]
            heights[open_] = raised[higher]
        return heights

    @staticmethod
    def _windows(lying: Lengths, shape: Stretches, places: int) -> Lengths:
        """What lies in the columns under the shape at each place, shape (places, layers, columns of the shape)."""
        return sliding_window_view(lying, len(shape.low), axis=0)[:places]

    def lay(self, shape: Stretches, *, x_cm: float, y_cm: float) -> None:
        """Put a shape down."""
        first = round(x_cm / self.column_cm)
        rows = np.arange(first, first + len(shape.low))
        deep = self._filled[rows]
        if deep.max(initial=0) == self._starts.shape[1]:
            self._starts = np.pad(self._starts, ((0, 0), (0, 1)), constant_values=math.inf)
            self._ends = np.pad(self._ends, ((0, 0), (0, 1)), constant_values=-math.inf)
        self._starts[rows, deep] = shape.low + y_cm
        self._ends[rows, deep] = shape.high + y_cm
        self._filled[rows] += 1
        self.length_cm = max(self.length_cm, float(shape.high.max()) + y_cm)


@dataclass(frozen=True, slots=True)
class Laid:
    """Where one shape came to lie: which of its turns, and its lower left corner."""

    index: int
    turn: int
    x_cm: float
    y_cm: float


@dataclass(frozen=True, slots=True)
class Laying:
    """All shapes on the strip, and the length that they take."""

    laid: tuple[Laid, ...]
    length_cm: float


def laying(
    shapes: Iterable[tuple[int, Sequence[Stretches]]], *, width_cm: float, column_cm: float, most_cm: float = math.inf
) -> Laying:
    """Lay (index, turns) one after the other; each takes the turn that comes lowest, then leftmost.

    Given up, with an infinite length, as soon as the strip grows longer than `most_cm`.
    """
    strip = Strip(width_cm, column_cm)
    found = []
    for index, turns in shapes:
        places = [(*strip.lowest_place(shape), turn) for turn, shape in enumerate(turns)]
        y_cm, x_cm, turn = min(places, key=lambda place: (round(place[0], 6), place[1], place[2]))
        strip.lay(turns[turn], x_cm=x_cm, y_cm=y_cm)
        if strip.length_cm > most_cm + TOUCH_CM:
            return Laying((), math.inf)
        found.append(Laid(index, turn, x_cm, y_cm))
    return Laying(tuple(found), strip.length_cm)
