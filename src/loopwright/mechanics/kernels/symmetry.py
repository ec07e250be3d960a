"""The curvature group: how a repeat is laid side by side on a flat or on a bent cloth.

A cloth bent to curvature k (1/d) in the direction alpha lies on a cylinder. With s along the bend, t along the axis of
the cylinder and z through the thickness (0 at the mid-surface) a point stands at

    X = (1 + k·z)·sin(k·s)/k      T = t      Z = z·cos(k·s) + (cos(k·s) − 1)/k

and a shift (s0, t0) in the cloth is an exact isometry of space, so that all images of the repeat lie on the cylinder
and the energy of one repeat is well defined for any k. k > 0 is convex toward the face: the edges go to the back.
As k → 0 everything becomes (s, t, z). Quotients by k have a series for small angles.
Source: mechanics reference, section 1 (symbolic check there).
"""

from __future__ import annotations

import math

from loopwright.mechanics.kernels.compiled import compiled

SMALL_ANGLE = 1e-3  # radians, below which quotients by k are taken from their series


@compiled
def sine_over(k: float, s: float) -> float:
    """sin(k·s)/k."""
    a = k * s
    if abs(a) < SMALL_ANGLE:
        return s * (1 - a * a / 6 + a**4 / 120)
    return math.sin(a) / k


@compiled
def cosine_over(k: float, s: float) -> float:
    """(cos(k·s) − 1)/k."""
    a = k * s
    if abs(a) < SMALL_ANGLE:
        return s * (-a / 2 + a**3 / 24)
    return (math.cos(a) - 1) / k


@compiled
def sine_over_by_k(k: float, s: float) -> float:
    """d/dk of sin(k·s)/k = (a·cos a − sin a)/k², a = k·s."""
    a = k * s
    if abs(a) < SMALL_ANGLE:
        return s * s * (-a / 3 + a**3 / 30)
    return (a * math.cos(a) - math.sin(a)) / (k * k)


@compiled
def cosine_over_by_k(k: float, s: float) -> float:
    """d/dk of (cos(k·s) − 1)/k = (1 − cos a − a·sin a)/k², a = k·s."""
    a = k * s
    if abs(a) < SMALL_ANGLE:
        return s * s * (-0.5 + a * a / 8 - a**4 / 144)
    return (1 - math.cos(a) - a * math.sin(a)) / (k * k)
