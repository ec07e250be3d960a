"""What it costs to call two steps of a lattice wale and course, by the stance and shape that plain cloth has.

In: the measures of a stitch. Out: a cost: steep skew, slanting courses and unusual shapes cost.
Source: step 7 of the note on swatch pictures; the limits of shape are a prior from plain cloth.
"""

from __future__ import annotations

import math

from loopwright.swatch.photo.lattice import Measures

MOST_SKEW_DEG, MOST_ROTATION_DEG = 26.0, 34.0
NARROW, WIDE = 0.5, 1.25  # course over wale where a shape begins to cost


def stance_cost(stitch: Measures) -> float:
    """The cost of one way to call the steps.

    >>> stance_cost(Measures(12.0, 9.0, 0.0, 0.0)), round(stance_cost(Measures(12.0, 9.0, 12.0, 0.0)), 2)
    (0.0, 1.32)
    """
    wale_heading = stitch.rotation_deg + stitch.skew_deg
    cost = (stitch.skew_deg / 12) ** 2 + (stitch.rotation_deg / 15) ** 2 + 0.5 * (wale_heading / 15) ** 2
    shape = stitch.course_pitch_px / stitch.wale_pitch_px
    return cost + 32 * max(0.0, math.log(shape / WIDE), math.log(NARROW / shape)) ** 2
