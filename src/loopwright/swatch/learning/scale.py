"""The scale on which a quantity is learnt: where its errors are shares, the logarithm; where they are points, itself.

Counts, mass, thickness and stretch are learnt as logarithms, lean as it is. A change of dimension is learnt as the
logarithm of the length ratio, so that it is the difference of two log counts, and on its own scale near nil.
Sources: identity; eq 6.2 of the fabric reference.
"""

from __future__ import annotations

import math

from loopwright.problems import Problem
from loopwright.swatch.learning.levels import rule
from loopwright.swatch.observed import Observed, Quantity

CHANGES = (Quantity.WIDTH_CHANGE, Quantity.LENGTH_CHANGE)


def to_scale(quantity: Quantity, value: float) -> float:
    """A value on the scale of its quantity.

    >>> round(to_scale(Quantity.WIDTH_CHANGE, -6.0), 4)    # ln 0.94
    -0.0619
    """
    if quantity.is_ratio:
        return math.log(value)
    return math.log1p(value / 100) if quantity in CHANGES else value


def from_scale(quantity: Quantity, scaled: float) -> float:
    """The value behind a number on the scale."""
    if quantity.is_ratio:
        return math.exp(scaled)
    return 100 * math.expm1(scaled) if quantity in CHANGES else scaled


def slope(quantity: Quantity, value: float) -> float:
    """How much the value moves for one unit of its scale."""
    if quantity.is_ratio:
        return value
    return 100 + value if quantity in CHANGES else 1.0


def reading_sd(observed: Observed) -> float:
    """Standard deviation of a reading on its scale, never nil: a ruler that says the same five times is a ruler."""
    scaled = observed.standard_error / slope(observed.quantity, observed.value)
    return max(scaled, rule("reading_least_lean" if observed.quantity is Quantity.LEAN else "reading_least"))


def require_readable(observed: Observed) -> None:
    """Refuse a number that no cloth has.

    Raises:
        Problem: a count or a mass that is not positive, a length that shrank to nothing, an error below nil.
    """
    lowest = 0.0 if observed.quantity.is_ratio else -100.0
    numbers = (observed.value, observed.standard_error, observed.loop_length_mm, observed.days_old)
    if not all(math.isfinite(each) for each in numbers) or observed.value <= lowest or observed.loop_length_mm <= 0:
        name = observed.quantity.value.replace("_", " ")
        raise Problem(
            observed.swatch,
            f"{name} is {observed.value:g} ± {observed.standard_error:g} at a loop of {observed.loop_length_mm:g} mm.",
            limit=f"finite numbers, above {lowest:g}",
            tries=["measure again", "mark the swatch as unreliable"],
        )
    if observed.standard_error < 0 or observed.days_old < 0:
        raise Problem(observed.swatch, "an error or an age below nil.", tries=["check the readings and the dates"])
