"""Going downhill by L-BFGS, compiled as one loop: neighbour list, guard and line search inside.

The unknowns are packed as x = (reference nodes 3N, angles, lattice 4). Nodes are affine images of reference nodes,
q = F·qh with F from the lattice over the reference lattice, so that a change of the lattice takes all nodes along; and
one unit of a lattice unknown is scaled to be comparable with a move of the nodes (0 holds it).
Source: mechanics reference, sections 1 (affine unknowns) and 4.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from loopwright.mechanics.kernels.compiled import compiled
from loopwright.mechanics.kernels.guard import passes_through
from loopwright.mechanics.kernels.repeat import (
    Floats,
    arcs,
    evaluate,
    needs_neighbours,
    neighbours,
    onto_cloth,
    points_of,
)

MEMORY = 24
MOST_MOVE = 0.25  # diameters that a node may move in one step
FIRST_MOVE = 0.02  # diameters of the first step and after forgetting
SUFFICIENT = 1e-4  # part of the predicted fall of energy that a step must bring
MOST_HALVINGS = 25


@compiled
def spread_out(x, reference, scale, q, angles, lattice):
    """Packed unknowns into nodes, angles and lattice."""
    count = len(q)
    for m in range(4):
        lattice[m] = reference[m] + scale[m] * x[3 * count + len(angles) + m]
    f11, f22 = lattice[0] / reference[0], lattice[2] / reference[2]
    f12 = (lattice[1] - f11 * reference[1]) / reference[2]
    for n in range(count):
        u, v = x[3 * n], x[3 * n + 1]
        q[n, 0], q[n, 1], q[n, 2] = f11 * u + f12 * v, f22 * v, x[3 * n + 2]
    for n in range(len(angles)):
        angles[n] = x[3 * count + n]


@compiled
def pack_gradient(x, reference, scale, lattice, gq, gangles, glattice, gx):
    """Gradient with respect to the packed unknowns; glattice becomes the force on the lattice with the nodes in tow."""
    count = len(gq)
    f11, f22 = lattice[0] / reference[0], lattice[2] / reference[2]
    f12 = (lattice[1] - f11 * reference[1]) / reference[2]
    uu = uv = vv = 0.0
    for n in range(count):
        u, v = x[3 * n], x[3 * n + 1]
        uu += gq[n, 0] * u
        uv += gq[n, 0] * v
        vv += gq[n, 1] * v
        gx[3 * n] = f11 * gq[n, 0]
        gx[3 * n + 1] = f12 * gq[n, 0] + f22 * gq[n, 1]
        gx[3 * n + 2] = gq[n, 2]
    glattice[0] += uu / reference[0] - reference[1] * uv / (reference[0] * reference[2])
    glattice[1] += uv / reference[2]
    glattice[2] += vv / reference[2]
    for n in range(len(gangles)):
        gx[3 * count + n] = gangles[n]
    at = len(gx) - 4
    for m in range(4):
        gx[at + m] = scale[m] * glattice[m]


@compiled
def measured(x, reference, scale, ca, sa, yarns, frames, touch, size, pairs, beta, q, angles, lattice, gx, parts):
    """Energy and packed gradient gx at x; q, angles and lattice become the state."""
    spread_out(x, reference, scale, q, angles, lattice)
    gP, gq, gangles, glattice = np.empty_like(q), np.empty_like(q), np.empty_like(angles), np.empty(4)
    energy = evaluate(
        q, angles, lattice, ca, sa, yarns, frames, touch, size, pairs, beta, gP, gq, gangles, glattice, parts
    )
    pack_gradient(x, reference, scale, lattice, gq, gangles, glattice, gx)
    return energy


@compiled
def placed(q, lattice, ca, sa, yarns, touch):
    """Cartesian nodes (N, 3) and contact points (M, 3) of a state."""
    P, points = np.empty_like(q), np.empty((touch.points * len(q), 3))
    onto_cloth(q, lattice, ca, sa, P)
    points_of(P, yarns.first, lattice, ca, sa, touch.points, points)
    return P, points


class Memory(NamedTuple):
    """The last moves s and turns of the gradient y that L-BFGS remembers, (MEMORY, n), with 1/(s·y)."""

    moves: Floats
    turns: Floats
    inverse: Floats


@compiled
def _direction(g, memory, kept):
    """Direction of descent from the gradient and what is remembered of the last `kept` steps."""
    d, weight = -g, np.empty(MEMORY)
    if not kept:
        return d
    for back in range(min(kept, MEMORY)):
        n = (kept - 1 - back) % MEMORY
        weight[n] = memory.inverse[n] * np.dot(memory.moves[n], d)
        d -= weight[n] * memory.turns[n]
    last = (kept - 1) % MEMORY
    d *= 1 / (memory.inverse[last] * np.dot(memory.turns[last], memory.turns[last]))
    for back in range(min(kept, MEMORY) - 1, -1, -1):
        n = (kept - 1 - back) % MEMORY
        d += (weight[n] - memory.inverse[n] * np.dot(memory.turns[n], d)) * memory.moves[n]
    return d


@compiled
def _remembered(memory, kept, change, turn):
    """Take a step into the memory unless it says nothing of the curvature; how many are kept now."""
    along = np.dot(change, turn)
    if along <= 1e-12 * math.sqrt(np.dot(change, change) * np.dot(turn, turn)):
        return kept
    n = kept % MEMORY
    memory.moves[n], memory.turns[n], memory.inverse[n] = change, turn, 1 / along
    return kept + 1


@compiled
def _largest_move(d, scale, count):
    """Largest move of one of `count` nodes (diameters) that a packed direction brings, that of the lattice included."""
    most, at = 1e-12, len(d) - 4
    for n in range(3 * count):
        most = max(most, abs(d[n]))
    return max(most, abs(scale[0] * d[at]) + abs(scale[1] * d[at + 1]) + abs(scale[2] * d[at + 2]))


@compiled
def downhill(x, reference, scale, ca, sa, yarns, frames, touch, size, beta, most_steps, tolerance):
    """Lower the energy from x (changed in place) by L-BFGS.

    Returns (energy, largest gradient component, steps taken, steps refused by the guard, energies of the steps). Ends
    when the gradient is below `tolerance`, after `most_steps`, or when no step along the gradient lowers the energy.
    """
    count = yarns.first[-1]
    q, lattice, parts = np.empty((count, 3)), np.empty(4), np.empty(4)
    angles = np.empty(len(x) - 3 * count - 4)
    then_q, then_lattice, then_angles, then_beta = np.empty_like(q), np.empty(4), np.empty_like(angles), beta.copy()
    g, then_g = np.empty_like(x), np.empty_like(x)
    memory = Memory(np.zeros((MEMORY, len(x))), np.zeros((MEMORY, len(x))), np.zeros(MEMORY))
    _, yarn_of, _ = arcs(yarns.first, yarns.edge, touch.points)
    spread_out(x, reference, scale, q, angles, lattice)
    pairs = neighbours(q, lattice, ca, sa, yarns, touch, size)
    energy = measured(
        x, reference, scale, ca, sa, yarns, frames, touch, size, pairs, beta, q, angles, lattice, g, parts
    )
    P, points = placed(q, lattice, ca, sa, yarns, touch)
    kept = taken = refused = 0
    history = np.empty(most_steps + 1)
    history[0] = energy
    while taken < most_steps and np.abs(g).max() > tolerance:
        d = _direction(g, memory, kept)
        slope = np.dot(d, g)
        if slope >= 0:
            kept = 0
            continue
        length = min(1.0 if kept else FIRST_MOVE / np.abs(g).max(), MOST_MOVE / _largest_move(d, scale, count))
        found, then = False, energy
        for _ in range(MOST_HALVINGS):
            trial = x + length * d
            spread_out(trial, reference, scale, then_q, then_angles, then_lattice)
            length *= 0.5
            if then_lattice[0] <= 0 or then_lattice[2] <= 0:
                continue
            if needs_neighbours(then_q, then_lattice, ca, sa, yarns, touch, pairs):
                pairs = neighbours(q, lattice, ca, sa, yarns, touch, size)
            then_beta[:] = beta
            then = measured(
                trial, reference, scale, ca, sa, yarns, frames, touch, size, pairs, then_beta,
                then_q, then_angles, then_lattice, then_g, parts,
            )  # fmt: skip
            if then > energy + 2 * SUFFICIENT * length * slope:
                continue
            then_P, then_points = placed(then_q, then_lattice, ca, sa, yarns, touch)
            found = not passes_through(
                P, lattice, then_P, then_lattice, ca, sa, points, then_points, pairs, yarn_of, yarns.first, yarns.edge,
                touch.points,
            )  # fmt: skip
            if found:
                break
            refused += 1
        if not found:
            if not kept:
                break
            kept = 0
            continue
        kept = _remembered(memory, kept, trial - x, then_g - g)
        x[:], g[:], q[:], angles[:] = trial, then_g, then_q, then_angles
        lattice[:], beta[:] = then_lattice, then_beta
        P, points, energy = then_P, then_points, then
        taken += 1
        history[taken] = energy
    return energy, np.abs(g).max(), taken, refused, history[: taken + 1]
