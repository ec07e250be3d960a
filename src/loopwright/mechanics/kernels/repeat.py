"""One periodic repeat as the solver sees it: nodes, lattice and yarns in; energy and gradient out.

Unknowns: developed nodes q (N, 3) = (u along the courses, v along the wales, w through the thickness), the lattice
(W, S, H, k) and, where the yarn has taken a set, one angle per edge. `evaluate` maps the nodes onto the flat or bent
cloth, adds up contact and yarn energies and pulls everything back. Bending goes in the direction with cosine `ca` and
sine `sa` in the plane of the cloth.
Source: mechanics reference, section 1.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from loopwright.mechanics.kernels.compiled import compiled
from loopwright.mechanics.kernels.contact import Pairs, contact, find_pairs, is_stale
from loopwright.mechanics.kernels.energy import (
    bending,
    ghosts,
    holonomy,
    pull_back,
    set_yarn,
    stretch,
    tangents,
    twist,
)
from loopwright.mechanics.kernels.symmetry import cosine_over, cosine_over_by_k, sine_over, sine_over_by_k

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


class Yarns(NamedTuple):
    """The yarns of a repeat. Yarn r owns nodes first[r] to first[r + 1]; arrays (R,) in units of d and B.

    `edge` rest length of an edge, `total` yarn per repeat, `rigidity` in bending, `axial` EA, `torsion` C, `diameter`,
    `residual` the natural twist angle per repeat (rad; a twist-lively Z yarn has a negative one).
    """

    first: Ints
    edge: Floats
    total: Floats
    rigidity: Floats
    axial: Floats
    torsion: Floats
    diameter: Floats
    residual: Floats


class Frames(NamedTuple):
    """Natural form of a yarn with set: base tangents and directors (N, 3) in developed axes, natural (N, 3).

    `natural` is (f·κ1, f·κ2, f·τ + ψ/n) at the vertex at the start of each edge. Empty arrays mean no set.
    """

    tangent: Floats
    director: Floats
    natural: Floats


class Touch(NamedTuple):
    """How yarns touch: hardness K (B/d³), exponent p, points per edge m."""

    hardness: float
    exponent: float
    points: int


NO_FRAMES = Frames(np.empty((0, 3)), np.empty((0, 3)), np.empty((0, 3)))


@compiled
def onto_cloth(q, lattice, ca, sa, P):
    """Cartesian nodes P (N, 3) of developed nodes; returns the mid-surface, the mean of w."""
    k, middle = lattice[3], q[:, 2].mean()
    for n in range(len(q)):
        s, t = q[n, 0] * ca + q[n, 1] * sa, -q[n, 0] * sa + q[n, 1] * ca
        z = q[n, 2] - middle
        P[n, 0] = sine_over(k, s) + z * math.sin(k * s)
        P[n, 1] = t
        P[n, 2] = z * math.cos(k * s) + cosine_over(k, s)
    return middle


@compiled
def off_cloth(q, gP, lattice, ca, sa, middle, gq, glattice):
    """Pull a Cartesian gradient back to the developed nodes (in place of gq) and to the curvature."""
    k, mean = lattice[3], 0.0
    for n in range(len(q)):
        s, z = q[n, 0] * ca + q[n, 1] * sa, q[n, 2] - middle
        c, sn = math.cos(k * s), math.sin(k * s)
        gs = (1 + k * z) * (gP[n, 0] * c - gP[n, 2] * sn)
        gt, gz = gP[n, 1], gP[n, 0] * sn + gP[n, 2] * c
        glattice[3] += gP[n, 0] * (sine_over_by_k(k, s) + z * s * c) + gP[n, 2] * (cosine_over_by_k(k, s) - z * s * sn)
        gq[n, 0], gq[n, 1], gq[n, 2] = gs * ca - gt * sa, gs * sa + gt * ca, gz
        mean += gz
    mean /= len(q)
    for n in range(len(q)):
        gq[n, 2] -= mean


@compiled
def points_of(P, first, lattice, ca, sa, per_edge, points):
    """Contact points (M, 3) of all edges: `per_edge` on each, at (j + ½)/m of its length."""
    k = lattice[3]
    s0, t0 = lattice[0] * ca, -lattice[0] * sa
    for r in range(len(first) - 1):
        n = first[r + 1] - first[r]
        G = np.empty((n + 2, 3))
        ghosts(P, first[r], first[r + 1], k, s0, t0, G)
        for i in range(n):
            for j in range(per_edge):
                part = (j + 0.5) / per_edge
                for a in range(3):
                    points[per_edge * (first[r] + i) + j, a] = (1 - part) * G[i, a] + part * G[i + 1, a]


@compiled
def arcs(first, edge, per_edge):
    """Position of every contact point along its yarn (M,), its yarn (M,), first point of each yarn (R + 1,)."""
    count = per_edge * first[-1]
    arc, yarn = np.empty(count), np.empty(count, np.int64)
    for r in range(len(edge)):
        for i in range(first[r + 1] - first[r]):
            for j in range(per_edge):
                point = per_edge * (first[r] + i) + j
                arc[point] = (i + (j + 0.5) / per_edge) * edge[r]
                yarn[point] = r
    return arc, yarn, per_edge * first


@compiled
def neighbours(q, lattice, ca, sa, yarns, touch, scale):
    """The neighbour list of a state."""
    P, points = np.empty_like(q), np.empty((touch.points * len(q), 3))
    onto_cloth(q, lattice, ca, sa, P)
    points_of(P, yarns.first, lattice, ca, sa, touch.points, points)
    arc, _, first_point = arcs(yarns.first, yarns.edge, touch.points)
    return find_pairs(q, points, lattice, ca, sa, first_point, arc, yarns.total, yarns.diameter, scale)


@compiled
def needs_neighbours(q, lattice, ca, sa, yarns, touch, pairs):
    """Whether the neighbour list has to be made anew for this state."""
    P, points = np.empty_like(q), np.empty((touch.points * len(q), 3))
    onto_cloth(q, lattice, ca, sa, P)
    points_of(P, yarns.first, lattice, ca, sa, touch.points, points)
    high = q[:, 1].max() - q[:, 1].min()
    wide = q[:, 0].max() - q[:, 0].min()
    return is_stale(pairs, points, lattice, high, wide)


@compiled
def turned(vectors, first, last, ca, sa, k, s0, out):
    """Base vectors of one yarn turned into the axes of the bend, the first once more for the next repeat (n + 1, 3)."""
    n = last - first
    for i in range(n):
        u, v = vectors[first + i, 0], vectors[first + i, 1]
        out[i, 0], out[i, 1], out[i, 2] = u * ca + v * sa, -u * sa + v * ca, vectors[first + i, 2]
    c, s = math.cos(k * s0), math.sin(k * s0)
    out[n, 0], out[n, 1], out[n, 2] = out[0, 0] * c + out[0, 2] * s, out[0, 1], -out[0, 0] * s + out[0, 2] * c


@compiled
def unwrapped(angle, near):
    """The angle plus whole turns, closest to `near`."""
    return angle + 2 * math.pi * np.round((near - angle) / (2 * math.pi))


@compiled
def evaluate(q, angles, lattice, ca, sa, yarns, frames, touch, scale, pairs, beta, gP, gq, gangles, glattice, parts):
    """Energy of a repeat; gP and gq (N, 3), gangles (N,), glattice (4,), parts (4,) are overwritten.

    gP is the gradient in space, gq on the developed nodes, glattice on (W, S, H, k).

    `beta` (R,) holds the holonomy of each yarn and follows it without jumps. `parts`: stretch, bending (with the twist
    of frames), twist, contact. Derivatives with respect to the lattice keep the nodes q where they are.
    """
    k = lattice[3]
    P = np.empty_like(q)
    gP[:] = 0.0
    count = touch.points * len(q)
    points, gpoints = np.empty((count, 3)), np.zeros((count, 3))
    glattice[:] = 0.0
    parts[:] = 0.0
    gangles[:] = 0.0
    middle = onto_cloth(q, lattice, ca, sa, P)
    points_of(P, yarns.first, lattice, ca, sa, touch.points, points)
    _, yarn_of, _ = arcs(yarns.first, yarns.edge, touch.points)
    weight = yarns.edge / touch.points
    parts[3] = contact(
        points, pairs, yarn_of, weight, yarns.diameter, scale, touch.hardness, touch.exponent,
        lattice, ca, sa, gpoints, glattice,
    )  # fmt: skip
    s0, t0 = lattice[0] * ca, -lattice[0] * sa
    gmac = np.zeros(3)
    for r in range(len(yarns.edge)):
        first, last = yarns.first[r], yarns.first[r + 1]
        n = last - first
        G, gG = np.empty((n + 2, 3)), np.zeros((n + 2, 3))
        ghosts(P, first, last, k, s0, t0, G)
        for i in range(n):
            for j in range(touch.points):
                part = (j + 0.5) / touch.points
                for a in range(3):
                    gG[i, a] += (1 - part) * gpoints[touch.points * (first + i) + j, a]
                    gG[i + 1, a] += part * gpoints[touch.points * (first + i) + j, a]
        t, length = np.empty((n + 1, 3)), np.empty(n + 1)
        tangents(G, n, t, length)
        parts[0] += stretch(t, length, n, yarns.edge[r], yarns.axial[r], gG)
        if len(frames.natural):
            tb, db = np.empty((n + 1, 3)), np.empty((n + 1, 3))
            turned(frames.tangent, first, last, ca, sa, k, s0, tb)
            turned(frames.director, first, last, ca, sa, k, s0, db)
            parts[1] += set_yarn(
                G, n, angles[first:last], tb, db, frames.natural[first:last], yarns.rigidity[r], yarns.torsion[r],
                yarns.edge[r], k, s0, gG, gangles[first:last], gmac,
            )  # fmt: skip
        else:
            parts[1] += bending(t, length, n, yarns.edge[r], yarns.rigidity[r], gG)
            beta[r] = unwrapped(holonomy(t, n, k, s0), beta[r])
            parts[2] += twist(
                t, length, n, yarns.total[r], yarns.torsion[r], yarns.residual[r], beta[r], k, s0, gG, gmac
            )
        pull_back(P, G, gG, first, last, k, s0, gP, gmac)
    glattice[0] += gmac[0] * ca - gmac[1] * sa
    glattice[3] += gmac[2]
    off_cloth(q, gP, lattice, ca, sa, middle, gq, glattice)
    return parts[0] + parts[1] + parts[2] + parts[3]


__all__ = ["NO_FRAMES", "Frames", "Pairs", "Touch", "Yarns", "evaluate", "needs_neighbours", "neighbours"]
