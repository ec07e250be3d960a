"""Several estimates of one thing become one: ruler and picture, or several people in the same state.

In: estimates with their errors. Out: one estimate, weighted by inverse variance. Where they scatter more than their
errors allow, the error grows with them (the ratio of Birge); below the error that all of them share, more readings
lead nowhere, so that floor is always added. Assumption: the estimates are independent but for the shared part.
Not covered: readings of different swatches (`learning`).
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from loopwright.swatch.statistics import Estimate


def combined(estimates: Sequence[Estimate], *, common_error: float) -> Estimate:
    """One estimate out of several; `common_error` is the standard error that they share.

    >>> both = combined([Estimate(6.50, 0.06, 8), Estimate(6.52, 0.03, 60)], common_error=0.0)
    >>> round(both.value, 3), round(both.standard_error, 4)    # by hand: weights 1 : 4, 1/√(1/0.06² + 1/0.03²)
    (6.516, 0.0268)

    Raises:
        ValueError: there is none.
    """
    if not estimates:
        raise ValueError("nothing to combine")
    weights = [1 / each.standard_error**2 for each in estimates]
    value = _weighted_mean(estimates, weights)
    variance = birge_ratio(estimates) ** 2 / sum(weights) + common_error**2
    return Estimate(value, math.sqrt(variance), _degrees(estimates, weights))


def _weighted_mean(estimates: Sequence[Estimate], weights: Sequence[float]) -> float:
    return sum(weight * each.value for weight, each in zip(weights, estimates, strict=True)) / sum(weights)


def birge_ratio(estimates: Sequence[Estimate]) -> float:
    """How much more the estimates scatter than their errors say; 1 when they do not."""
    if len(estimates) == 1:
        return 1.0
    weights = [1 / each.standard_error**2 for each in estimates]
    value = _weighted_mean(estimates, weights)
    chi2 = sum(weight * (each.value - value) ** 2 for weight, each in zip(weights, estimates, strict=True))
    return max(1.0, math.sqrt(chi2 / (len(estimates) - 1)))


def disagreement(one: Estimate, other: Estimate) -> float:
    """How many standard errors of their difference two estimates are apart."""
    return abs(one.value - other.value) / math.hypot(one.standard_error, other.standard_error)


def _degrees(estimates: Sequence[Estimate], weights: Sequence[float]) -> float:
    """Degrees of freedom of the combined error (Welch and Satterthwaite)."""
    total = sum(weights)
    return 1 / sum((weight / total) ** 2 / each.degrees for weight, each in zip(weights, estimates, strict=True))
