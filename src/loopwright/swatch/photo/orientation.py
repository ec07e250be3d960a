"""Which step of a lattice is the wale and which the course.

In: a reciprocal basis, its table of powers. The wales are taken to stand about upright. Out: choices of wale and course
step with a cost each, best first: steep skew, slanting courses, unusual shapes and missing strokes cost.
Source: step 7 of the note on swatch pictures; the limits of shape are a prior from plain cloth.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loopwright.swatch.photo.lattice import Measures, measures, steps_of

Array = NDArray[np.float64]

MOST_SKEW_DEG, MOST_ROTATION_DEG = 26.0, 34.0
NARROW, WIDE = 0.5, 1.25  # course over wale where a shape begins to cost


@dataclass(frozen=True, slots=True)
class Choice:
    """One way to call the steps: whole-number coefficients of the basis steps, measures, strokes, cost."""

    coefficients: NDArray[np.int64]
    measures: Measures
    is_centred: bool
    strokes: int
    course_strokes: int
    cost: float

    def basis(self, basis: Array) -> Array:
        """Rows: reciprocal vectors of the wales and of the courses."""
        return np.asarray(np.linalg.inv(steps_of(basis) @ self.coefficients))


def choices(basis: Array, orders: NDArray[np.int64], powers: Array, repeat: tuple[int, int] = (1, 1)) -> list[Choice]:
    """All primitive and centred ways to call the steps, cheapest first; `repeat` wales and courses are one cell."""
    steps = steps_of(basis)
    whole = np.array([(m, n) for m in range(-3, 4) for n in range(-3, 4) if math.gcd(m, n) == 1])
    vectors = whole @ steps.T
    heading = np.degrees(np.arctan2(vectors[:, 1], vectors[:, 0]))
    level = np.abs(heading) <= MOST_ROTATION_DEG
    upright = np.abs(heading + 90) <= MOST_ROTATION_DEG + MOST_SKEW_DEG
    found = []
    for wale in np.nonzero(level)[0]:
        for course in np.nonzero(upright)[0]:
            coefficients = np.stack([whole[wale], whole[course]], axis=1)
            times = abs(round(np.linalg.det(coefficients)))
            if times not in (1, 2):
                continue
            stitch = measures(vectors[wale] / repeat[0], vectors[course] / repeat[1])
            if abs(stitch.skew_deg) <= MOST_SKEW_DEG:
                found.append(costed(coefficients, stitch, times == 2, orders, powers))
    return sorted(found, key=lambda choice: choice.cost)


def costed(
    coefficients: NDArray[np.int64], stitch: Measures, is_centred: bool, orders: NDArray[np.int64], powers: Array
) -> Choice:
    """The cost of one choice."""
    counted = orders @ coefficients
    strokes = strongest(counted[:, 0], counted[:, 1], powers)
    course_strokes = strongest(counted[:, 1], counted[:, 0], powers)
    wale_heading = stitch.rotation_deg + stitch.skew_deg
    cost = (stitch.skew_deg / 12) ** 2 + (stitch.rotation_deg / 15) ** 2 + 0.5 * (wale_heading / 15) ** 2
    shape = stitch.course_pitch_px / stitch.wale_pitch_px
    cost += 8 * max(0.0, math.log(shape / WIDE), math.log(NARROW / shape)) ** 2 * 4
    cost += 1.0 * is_centred + 3.0 * (strokes >= 3 or course_strokes >= 3) + 1.5 * (course_strokes == 2)
    return Choice(coefficients, stitch, is_centred, strokes, course_strokes, cost)


def strongest(along: NDArray[np.int64], across: NDArray[np.int64], powers: Array) -> int:
    """The strongest order on one axis, 0 when there is none."""
    on = (across == 0) & (along != 0)
    if not on.any() or float(powers[on].max()) <= 0.01 * float(powers.sum()):
        return 0
    return int(abs(along[on][np.argmax(powers[on])]))
