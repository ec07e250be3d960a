"""From centimetres to whole needles and courses.

In: a length in cm and stitches per cm of the finished fabric. Out: integers. Assumption: symmetrical panels keep one
parity (even, unless a centre wale is wanted); courses are even so that carriage and carrier return to the start side.
Not covered: repeats of pattern (later), fashioning (`fashioning`). Source: production reference 3.1.
"""

from __future__ import annotations

import math

NOISE = 1e-9  # a tie is a tie although a swatch's 6.5 wales came through a constant as 6.499999999999999


def nearest_even(value: float) -> int:
    """Nearest even whole number, halves up: 2·⌊x/2 + ½⌋.

    >>> nearest_even(62 * 2.8), nearest_even(49 * 6.5), nearest_even((43 - 6) * 8.4)    # P-10, P-16
    (174, 318, 310)
    """
    return 2 * math.floor(value / 2 + 0.5 + NOISE)


def nearest_whole(value: float) -> int:
    """Nearest whole number, halves up."""
    return math.floor(value + 0.5 + NOISE)


def points_on_course_edge(*, courses: int, wales_per_cm: float, courses_per_cm: float) -> int:
    """Loops to pick up along a selvedge so that it neither gathers nor waves: courses·w/c.

    >>> points_on_course_edge(courses=156, wales_per_cm=6.5, courses_per_cm=8.4)    # P-66
    121
    """
    return nearest_whole(courses * wales_per_cm / courses_per_cm)


def edge_angle_deg(*, needles: int, courses: int, wales_per_cm: float, courses_per_cm: float) -> float:
    """Angle of a fashioned edge from the wale: tan = m·c/(k·w).

    >>> round(edge_angle_deg(needles=1, courses=2, wales_per_cm=6.5, courses_per_cm=8.4), 1)    # P-25
    32.9
    """
    return math.degrees(math.atan2(needles * courses_per_cm, courses * wales_per_cm))
