"""Smooth centre lines of the yarns of a piece of cloth, laid side by side from one repeat.

In: a `ClothForm`, lengths in diameters d of the first yarn. Out: `YarnLine`s, points (n, 3) in d, the axes of the form
(x along the courses, y along the wales, z toward the viewer of the face), the middle of the piece at x = y = 0.
Nodes of a form are sparse (20 to 50 on a loop); a periodic cubic spline through them, the shift to the next repeat
taken out, gives a line without corners that goes on evenly from repeat to repeat.
Not covered: tubes (`tubes`), cloth that curls (`lie`).
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import CubicSpline

from loopwright.mechanics.form import ClothForm, Strand

Points = NDArray[np.float64]

SPACING = 0.4  # of the points of a smooth line, in d


@dataclass(frozen=True, slots=True, eq=False)
class YarnLine:
    """A length of one yarn: its letter, its diameter and its centre line (n, 3), in d."""

    yarn: str
    diameter: float
    points: Points

    @property
    def length(self) -> float:
        """Length of the yarn in d."""
        return float(np.linalg.norm(np.diff(self.points, axis=0), axis=1).sum())


def smooth_repeat(strand: Strand, width: float, points: int, parts: Points | None = None) -> Points:
    """One repeat of a strand as `points` evenly spaced points (points, 3); the next repeat begins at + width.

    `parts` are those of `parts_of` for another state of this yarn: its points then stay with their places on the yarn.
    """
    shift = np.array([width, 0.0, 0.0])
    nodes = np.concatenate([strand.nodes, strand.nodes[:1] + shift])
    part = parts_of(strand, width) if parts is None else parts
    around = nodes - part[:, None] * shift
    around[-1] = around[0]  # exactly, or the spline refuses
    at = np.arange(points) / points
    smooth: Points = CubicSpline(part, around, bc_type="periodic")(at) + at[:, None] * shift
    return smooth


def parts_of(strand: Strand, width: float) -> Points:
    """How far along the yarn of a repeat each node lies, and the first of the next, (n + 1,) from 0 to 1."""
    nodes = np.concatenate([strand.nodes, strand.nodes[:1] + np.array([width, 0.0, 0.0])])
    chord = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(nodes, axis=0), axis=1))])
    part: Points = chord / chord[-1]
    return part


def points_of(strand: Strand, width: float, spacing: float = SPACING) -> int:
    """How many points a strand needs over a repeat for a spacing in d."""
    nodes = np.concatenate([strand.nodes, strand.nodes[:1] + np.array([width, 0.0, 0.0])])
    return max(math.ceil(float(np.linalg.norm(np.diff(nodes, axis=0), axis=1).sum()) / spacing), 4)


def repeats_for(form: ClothForm, wales: float, courses: float) -> tuple[int, int]:
    """Whole repeats (across, along) that show at least so many wales and courses."""
    return max(math.ceil(wales / form.wales - 1e-9), 1), max(math.ceil(courses / form.courses - 1e-9), 1)


def patch(form: ClothForm, across: int, along: int, *, spacing: float = SPACING) -> tuple[YarnLine, ...]:
    """A piece of `across` by `along` repeats: for each strand, row by row upward, one line from left to right."""
    counts = [points_of(strand, form.width, spacing) for strand in form.strands]
    return laid_out(form, [smooth_repeat(s, form.width, n) for s, n in zip(form.strands, counts, strict=True)],
                    across, along)  # fmt: skip


def laid_out(form: ClothForm, repeats: list[Points], across: int, along: int) -> tuple[YarnLine, ...]:
    """Smooth repeats (m, 3), one for each strand, laid side by side; a line has across·m + 1 points."""
    middle = piece_middle(form, repeats, across, along)
    return tuple(
        YarnLine(strand.yarn, strand.diameter, _row(form, repeat, 0, across, row) - middle)
        for strand, repeat in zip(form.strands, repeats, strict=True)
        for row in range(along)
    )


def piece_middle(form: ClothForm, repeats: list[Points], across: int, along: int) -> Points:
    """Middle (3,) of a piece in the axes of its first repeat; z is left as it is."""
    low = np.min([each[:, :2].min(axis=0) for each in repeats], axis=0)
    high = np.max([each[:, :2].max(axis=0) for each in repeats], axis=0)
    more = np.array([(across - 1) * form.width + (along - 1) * form.shear, (along - 1) * form.height])
    return np.append((low + high + more) / 2, 0.0)


def covering(form: ClothForm, width: float, height: float, *, spacing: float = SPACING) -> Iterator[YarnLine]:
    """Lines that fill a window of width by height (d) about the middle of a repeat, and reach a little past it."""
    repeats = [smooth_repeat(s, form.width, points_of(s, form.width, spacing)) for s in form.strands]
    middle = piece_middle(form, repeats, 1, 1)
    for strand, repeat in zip(form.strands, repeats, strict=True):
        own = repeat - middle
        margin = strand.diameter
        low, high = own.min(axis=0), own.max(axis=0)
        first_row = math.ceil((-height / 2 - margin - high[1]) / form.height)
        last_row = math.floor((height / 2 + margin - low[1]) / form.height)
        for row in range(first_row, last_row + 1):
            first = math.floor((-width / 2 - margin - row * form.shear - high[0]) / form.width)
            last = math.ceil((width / 2 + margin - row * form.shear - low[0]) / form.width)
            yield YarnLine(strand.yarn, strand.diameter, _row(form, own, first, last - first, row))


def _row(form: ClothForm, repeat: Points, first: int, across: int, row: int) -> Points:
    """One strand of one row: `across` repeats from number `first` on, closed by the first point of the next."""
    shifts = np.zeros((across, 1, 3))
    shifts[:, 0, 0] = (first + np.arange(across)) * form.width + row * form.shear
    shifts[:, 0, 1] = row * form.height
    line = (repeat[None] + shifts).reshape(-1, 3)
    return np.concatenate([line, line[-len(repeat)][None] + np.array([form.width, 0.0, 0.0])])
