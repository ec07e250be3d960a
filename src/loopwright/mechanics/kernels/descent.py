"""Going downhill by L-BFGS, compiled as one loop: neighbour list, guard and line search inside.

The unknowns are packed as x = (reference nodes 3N, angles, lattice 4). Nodes are affine images of reference nodes,
q = F·qh with F from the lattice over the reference lattice, so that a change of the lattice takes all nodes along; and
one unit of a lattice unknown is scaled to be comparable with a move of the nodes (0 holds it).
Source: mechanics reference, sections 1 (affine unknowns) and 4.
"""

from __future__ import annotations

import math

import numpy as np

from loopwright.mechanics.kernels.compiled import compiled
from loopwright.mechanics.kernels.guard import passes_through
from loopwright.mechanics.kernels.repeat import arcs, evaluate, needs_neighbours, neighbours, onto_cloth, points_of

MEMORY = 24
MOST_MOVE = 0.25  # diameters that a node may move in one step
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


@compiled
def downhill(x, reference, scale, ca, sa, yarns, frames, touch, size, beta, most_steps, tolerance):
    """Lower the energy from x (changed in place) by L-BFGS.

    Returns (energy, largest gradient component, steps taken, steps refused by the guard, energies of the steps). Ends
    when the gradient is below `tolerance`, after `most_steps`, or when no step along the gradient lowers the energy.
    """
    count = yarns.first[-1]
    angles = np.empty(len(x) - 3 * count - 4)
    q, lattice, parts = np.empty((count, 3)), np.empty(4), np.empty(4)
    trial_q, trial_lattice, trial_angles = np.empty_like(q), np.empty(4), np.empty_like(angles)
    g, trial_g = np.empty_like(x), np.empty_like(x)
    _, yarn_of, _ = arcs(yarns.first, yarns.edge, touch.points)
    spread_out(x, reference, scale, q, angles, lattice)
    pairs = neighbours(q, lattice, ca, sa, yarns, touch, size)
    energy = measured(
        x, reference, scale, ca, sa, yarns, frames, touch, size, pairs, beta, q, angles, lattice, g, parts
    )
    P, points = placed(q, lattice, ca, sa, yarns, touch)
    steps_s, steps_y, rho = np.zeros((MEMORY, len(x))), np.zeros((MEMORY, len(x))), np.zeros(MEMORY)
    weight = np.empty(MEMORY)
    kept = taken = refused = 0
    history = np.empty(most_steps + 1)
    history[0] = energy
    trial_beta = beta.copy()
    while taken < most_steps and np.abs(g).max() > tolerance:
        d = -g
        for back in range(min(kept, MEMORY)):
            n = (kept - 1 - back) % MEMORY
            weight[n] = rho[n] * np.dot(steps_s[n], d)
            d -= weight[n] * steps_y[n]
        if kept:
            n = (kept - 1) % MEMORY
            d *= 1 / (rho[n] * np.dot(steps_y[n], steps_y[n]))
        for back in range(min(kept, MEMORY) - 1, -1, -1):
            n = (kept - 1 - back) % MEMORY
            d += (weight[n] - rho[n] * np.dot(steps_y[n], d)) * steps_s[n]
        slope = np.dot(d, g)
        if slope >= 0:
            kept = 0
            continue
        length = min(1.0, MOST_MOVE / _largest_move(d, scale, q)) if kept else 0.0
        if not kept:
            length = min(0.02 / np.abs(g).max(), MOST_MOVE / _largest_move(d, scale, q))
        found = False
        for _ in range(MOST_HALVINGS):
            trial = x + length * d
            spread_out(trial, reference, scale, trial_q, trial_angles, trial_lattice)
            if trial_lattice[0] > 0 and trial_lattice[2] > 0:
                if needs_neighbours(trial_q, trial_lattice, ca, sa, yarns, touch, pairs):
                    pairs = neighbours(q, lattice, ca, sa, yarns, touch, size)
                trial_beta[:] = beta
                trial_energy = measured(
                    trial, reference, scale, ca, sa, yarns, frames, touch, size, pairs, trial_beta,
                    trial_q, trial_angles, trial_lattice, trial_g, parts,
                )  # fmt: skip
                if trial_energy <= energy + SUFFICIENT * length * slope:
                    trial_P, trial_points = placed(trial_q, trial_lattice, ca, sa, yarns, touch)
                    if passes_through(
                        P, lattice, trial_P, trial_lattice, ca, sa, points, trial_points, pairs, yarn_of,
                        yarns.first, yarns.edge, touch.points,
                    ):  # fmt: skip
                        refused += 1
                    else:
                        found = True
                        break
            length *= 0.5
        if not found:
            if not kept:
                break
            kept = 0
            continue
        change, turn = trial - x, trial_g - g
        along = np.dot(change, turn)
        if along > 1e-12 * math.sqrt(np.dot(change, change) * np.dot(turn, turn)):
            n = kept % MEMORY
            steps_s[n], steps_y[n], rho[n] = change, turn, 1 / along
            kept += 1
        x[:] = trial
        g[:] = trial_g
        q[:], lattice[:], angles[:], beta[:] = trial_q, trial_lattice, trial_angles, trial_beta
        P, points = trial_P, trial_points
        energy = trial_energy
        taken += 1
        history[taken] = energy
    return energy, np.abs(g).max(), taken, refused, history[: taken + 1]


@compiled
def _largest_move(d, scale, q):
    """Largest move of a node (diameters) that a packed direction brings, that of the lattice included."""
    count, most = len(q), 1e-12
    at = len(d) - 4
    for n in range(count):
        for a in range(3):
            most = max(most, abs(d[3 * n + a]))
    wide = abs(scale[0] * d[at]) + abs(scale[1] * d[at + 1]) + abs(scale[2] * d[at + 2])
    return max(most, wide)
