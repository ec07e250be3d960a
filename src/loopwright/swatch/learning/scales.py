"""How large the departures of cloth really are: two factors on the tabled variances, learnt from the swatches.

In: the logarithm of the density of the readings at a pair of log factors (between cloths, within a cloth). Out: a few
points with weights that stand for what is known of the factors. Prior: both lognormal with mean 1 (rule `scale_sd`).
Method: Laplace. The density is fitted by a quadratic about its top, two steps; four points on its unit ellipse carry
mean and spread exactly to the third degree, weighted by the true density there.
Sources: identity (quadrature of degree three).
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loopwright.swatch.learning.levels import rule

Floats = NDArray[np.float64]
Density = Callable[[float, float], float]
STEPS = 2
REACH = 0.8  # first distance of the points of the fit, in logarithms of a variance
LONGEST_STEP = 1.5
LEAST_FIRMNESS = 0.5  # of the prior: a fit that is flatter than this is not believed


@dataclass(frozen=True, slots=True)
class Scale:
    """Factors on the variances between and within cloths, and their weight."""

    between: float
    within: float
    weight: float


def log_prior(between: float, within: float) -> float:
    """Logarithm of the density of two log factors before a swatch."""
    sd = rule("scale_sd")
    return -sum((each + sd**2 / 2) ** 2 for each in (between, within)) / (2 * sd**2)


def scales_of(log_likelihood: Density) -> tuple[Scale, ...]:
    """Points that stand for the factors after the readings; weights add to 1."""

    def density(at: Floats) -> float:
        return log_likelihood(float(at[0]), float(at[1])) + log_prior(float(at[0]), float(at[1]))

    centre, reach = np.full(2, -(rule("scale_sd") ** 2) / 2), np.full(2, REACH)
    spread = np.eye(2)
    for _ in range(STEPS):
        step, spread = _towards_top(density, centre, reach)
        centre = centre + np.clip(step, -LONGEST_STEP, LONGEST_STEP)
        reach = np.sqrt(np.diag(spread))
    arms = math.sqrt(2) * np.linalg.cholesky(spread).T
    points = [centre + sign * arm for arm in arms for sign in (1, -1)]
    found = np.array([density(point) for point in points])
    weights = np.exp(found - found.max())
    weights /= weights.sum()
    factors = np.exp(np.array(points))
    return tuple(Scale(float(b), float(w), float(each)) for (b, w), each in zip(factors, weights, strict=True))


def _towards_top(density: Callable[[Floats], float], centre: Floats, reach: Floats) -> tuple[Floats, Floats]:
    """Way to the top of the quadratic through six points, and the covariance that its curvature says."""
    along = np.diag(reach)
    middle, both = density(centre), density(centre + reach)
    ups = np.array([density(centre + each) for each in along])
    downs = np.array([density(centre - each) for each in along])
    slope = (ups - downs) / (2 * reach)
    bend = np.diag((ups + downs - 2 * middle) / reach**2)
    bend[0, 1] = bend[1, 0] = (both - ups.sum() + middle) / reach.prod()
    firmness, axes = np.linalg.eigh(-bend)
    firmness = np.maximum(firmness, LEAST_FIRMNESS / rule("scale_sd") ** 2)
    spread = axes / firmness @ axes.T
    return spread @ slope, spread
