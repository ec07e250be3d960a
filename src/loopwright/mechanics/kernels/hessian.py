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


@compiled
def _slot(slots, rows, columns, count, row, column):
    """Index of the block (row, column), made when it is new."""
    found = slots[row, column]
    if found < 0:
        found = count[0]
        slots[row, column] = found
        rows[found], columns[found] = row, column
        count[0] += 1
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
def node_blocks(q, angles, lattice, ca, sa, yarns, frames, touch, size, pairs, beta, gP):
    """Second derivatives on the nodes (and angles) at fixed lattice, as `Blocks`; gP (N, 3) is the Cartesian
    gradient.
    """
    k, count_nodes = lattice[3], len(q)
    with_set = len(frames.natural) > 0
    D = 4 if with_set else 3
    P = np.empty_like(q)
    points = np.empty((touch.points * count_nodes, 3))
    middle = onto_cloth(q, lattice, ca, sa, P)
    points_of(P, yarns.first, lattice, ca, sa, touch.points, points)
    _, yarn_of, _ = arcs(yarns.first, yarns.edge, touch.points)
    slots = np.full((count_nodes, count_nodes), -1, np.int64)
    most = min(count_nodes * count_nodes, 9 * count_nodes + 16 * len(pairs.a))
    blocks, rows, columns = np.zeros((most, D, D)), np.empty(most, np.int64), np.empty(most, np.int64)
    count = np.zeros(1, np.int64)
    H, image = np.empty((3, 3)), np.empty(3)
    node, weight, turn = np.empty(4, np.int64), np.empty(4), np.empty(4)
    per_edge = touch.points
    for m in range(len(pairs.images)):
        i, j = pairs.images[m, 0], pairs.images[m, 1]
        s0, t0 = shift_of(i, j, lattice, ca, sa)
        s1, _ = shift_of(i + 1, j, lattice, ca, sa)
        for n in range(pairs.first[m], pairs.first[m + 1]):
            a, b = pairs.a[n], pairs.b[n]
            image_of(points[b], k, s0, t0, image)
            x, y, z = image[0] - points[a, 0], image[1] - points[a, 1], image[2] - points[a, 2]
            ra, rb = yarn_of[a], yarn_of[b]
            reach = 0.5 * (yarns.diameter[ra] + yarns.diameter[rb]) * size
            square = x * x + y * y + z * z
            if square >= reach * reach:
                continue
            r = math.sqrt(square)
            near = 1 - r / reach
            strength = touch.hardness * yarns.edge[ra] * yarns.edge[rb] / (per_edge * per_edge)
            p = touch.exponent
            first = -strength * p / reach * near ** (p - 1)
            second = strength * p * (p - 1) / (reach * reach) * near ** (p - 2)
            d = (x / r, y / r, z / r)
            for e in range(3):
                for f in range(3):
                    one = 1.0 if e == f else 0.0
                    H[e, f] = second * d[e] * d[f] + first / r * (one - d[e] * d[f])
            part_a, part_b = (a % per_edge + 0.5) / per_edge, (b % per_edge + 0.5) / per_edge
            ea, eb = a // per_edge, b // per_edge
            node[0], weight[0], turn[0] = ea, -(1 - part_a), 0.0
            node[1], weight[1], turn[1] = ea + 1, -part_a, 0.0
            if ea + 1 == yarns.first[ra + 1]:
                node[1], turn[1] = yarns.first[ra], k * lattice[0] * ca
            node[2], weight[2], turn[2] = eb, 1 - part_b, k * s0
            node[3], weight[3], turn[3] = eb + 1, part_b, k * s0
            if eb + 1 == yarns.first[rb + 1]:
                node[3], turn[3] = yarns.first[rb], k * s1
            for e in range(4):
                for f in range(4):
                    slot = _slot(slots, rows, columns, count, node[e], node[f])
                    _add(blocks[slot], H, weight[e] * weight[f], turn[e], turn[f])
    beta_of = np.zeros((len(yarns.edge), count_nodes, 3))
    H11, H12, H22, H8, kb = np.zeros((3, 3)), np.zeros((3, 3)), np.zeros((3, 3)), np.zeros((8, 8)), np.zeros(3)
    step = k * lattice[0] * ca
    three, sign1, sign2 = np.empty(3, np.int64), (-1.0, 1.0, 0.0), (0.0, -1.0, 1.0)
    bent = np.empty(3)
    for r in range(len(yarns.edge)):
        first_node, last = yarns.first[r], yarns.first[r + 1]
        n = last - first_node
        G = np.empty((n + 2, 3))
        ghosts(P, first_node, last, k, lattice[0] * ca, -lattice[0] * sa, G)
        t, length = np.empty((n + 1, 3)), np.empty(n + 1)
        tangents(G, n, t, length)
        tb, db = np.empty((n + 1, 3)), np.empty((n + 1, 3))
        if with_set:
            turned(frames.tangent, first_node, last, ca, sa, k, lattice[0] * ca, tb)
            turned(frames.director, first_node, last, ca, sa, k, lattice[0] * ca, db)
        moment = yarns.torsion[r] / yarns.total[r] * (-beta[r] - yarns.residual[r])
        for i in range(1, n + 1):
            for e in range(3):
                at = i - 1 + e
                three[e] = first_node + at % n
                bent[e] = step if at >= n else 0.0
            _stretch_block(t[i - 1], length[i - 1], yarns.edge[r], yarns.axial[r], H)
            for e in range(2):
                for f in range(2):
                    slot = _slot(slots, rows, columns, count, three[e], three[f])
                    _add(blocks[slot], H, sign1[e] * sign1[f], bent[e], bent[f])
            if with_set:
                here = i % n
                _vertex_with_set(
                    G, i, angles[first_node:last], here, tb, db, frames.natural[first_node + here],
                    yarns.rigidity[r], yarns.torsion[r], yarns.edge[r], H8,
                )  # fmt: skip
                for a in range(3):
                    for b in range(3):
                        H11[a, b], H12[a, b], H22[a, b] = H8[a, b], H8[a, 3 + b], H8[3 + a, 3 + b]
                angle_nodes = (first_node + i - 1, first_node + here)
                for e in range(2):
                    for f in range(2):
                        slot = _slot(slots, rows, columns, count, angle_nodes[e], angle_nodes[f])
                        blocks[slot, 3, 3] += H8[6 + e, 6 + f]
                for e in range(3):
                    c, s = math.cos(bent[e]), math.sin(bent[e])
                    for f in range(2):
                        x = sign1[e] * H8[0, 6 + f] + sign2[e] * H8[3, 6 + f]
                        y = sign1[e] * H8[1, 6 + f] + sign2[e] * H8[4, 6 + f]
                        z = sign1[e] * H8[2, 6 + f] + sign2[e] * H8[5, 6 + f]
                        x, z = x * c - z * s, x * s + z * c
                        slot = _slot(slots, rows, columns, count, three[e], angle_nodes[f])
                        blocks[slot, 0, 3] += x
                        blocks[slot, 1, 3] += y
                        blocks[slot, 2, 3] += z
                        slot = _slot(slots, rows, columns, count, angle_nodes[f], three[e])
                        blocks[slot, 3, 0] += x
                        blocks[slot, 3, 1] += y
                        blocks[slot, 3, 2] += z
            else:
                _bend_blocks(t[i - 1], t[i], length[i - 1], length[i], yarns.edge[r], yarns.rigidity[r], H11, H12, H22)
                chi = binormal(t, i, kb)
                _twist_blocks(t[i - 1], t[i], length[i - 1], length[i], kb, chi, moment, H11, H12, H22)
                for e in range(3):
                    c, s = math.cos(bent[e]), math.sin(bent[e])
                    w = -0.5 * (sign1[e] / length[i - 1] + sign2[e] / length[i])
                    beta_of[r, three[e], 0] += w * (kb[0] * c - kb[2] * s)
                    beta_of[r, three[e], 1] += w * kb[1]
                    beta_of[r, three[e], 2] += w * (kb[0] * s + kb[2] * c)
            for e in range(3):
                for f in range(3):
                    slot = _slot(slots, rows, columns, count, three[e], three[f])
                    _add(blocks[slot], H11, sign1[e] * sign1[f], bent[e], bent[f])
                    _add(blocks[slot], H22, sign2[e] * sign2[f], bent[e], bent[f])
                    _add(blocks[slot], H12, sign1[e] * sign2[f], bent[e], bent[f])
                    _add(blocks[slot], H12.T, sign2[e] * sign1[f], bent[e], bent[f])
    found = count[0]
    J = np.zeros((count_nodes, 3, 3))
    extra = np.zeros((count_nodes, 3, 3))
    for n in range(count_nodes):
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
        for r in range(len(yarns.edge)):
            beta_of[r, n] = np.dot(J[n].T, beta_of[r, n])
    for slot in range(found):
        row, column = rows[slot], columns[slot]
        inner = np.ascontiguousarray(blocks[slot, :3, :3])
        blocks[slot, :3, :3] = np.dot(np.dot(np.ascontiguousarray(J[row].T), inner), J[column])
        if row == column:
            blocks[slot, :3, :3] += extra[row]
        if D == 4:
            for a in range(3):
                x = y = 0.0
                for b in range(3):
                    x += J[row, b, a] * blocks[slot, b, 3]
                    y += blocks[slot, 3, b] * J[column, b, a]
                H8[0, a], H8[1, a] = x, y
            for a in range(3):
                blocks[slot, a, 3], blocks[slot, 3, a] = H8[0, a], H8[1, a]
    return Blocks(blocks[:found].copy(), rows[:found].copy(), columns[:found].copy(), beta_of)
