"""The algebra of a lattice of stitches: smallest cells, halves and multiples, and its measures in words of the trade.

A lattice is held by its reciprocal basis, rows `b1`, `b2` in cycles per pixel: a bright-dark repeat along `b` has the
period 1/|b|. The steps in pixels are the columns of the inverse. Picture axes: x right, y down.
Source: the definitions of the note on swatch pictures; lattice reduction by Lagrange and Gauss.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Vector = tuple[float, float]

_HALVES = (((2, 0), (0, 1)), ((1, 0), (0, 2)), ((1, 1), (1, -1)))


@dataclass(frozen=True, slots=True)
class Measures:
    """A wale step and a course step in words: pitches in pixels, skew and rotation in degrees."""

    wale_pitch_px: float
    course_pitch_px: float
    skew_deg: float
    rotation_deg: float


def measures(wale_step: Array, course_step: Array) -> Measures:
    """Pitches, skew and rotation of a stitch; the course step points up the wale, y is down.

    >>> stitch = measures(np.array([10.0, 0.0]), np.array([2.0, -8.0]))
    >>> stitch.wale_pitch_px, stitch.course_pitch_px, round(stitch.skew_deg, 2)
    (10.0, 8.0, 14.04)
    """
    wale_pitch = math.hypot(*wale_step)
    along = wale_step / wale_pitch
    up = np.array([along[1], -along[0]])
    rise, lean = float(course_step @ up), float(course_step @ along)
    if rise < 0:
        rise, lean = -rise, -lean
    rotation = math.degrees(math.atan2(along[1], along[0]))
    return Measures(wale_pitch, rise, math.degrees(math.atan2(lean, rise)), rotation)


def reduced(basis: Array) -> Array:
    """The two shortest rows that span the same lattice.

    >>> reduced(np.array([[1.0, 0.0], [5.0, 2.0]])).tolist()
    [[1.0, 0.0], [0.0, 2.0]]
    """
    first, second = np.array(basis[0], float), np.array(basis[1], float)
    if first @ first > second @ second:
        first, second = second, first
    for _ in range(60):
        times = np.round((first @ second) / max(float(first @ first), 1e-30))
        second = second - times * first
        if second @ second >= first @ first:
            break
        first, second = second, first
    return np.array([first, second])


def steps_of(basis: Array) -> Array:
    """Columns: the two steps (px) of a reciprocal basis."""
    return np.asarray(np.linalg.inv(basis))


def cell_px(basis: Array) -> float:
    """Side of a square as large as one cell, in pixels."""
    return float(1 / math.sqrt(abs(np.linalg.det(basis))))


def halved(basis: Array) -> list[Array]:
    """The three lattices whose cells have half the area."""
    return [reduced(np.array(matrix, float) @ basis) for matrix in _HALVES]


def doubled(basis: Array) -> list[Array]:
    """The three lattices whose cells have twice the area."""
    return [
        reduced(np.array(matrix, float) @ basis / 2)
        for matrix in (((1, 0), (0, 2)), ((2, 0), (0, 1)), ((1, 1), (1, -1)))
    ]


def same(first: Array, second: Array, tolerance: float = 0.03) -> bool:
    """Whether two bases span nearly the same lattice."""
    if abs(cell_px(first) / cell_px(second) - 1) > tolerance:
        return False
    whole = first @ np.linalg.inv(second)
    return bool(np.all(np.abs(whole - np.round(whole)) < 2.5 * tolerance))
