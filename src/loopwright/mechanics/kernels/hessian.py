"""Second derivatives of the energy: blocks of nodes that bend, touch or twist together, and the few columns of the
lattice.

`node_blocks` adds up exact 3×3 blocks for stretch, bending, twist and contact and pulls them back to the developed
nodes; with set, where a vertex has eight unknowns, its own exact gradient is differenced (error about 1e-9). What hangs
on the lattice and the curvature is at most four columns: differences of the exact gradient. So a Hessian costs about as
much as twenty gradients, however many nodes there are, where a dense difference costs six gradients per node.
The uniform twist of a sliding yarn couples all its nodes: it is handed over as one vector per yarn.
Source: mechanics reference, sections 2 to 4; the blocks are derived here and tested against differences.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from loopwright.mechanics.kernels.compiled import compiled
from loopwright.mechanics.kernels.contact import shift_of
from loopwright.mechanics.kernels.energy import binormal, ghosts, image_of, set_vertex, tangents
from loopwright.mechanics.kernels.repeat import arcs, onto_cloth, points_of, turned

STENCIL_STEP = 1e-6  # diameters (or rad): step of the differences within one vertex with set


class Blocks(NamedTuple):
    """Blocks (n, size, size) at node rows and columns; `holonomy` (R, N, 3), its derivative on the nodes of each
    yarn.
    """

    values: NDArray[np.float64]
    rows: NDArray[np.int64]
    columns: NDArray[np.int64]
    holonomy: NDArray[np.float64]


class Sink(NamedTuple):
    """Where blocks are added up: `slots` (N, N) names the block of a pair of nodes, −1 for none; `count` (1,) in
    use.
    """

    slots: NDArray[np.int64]
    values: NDArray[np.float64]
    rows: NDArray[np.int64]
    columns: NDArray[np.int64]
    used: NDArray[np.int64]


@compiled
def _sink(nodes, most, size):
    """An empty sink for at most so many blocks."""
    slots = np.full((nodes, nodes), -1, np.int64)
    most = min(nodes * nodes, most)
    return Sink(
        slots, np.zeros((most, size, size)), np.empty(most, np.int64), np.empty(most, np.int64), np.zeros(1, np.int64)
    )


@compiled
def _slot(sink, row, column):
    """Index of the block (row, column), made when it is new."""
    found = sink.slots[row, column]
    if found < 0:
        found = sink.used[0]
        sink.slots[row, column] = found
        sink.rows[found], sink.columns[found] = row, column
        sink.used[0] += 1
    return found


@compiled
def _add(B, H, w, angle1, angle2):
    """B[:3, :3] += w·R1ᵀ·H·R2 with the rotations of the images that the two nodes belong to."""
    if angle1 == 0.0 and angle2 == 0.0:
        for a in range(3):
            for b in range(3):
                B[a, b] += w * H[a, b]
        return
    c1, s1, c2, s2 = math.cos(angle1), math.sin(angle1), math.cos(angle2), math.sin(angle2)
    for b in range(3):
        if b == 0:
            x0, x1, x2 = H[0, 0] * c2 - H[0, 2] * s2, H[1, 0] * c2 - H[1, 2] * s2, H[2, 0] * c2 - H[2, 2] * s2
        elif b == 1:
            x0, x1, x2 = H[0, 1], H[1, 1], H[2, 1]
        else:
            x0, x1, x2 = H[0, 0] * s2 + H[0, 2] * c2, H[1, 0] * s2 + H[1, 2] * c2, H[2, 0] * s2 + H[2, 2] * c2
        B[0, b] += w * (x0 * c1 - x2 * s1)
        B[1, b] += w * x1
        B[2, b] += w * (x0 * s1 + x2 * c1)


@compiled
def _stretch_block(t, length, l0, axial, H):
    for a in range(3):
        for b in range(3):
            one = 1.0 if a == b else 0.0
            H[a, b] = axial * (t[a] * t[b] / l0 + (1 / l0 - 1 / length) * (one - t[a] * t[b]))


@compiled
def _bend_blocks(t1, t2, n1, n2, l0, rigidity, H11, H12, H22):
    """Second derivatives of 2B(1 − c)/((1 + c)·l0) on the edges e1 and e2."""
    c = t1[0] * t2[0] + t1[1] * t2[1] + t1[2] * t2[2]
    slope = -4 * rigidity / (l0 * (1 + c) ** 2)
    bend = 8 * rigidity / (l0 * (1 + c) ** 3)
    for a in range(3):
        for b in range(3):
            one = 1.0 if a == b else 0.0
            a1, b1 = (t2[a] - c * t1[a]) / n1, (t2[b] - c * t1[b]) / n1
            a2, b2 = (t1[a] - c * t2[a]) / n2, (t1[b] - c * t2[b]) / n2
            H11[a, b] = bend * a1 * b1 - slope / n1 * (t1[a] * b1 + a1 * t1[b] + c * (one - t1[a] * t1[b]) / n1)
            H22[a, b] = bend * a2 * b2 - slope / n2 * (t2[a] * b2 + a2 * t2[b] + c * (one - t2[a] * t2[b]) / n2)
            mixed = one - t1[a] * t1[b] - t2[a] * t2[b] + c * t1[a] * t2[b]
            H12[a, b] = bend * a1 * b2 + slope * mixed / (n1 * n2)


@compiled
def _twist_blocks(t1, t2, n1, n2, kb, chi, moment, H11, H12, H22):
    """Add moment × second derivatives of (minus the holonomy of one vertex) on the edges e1 and e2."""
    cross = ((0.0, -t1[2], t1[1]), (t1[2], 0.0, -t1[0]), (-t1[1], t1[0], 0.0))
    for a in range(3):
        for b in range(3):
            ma, mb = (t1[a] + t2[a]) / chi, (t1[b] + t2[b]) / chi
            H11[a, b] -= moment / (4 * n1 * n1) * (kb[a] * (t1[b] + mb) + (t1[a] + ma) * kb[b])
            H22[a, b] -= moment / (4 * n2 * n2) * (kb[a] * (t2[b] + mb) + (t2[a] + ma) * kb[b])
            H12[a, b] += moment / (2 * n1 * n2) * (2 / chi * cross[a][b] - kb[a] * mb)


@compiled
def _vertex_with_set(G, i, angles, here, tb, db, natural, rigidity, torsion, l0, H):
    """Second derivatives (8, 8) of one vertex with set on (e1, e2, angle1, angle2), by differences of its gradient."""
    x, work, up, down = np.empty(8), np.empty((10, 3)), np.empty(8), np.empty(8)
    for a in range(3):
        x[a], x[3 + a] = G[i, a] - G[i - 1, a], G[i + 1, a] - G[i, a]
    x[6], x[7] = angles[i - 1], angles[here]
    for m in range(8):
        kept = x[m]
        x[m] = kept + STENCIL_STEP
        set_vertex(
            x[:3], x[3:6], x[6], x[7], tb[i - 1], db[i - 1], tb[i], db[i], natural, rigidity, torsion, l0, work, up
        )
        x[m] = kept - STENCIL_STEP
        set_vertex(
            x[:3], x[3:6], x[6], x[7], tb[i - 1], db[i - 1], tb[i], db[i], natural, rigidity, torsion, l0, work, down
        )
        x[m] = kept
        for n in range(8):
            H[n, m] = (up[n] - down[n]) / (2 * STENCIL_STEP)
    for m in range(8):
        for n in range(m):
            H[m, n] = H[n, m] = 0.5 * (H[m, n] + H[n, m])


@compiled
def _touch_block(x, y, z, reach, strength, exponent, H):
    """Second derivatives of the energy of one touching pair on the vector (x, y, z) between its points."""
    r = math.sqrt(x * x + y * y + z * z)
    near = 1 - r / reach
    first = -strength * exponent / reach * near ** (exponent - 1)
    second = strength * exponent * (exponent - 1) / (reach * reach) * near ** (exponent - 2)
    d = (x / r, y / r, z / r)
    for e in range(3):
        for f in range(3):
            one = 1.0 if e == f else 0.0
            H[e, f] = second * d[e] * d[f] + first / r * (one - d[e] * d[f])


@compiled
def _ends_of(point, per_edge, first, last, way, turn, next_turn, at, node, weight, turns):
    """The two nodes that carry a contact point, with their weights (times ±1) and the turn of their image."""
    part, edge = (point % per_edge + 0.5) / per_edge, point // per_edge
    node[at], weight[at], turns[at] = edge, way * (1 - part), turn
    node[at + 1], weight[at + 1], turns[at + 1] = edge + 1, way * part, turn
    if edge + 1 == last:
        node[at + 1], turns[at + 1] = first, next_turn


@compiled
def _contact_blocks(points, pairs, yarn_of, yarns, touch, size, lattice, ca, sa, sink):
    """Add the blocks of all touching pairs."""
    k, per_edge = lattice[3], touch.points
    H, image = np.empty((3, 3)), np.empty(3)
    node, weight, turn = np.empty(4, np.int64), np.empty(4), np.empty(4)
    step = k * lattice[0] * ca
    for m in range(len(pairs.images)):
        i, j = pairs.images[m, 0], pairs.images[m, 1]
        s0, t0 = shift_of(i, j, lattice, ca, sa)
        for n in range(pairs.first[m], pairs.first[m + 1]):
            a, b = pairs.a[n], pairs.b[n]
            image_of(points[b], k, s0, t0, image)
            x, y, z = image[0] - points[a, 0], image[1] - points[a, 1], image[2] - points[a, 2]
            ra, rb = yarn_of[a], yarn_of[b]
            reach = 0.5 * (yarns.diameter[ra] + yarns.diameter[rb]) * size
            if x * x + y * y + z * z >= reach * reach:
                continue
            strength = touch.hardness * yarns.edge[ra] * yarns.edge[rb] / (per_edge * per_edge)
            _touch_block(x, y, z, reach, strength, touch.exponent, H)
            _ends_of(a, per_edge, yarns.first[ra], yarns.first[ra + 1], -1.0, 0.0, step, 0, node, weight, turn)
            here = k * s0
            _ends_of(b, per_edge, yarns.first[rb], yarns.first[rb + 1], 1.0, here, here + step, 2, node, weight, turn)
            for e in range(4):
                for f in range(4):
                    slot = _slot(sink, node[e], node[f])
                    _add(sink.values[slot], H, weight[e] * weight[f], turn[e], turn[f])


@compiled
def _three_of(i, n, first, step, three, turn):
    """The three nodes round vertex i of a yarn of n nodes, and the turn of those in the next repeat."""
    for e in range(3):
        at = i - 1 + e
        three[e] = first + at % n
        turn[e] = step if at >= n else 0.0


BEFORE, AFTER = (-1.0, 1.0, 0.0), (0.0, -1.0, 1.0)  # of three nodes, those of the edge before and after the middle one


@compiled
def _spread_edges(H11, H12, H22, three, turn, sink):
    """Add second derivatives on the two edges of a vertex to its three nodes."""
    across = np.ascontiguousarray(H12.T)
    for e in range(3):
        for f in range(3):
            B = sink.values[_slot(sink, three[e], three[f])]
            _add(B, H11, BEFORE[e] * BEFORE[f], turn[e], turn[f])
            _add(B, H22, AFTER[e] * AFTER[f], turn[e], turn[f])
            _add(B, H12, BEFORE[e] * AFTER[f], turn[e], turn[f])
            _add(B, across, AFTER[e] * BEFORE[f], turn[e], turn[f])


@compiled
def _spread_angles(H, one, other, three, turn, sink):
    """Add second derivatives (8, 8) of a vertex with set that hang on the angles of its edges at nodes `one`,
    `other`.
    """
    angle = (one, other)
    for e in range(2):
        for f in range(2):
            sink.values[_slot(sink, angle[e], angle[f]), 3, 3] += H[6 + e, 6 + f]
    for e in range(3):
        c, s = math.cos(turn[e]), math.sin(turn[e])
        for f in range(2):
            x = BEFORE[e] * H[0, 6 + f] + AFTER[e] * H[3, 6 + f]
            y = BEFORE[e] * H[1, 6 + f] + AFTER[e] * H[4, 6 + f]
            z = BEFORE[e] * H[2, 6 + f] + AFTER[e] * H[5, 6 + f]
            g = (x * c - z * s, y, x * s + z * c)
            slot, mirrored = _slot(sink, three[e], angle[f]), _slot(sink, angle[f], three[e])
            for a in range(3):
                sink.values[slot, a, 3] += g[a]
                sink.values[mirrored, 3, a] += g[a]


@compiled
def _spread_holonomy(kb, n1, n2, three, turn, gradient):
    """Add the derivative of the holonomy at one vertex to its three nodes; gradient (N, 3)."""
    for e in range(3):
        c, s = math.cos(turn[e]), math.sin(turn[e])
        w = -0.5 * (BEFORE[e] / n1 + AFTER[e] / n2)
        gradient[three[e], 0] += w * (kb[0] * c - kb[2] * s)
        gradient[three[e], 1] += w * kb[1]
        gradient[three[e], 2] += w * (kb[0] * s + kb[2] * c)


@compiled
def _stretch_blocks(t, length, n, first, step, edge, axial, sink):
    """Add the blocks of the stretch of one yarn."""
    H, three, turn = np.empty((3, 3)), np.empty(3, np.int64), np.empty(3)
    for i in range(1, n + 1):
        _three_of(i, n, first, step, three, turn)
        _stretch_block(t[i - 1], length[i - 1], edge, axial, H)
        for e in range(2):
            for f in range(2):
                B = sink.values[_slot(sink, three[e], three[f])]
                _add(B, H, BEFORE[e] * BEFORE[f], turn[e], turn[f])


@compiled
def _unset_blocks(t, length, n, first, step, edge, rigidity, moment, gradient, sink):
    """Add the blocks of bending and twist of one yarn without set; `gradient` collects the holonomy's derivative."""
    H11, H12, H22, kb = np.empty((3, 3)), np.empty((3, 3)), np.empty((3, 3)), np.empty(3)
    three, turn = np.empty(3, np.int64), np.empty(3)
    for i in range(1, n + 1):
        _three_of(i, n, first, step, three, turn)
        _bend_blocks(t[i - 1], t[i], length[i - 1], length[i], edge, rigidity, H11, H12, H22)
        chi = binormal(t, i, kb)
        _twist_blocks(t[i - 1], t[i], length[i - 1], length[i], kb, chi, moment, H11, H12, H22)
        _spread_holonomy(kb, length[i - 1], length[i], three, turn, gradient)
        _spread_edges(H11, H12, H22, three, turn, sink)


@compiled
def _set_blocks(G, n, first, step, angles, tb, db, natural, edge, rigidity, torsion, sink):
    """Add the blocks of one yarn with set."""
    H, three, turn = np.zeros((8, 8)), np.empty(3, np.int64), np.empty(3)
    for i in range(1, n + 1):
        here = i % n
        _three_of(i, n, first, step, three, turn)
        _vertex_with_set(G, i, angles, here, tb, db, natural[here], rigidity, torsion, edge, H)
        _spread_edges(
            np.ascontiguousarray(H[:3, :3]), np.ascontiguousarray(H[:3, 3:6]), np.ascontiguousarray(H[3:6, 3:6]),
            three, turn, sink,
        )  # fmt: skip
        _spread_angles(H, first + i - 1, first + here, three, turn, sink)


@compiled
def _jacobians(q, lattice, ca, sa, middle, gP):
    """∂P/∂q of every node (N, 3, 3), and what the bend of the map adds to its own block, contracted with gP."""
    k = lattice[3]
    J, extra = np.zeros((len(q), 3, 3)), np.zeros((len(q), 3, 3))
    for n in range(len(q)):
        s, z = q[n, 0] * ca + q[n, 1] * sa, q[n, 2] - middle
        c, sn = math.cos(k * s), math.sin(k * s)
        wide = 1 + k * z
        J[n, 0, 0], J[n, 2, 0] = wide * c * ca, -wide * sn * ca
        J[n, 0, 1], J[n, 2, 1] = wide * c * sa, -wide * sn * sa
        J[n, 1, 0], J[n, 1, 1] = -sa, ca
        J[n, 0, 2], J[n, 2, 2] = sn, c
        ss = -k * wide * (gP[n, 0] * sn + gP[n, 2] * c)
        sz = k * (gP[n, 0] * c - gP[n, 2] * sn)
        extra[n, 0, 0], extra[n, 0, 1], extra[n, 1, 1] = ss * ca * ca, ss * ca * sa, ss * sa * sa
        extra[n, 1, 0] = extra[n, 0, 1]
        extra[n, 0, 2] = extra[n, 2, 0] = sz * ca
        extra[n, 1, 2] = extra[n, 2, 1] = sz * sa
    return J, extra


@compiled
def _onto_developed(sink, J, extra):
    """Turn all blocks from space to the developed nodes, in place."""
    for slot in range(sink.used[0]):
        row, column = sink.rows[slot], sink.columns[slot]
        B = sink.values[slot]
        inner = np.dot(np.dot(np.ascontiguousarray(J[row].T), np.ascontiguousarray(B[:3, :3])), J[column])
        B[:3, :3] = inner
        if row == column:
            B[:3, :3] += extra[row]
        if B.shape[0] == 4:
            B[:3, 3] = np.dot(np.ascontiguousarray(J[row].T), np.ascontiguousarray(B[:3, 3]))
            B[3, :3] = np.dot(np.ascontiguousarray(B[3, :3]), J[column])


@compiled
def node_blocks(q, angles, lattice, ca, sa, yarns, frames, touch, size, pairs, beta, gP):
    """Second derivatives on the nodes (and angles) at fixed lattice, as `Blocks`; gP (N, 3) is the gradient in
    space.
    """
    k, nodes, with_set = lattice[3], len(q), len(frames.natural) > 0
    P, points = np.empty_like(q), np.empty((touch.points * nodes, 3))
    middle = onto_cloth(q, lattice, ca, sa, P)
    points_of(P, yarns.first, lattice, ca, sa, touch.points, points)
    _, yarn_of, _ = arcs(yarns.first, yarns.edge, touch.points)
    sink = _sink(nodes, 9 * nodes + 16 * len(pairs.a), 4 if with_set else 3)
    _contact_blocks(points, pairs, yarn_of, yarns, touch, size, lattice, ca, sa, sink)
    holonomy = np.zeros((len(yarns.edge), nodes, 3))
    step = k * lattice[0] * ca
    for r in range(len(yarns.edge)):
        first, last, edge = yarns.first[r], yarns.first[r + 1], yarns.edge[r]
        n = last - first
        G, t, length = np.empty((n + 2, 3)), np.empty((n + 1, 3)), np.empty(n + 1)
        ghosts(P, first, last, k, lattice[0] * ca, -lattice[0] * sa, G)
        tangents(G, n, t, length)
        _stretch_blocks(t, length, n, first, step, edge, yarns.axial[r], sink)
        if with_set:
            tb, db = np.empty((n + 1, 3)), np.empty((n + 1, 3))
            turned(frames.tangent, first, last, ca, sa, k, lattice[0] * ca, tb)
            turned(frames.director, first, last, ca, sa, k, lattice[0] * ca, db)
            natural = frames.natural[first:last]
            _set_blocks(
                G, n, first, step, angles[first:last], tb, db, natural, edge, yarns.rigidity[r], yarns.torsion[r], sink
            )
        else:
            moment = yarns.torsion[r] / yarns.total[r] * (-beta[r] - yarns.residual[r])
            _unset_blocks(t, length, n, first, step, edge, yarns.rigidity[r], moment, holonomy[r], sink)
    J, extra = _jacobians(q, lattice, ca, sa, middle, gP)
    _onto_developed(sink, J, extra)
    for r in range(len(yarns.edge)):
        for n in range(nodes):
            holonomy[r, n] = np.dot(np.ascontiguousarray(J[n].T), holonomy[r, n])
    found = sink.used[0]
    return Blocks(sink.values[:found].copy(), sink.rows[:found].copy(), sink.columns[:found].copy(), holonomy)
