"""The profile of a cloth whose edges roll in: where the mid-surface goes from the middle of the piece to its free edge.

Lengths in yarn diameters d, curvature in 1/d, positive convex to the face, so that the edge goes to the back. The core
lies flat; the rolled part bends ever more toward the free edge, where it has the given curvature. A roll of more than
one turn is a spiral: at a distance s' from the free edge its radius is √(R² + 2·a·s'), R = 1/curvature, which grows by
2π·a, a little over the thickness of the cloth, with every turn, so that no turn lies in the next.
Curvature that only grows toward the edge keeps the flat part outside all turns.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from loopwright.draw.yarn_lines import Points

ROOM = 1.08  # distance of two turns over the thickness of the cloth
LEAST_RADIUS = 0.6  # of a roll's mid-surface over the thickness
EASE = 0.3  # part of the rolled length in which the bend sets in
FLATTEST = 1e-6  # curvature (1/d) under which an edge lies flat
STEPS, WEIGHTS = 320, 129  # of the table along the profile, and of weights between 0 and 1


@dataclass(frozen=True, slots=True)
class Roll:
    """One pair of edges: half the cloth between them, how much of it rolls, curvature, thickness."""

    half: float
    rolled: float
    curvature: float
    depth: float

    @property
    def is_flat(self) -> bool:
        """Whether the edges lie flat."""
        return abs(self.curvature) < FLATTEST

    def bend(self, s: Points, weight: Points) -> Points:
        """Curvature at distance s from the middle; `weight` 0 to 1 weakens the whole roll."""
        if self.is_flat:
            return np.zeros(np.broadcast_shapes(s.shape, weight.shape))
        radius = max(1 / abs(self.curvature), LEAST_RADIUS * self.depth)
        from_edge = np.clip(self.half - s, 0.0, None)
        spiral = np.sqrt(radius**2 + 2 * ROOM * self.depth / (2 * math.pi) * from_edge)
        set_in = eased((s - (self.half - self.rolled)) / (EASE * self.rolled))
        bent: Points = math.copysign(1.0, self.curvature) * weight * set_in / spiral
        return bent

    def placed(self, s: Points, weight: Points) -> Placed:
        """Where points at distance s (n,), either sign, from the middle come to lie; weight (n,)."""
        grid = np.linspace(0.0, 1.05 * self.half, STEPS)
        weights = np.linspace(0.0, 1.0, WEIGHTS)
        middles = (grid[1:] + grid[:-1]) / 2
        step = grid[1] - grid[0]
        turn = _summed(self.bend(middles[None], weights[:, None]) * step)
        mean = (turn[:, 1:] + turn[:, :-1]) / 2
        x, z = _summed(np.cos(mean) * step), _summed(-np.sin(mean) * step)
        side = np.sign(s)
        at = (np.clip(weight, 0, 1) * (WEIGHTS - 1), np.abs(s) / step)
        return Placed(side * _between(x, *at), _between(z, *at), side * _between(turn, *at))


@dataclass(frozen=True, slots=True, eq=False)
class Placed:
    """Along the profile and out of it, and the angle by which the surface has turned (rad); each (n,)."""

    along: Points
    out: Points
    turned: Points


def eased(part: Points) -> Points:
    """0 up to 0, 1 from 1 on, smooth between."""
    part = np.clip(part, 0.0, 1.0)
    return part**2 * (3 - 2 * part)


def _summed(steps: Points) -> Points:
    """Running sums along the rows, from 0."""
    return np.concatenate([np.zeros((len(steps), 1)), np.cumsum(steps, axis=1)], axis=1)


def _between(table: Points, row: Points, column: Points) -> Points:
    """Values of a table between its rows and columns; past the last column it goes on straight."""
    r = np.clip(row.astype(np.int64), 0, table.shape[0] - 2)
    c = np.clip(column.astype(np.int64), 0, table.shape[1] - 2)
    u, v = row - r, column - c
    low = table[r, c] * (1 - v) + table[r, c + 1] * v
    high = table[r + 1, c] * (1 - v) + table[r + 1, c + 1] * v
    mixed: Points = low * (1 - u) + high * u
    return mixed
