"""Energy of the yarns of one repeat and its gradient: stretch, bending, twist, set.

Units: lengths in yarn diameters d, bending rigidity B of the first yarn = 1, so energy is in B/d. Every term takes
Cartesian nodes P (N, 3) and adds its gradient to `gP`; `gs` and `gk` collect what hangs on the shift to the next
repeat and on the curvature. Yarn r owns nodes start[r] to start[r + 1]; its last edge ends on node 0 of the next
repeat.

    stretch   ½·EA·l0·(|e|/l0 − 1)²                              nearly inextensible yarn
    bending   B·|kb|²/(2·l0), kb = 2·t1×t2/(1 + t1·t2)           straight natural state
    twist     C/(2L)·(−β − ψ)²                                   uniform along a yarn that slides; β the holonomy
    set       B/(2·l0)·|κ − f·κ0|² + C/(2·l0)·(τ − τ_nat)²       yarn that has taken a permanent bend, with frames

Bending and twist serve unset yarn and need no frames; set replaces both.
Not covered: contact (`contact`), the map of the nodes (`repeat`). Sources: mechanics reference, sections 2 and 5;
discrete_elastic_rods.
"""

from __future__ import annotations

import math

import numpy as np

from loopwright.mechanics.kernels.compiled import compiled
from loopwright.mechanics.kernels.symmetry import cosine_over, cosine_over_by_k, sine_over, sine_over_by_k


@compiled
def image_of(P, k, s0, t0, out):
    """Image of a point (3,) under the shift (s0, t0)."""
    c, s = math.cos(k * s0), math.sin(k * s0)
    out[0] = P[0] * c + P[2] * s + sine_over(k, s0)
    out[1] = P[1] + t0
    out[2] = -P[0] * s + P[2] * c + cosine_over(k, s0)


@compiled
def image_by_k(P, k, s0, out):
    """Derivative of the image of a point with respect to k: (dX'/dk, dZ'/dk)."""
    c, s = math.cos(k * s0), math.sin(k * s0)
    out[0] = s0 * (-P[0] * s + P[2] * c) + sine_over_by_k(k, s0)
    out[1] = s0 * (-P[0] * c - P[2] * s) + cosine_over_by_k(k, s0)


@compiled
def ghosts(P, first, last, k, s0, t0, G):
    """Nodes of one yarn followed by the images of its first two, (n + 2, 3)."""
    n = last - first
    for i in range(n):
        for a in range(3):
            G[i, a] = P[first + i, a]
    image_of(P[first], k, s0, t0, G[n])
    image_of(P[first + 1], k, s0, t0, G[n + 1])


@compiled
def pull_back(P, G, gG, first, last, k, s0, gP, gmac):
    """Add the gradient on nodes and ghosts of one yarn to the nodes; shifts and curvature to gmac (gs, gt, gk)."""
    n = last - first
    for i in range(n):
        for a in range(3):
            gP[first + i, a] += gG[i, a]
    c, s = math.cos(k * s0), math.sin(k * s0)
    dk = np.empty(2)
    for j in range(2):
        g = gG[n + j]
        node = first + j
        gP[node, 0] += g[0] * c - g[2] * s
        gP[node, 1] += g[1]
        gP[node, 2] += g[0] * s + g[2] * c
        gmac[0] += g[0] * (1 + k * G[n + j, 2]) - g[2] * k * G[n + j, 0]
        gmac[1] += g[1]
        image_by_k(P[node], k, s0, dk)
        gmac[2] += g[0] * dk[0] + g[2] * dk[1]


@compiled
def tangents(G, n, t, length):
    """Unit tangents (n + 1, 3) and lengths (n + 1,) of the edges of a yarn, the ghost edge included."""
    for i in range(n + 1):
        x, y, z = G[i + 1, 0] - G[i, 0], G[i + 1, 1] - G[i, 1], G[i + 1, 2] - G[i, 2]
        r = math.sqrt(x * x + y * y + z * z)
        length[i] = r
        t[i, 0], t[i, 1], t[i, 2] = x / r, y / r, z / r


@compiled
def stretch(t, length, n, l0, axial, gG):
    """Energy of stretch of one yarn."""
    energy = 0.0
    for i in range(n):
        strain = length[i] / l0 - 1
        energy += 0.5 * axial * l0 * strain * strain
        f = axial * strain
        for a in range(3):
            gG[i + 1, a] += f * t[i, a]
            gG[i, a] -= f * t[i, a]
    return energy


@compiled
def bending(t, length, n, l0, rigidity, gG):
    """Energy of bending of one yarn with a straight natural state."""
    energy = 0.0
    for i in range(1, n + 1):
        c = t[i - 1, 0] * t[i, 0] + t[i - 1, 1] * t[i, 1] + t[i - 1, 2] * t[i, 2]
        energy += 2 * rigidity * (1 - c) / ((1 + c) * l0)
        slope = -4 * rigidity / (l0 * (1 + c) * (1 + c))
        for a in range(3):
            before = slope * (t[i, a] - c * t[i - 1, a]) / length[i - 1]
            after = slope * (t[i - 1, a] - c * t[i, a]) / length[i]
            gG[i - 1, a] -= before
            gG[i, a] += before - after
            gG[i + 1, a] += after
    return energy


@compiled
def holonomy(t, n, k, s0):
    """Angle about the tangent from the rotated start vector to the vector carried along one period, in (−π, π]."""
    u = np.zeros(3)
    low = 0
    for a in range(3):
        if abs(t[0, a]) < abs(t[0, low]):
            low = a
    u[low] = 1.0
    along = u[0] * t[0, 0] + u[1] * t[0, 1] + u[2] * t[0, 2]
    norm = 0.0
    for a in range(3):
        u[a] -= along * t[0, a]
        norm += u[a] * u[a]
    for a in range(3):
        u[a] /= math.sqrt(norm)
    start = np.empty(3)
    c, s = math.cos(k * s0), math.sin(k * s0)
    start[0], start[1], start[2] = u[0] * c + u[2] * s, u[1], -u[0] * s + u[2] * c
    for i in range(1, n + 1):
        dot = t[i - 1, 0] * t[i, 0] + t[i - 1, 1] * t[i, 1] + t[i - 1, 2] * t[i, 2]
        along = (u[0] * t[i, 0] + u[1] * t[i, 1] + u[2] * t[i, 2]) / (1 + dot)
        for a in range(3):
            u[a] -= along * (t[i - 1, a] + t[i, a])
    e = t[n]
    sine = (
        (start[1] * u[2] - start[2] * u[1]) * e[0]
        + (start[2] * u[0] - start[0] * u[2]) * e[1]
        + (start[0] * u[1] - start[1] * u[0]) * e[2]
    )
    return math.atan2(sine, start[0] * u[0] + start[1] * u[1] + start[2] * u[2])


@compiled
def binormal(t, i, kb):
    """Curvature binormal at vertex i between edges i − 1 and i; returns 1 + cos of the turn."""
    a, b = t[i - 1], t[i]
    chi = 1 + a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
    kb[0] = 2 * (a[1] * b[2] - a[2] * b[1]) / chi
    kb[1] = 2 * (a[2] * b[0] - a[0] * b[2]) / chi
    kb[2] = 2 * (a[0] * b[1] - a[1] * b[0]) / chi
    return chi


@compiled
def twist(t, length, n, total, torsion, residual, beta, k, s0, gG, gmac):
    """Energy of the uniform twist of one yarn; `beta` is its unwrapped holonomy; gmac as in `pull_back`."""
    moment = torsion / total * (-beta - residual)
    kb = np.empty(3)
    for i in range(1, n + 1):
        binormal(t, i, kb)
        for a in range(3):
            before, after = moment * kb[a] / (2 * length[i - 1]), moment * kb[a] / (2 * length[i])
            gG[i - 1, a] -= before
            gG[i, a] += before - after
            gG[i + 1, a] += after
    gmac[0] += moment * t[n, 1] * k
    gmac[2] += moment * t[n, 1] * s0
    return 0.5 * torsion / total * (-beta - residual) ** 2


@compiled
def carried(db, tb, t, angle, m1, m2, spin):
    """Material directors of an edge: the base director carried from its base tangent, then turned by `angle`.

    `spin` is the turn about the tangent that a change of the tangent brings: −(tb × t)/(1 + tb·t).
    """
    chi = 1 + tb[0] * t[0] + tb[1] * t[1] + tb[2] * t[2]
    along = (db[0] * t[0] + db[1] * t[1] + db[2] * t[2]) / chi
    d0, d1, d2 = db[0] - along * (tb[0] + t[0]), db[1] - along * (tb[1] + t[1]), db[2] - along * (tb[2] + t[2])
    c, s = math.cos(angle), math.sin(angle)
    m1[0] = c * d0 + s * (t[1] * d2 - t[2] * d1)
    m1[1] = c * d1 + s * (t[2] * d0 - t[0] * d2)
    m1[2] = c * d2 + s * (t[0] * d1 - t[1] * d0)
    m2[0] = t[1] * m1[2] - t[2] * m1[1]
    m2[1] = t[2] * m1[0] - t[0] * m1[2]
    m2[2] = t[0] * m1[1] - t[1] * m1[0]
    spin[0] = -(tb[1] * t[2] - tb[2] * t[1]) / chi
    spin[1] = -(tb[2] * t[0] - tb[0] * t[2]) / chi
    spin[2] = -(tb[0] * t[1] - tb[1] * t[0]) / chi


@compiled
def measures(t1, t2, m1p, m2p, m1, m2, out):
    """Material curvatures and twist of a vertex (κ1, κ2, τ) between the edges with tangents t1 and t2."""
    chi = 1 + t1[0] * t2[0] + t1[1] * t2[1] + t1[2] * t2[2]
    k0 = 2 * (t1[1] * t2[2] - t1[2] * t2[1]) / chi
    k1 = 2 * (t1[2] * t2[0] - t1[0] * t2[2]) / chi
    k2 = 2 * (t1[0] * t2[1] - t1[1] * t2[0]) / chi
    out[0] = 0.5 * (k0 * (m2p[0] + m2[0]) + k1 * (m2p[1] + m2[1]) + k2 * (m2p[2] + m2[2]))
    out[1] = -0.5 * (k0 * (m1p[0] + m1[0]) + k1 * (m1p[1] + m1[1]) + k2 * (m1p[2] + m1[2]))
    along = (m1p[0] * t2[0] + m1p[1] * t2[1] + m1p[2] * t2[2]) / chi
    u0, u1, u2 = m1p[0] - along * (t1[0] + t2[0]), m1p[1] - along * (t1[1] + t2[1]), m1p[2] - along * (t1[2] + t2[2])
    sine = (u1 * m1[2] - u2 * m1[1]) * t2[0] + (u2 * m1[0] - u0 * m1[2]) * t2[1] + (u0 * m1[1] - u1 * m1[0]) * t2[2]
    out[2] = math.atan2(sine, u0 * m1[0] + u1 * m1[1] + u2 * m1[2])


@compiled
def set_vertex(e1, e2, angle1, angle2, tb1, db1, tb2, db2, natural, rigidity, torsion, l0, work, g):
    """Energy of one vertex of a yarn that has taken a set; g (8,) = its gradient on e1, e2, angle1, angle2.

    `natural` is (f·κ1, f·κ2, τ_nat). `work` (10, 3) is scratch; rows 1 and 9 keep t2 and the spin of the second edge.
    """
    n1 = math.sqrt(e1[0] * e1[0] + e1[1] * e1[1] + e1[2] * e1[2])
    n2 = math.sqrt(e2[0] * e2[0] + e2[1] * e2[1] + e2[2] * e2[2])
    t1, t2, m1p, m2p, m1, m2, kb, now = work[0], work[1], work[2], work[3], work[4], work[5], work[6], work[7]
    a1, a2 = work[8], work[9]
    for a in range(3):
        t1[a], t2[a] = e1[a] / n1, e2[a] / n2
    carried(db1, tb1, t1, angle1, m1p, m2p, a1)
    carried(db2, tb2, t2, angle2, m1, m2, a2)
    measures(t1, t2, m1p, m2p, m1, m2, now)
    chi = 1 + t1[0] * t2[0] + t1[1] * t2[1] + t1[2] * t2[2]
    kb[0] = 2 * (t1[1] * t2[2] - t1[2] * t2[1]) / chi
    kb[1] = 2 * (t1[2] * t2[0] - t1[0] * t2[2]) / chi
    kb[2] = 2 * (t1[0] * t2[1] - t1[1] * t2[0]) / chi
    f1 = rigidity / l0 * (now[0] - natural[0])
    f2 = rigidity / l0 * (now[1] - natural[1])
    f3 = torsion / l0 * (now[2] - natural[2])
    h0 = 0.5 * (f1 * (m2p[0] + m2[0]) - f2 * (m1p[0] + m1[0]))
    h1 = 0.5 * (f1 * (m2p[1] + m2[1]) - f2 * (m1p[1] + m1[1]))
    h2 = 0.5 * (f1 * (m2p[2] + m2[2]) - f2 * (m1p[2] + m1[2]))
    spin1, spin2, kbh = -f3, f3, kb[0] * h0 + kb[1] * h1 + kb[2] * h2
    for a in range(3):
        spin1 -= 0.5 * kb[a] * (f1 * m1p[a] + f2 * m2p[a])
        spin2 -= 0.5 * kb[a] * (f1 * m1[a] + f2 * m2[a])
    d1 = (t2[1] * h2 - t2[2] * h1, t2[2] * h0 - t2[0] * h2, t2[0] * h1 - t2[1] * h0)
    d2 = (h1 * t1[2] - h2 * t1[1], h2 * t1[0] - h0 * t1[2], h0 * t1[1] - h1 * t1[0])
    along1 = along2 = 0.0
    for a in range(3):
        g[a] = (2 * d1[a] - kbh * t2[a]) / chi + 0.5 * f3 * kb[a] + spin1 * a1[a]
        g[3 + a] = (2 * d2[a] - kbh * t1[a]) / chi + 0.5 * f3 * kb[a] + spin2 * a2[a]
        along1 += g[a] * t1[a]
        along2 += g[3 + a] * t2[a]
    for a in range(3):
        g[a] = (g[a] - along1 * t1[a]) / n1
        g[3 + a] = (g[3 + a] - along2 * t2[a]) / n2
    g[6], g[7] = spin1, spin2
    bend = (now[0] - natural[0]) ** 2 + (now[1] - natural[1]) ** 2
    return (0.5 * rigidity * bend + 0.5 * torsion * (now[2] - natural[2]) ** 2) / l0


@compiled
def set_yarn(G, n, angles, tb, db, natural, rigidity, torsion, l0, k, s0, gG, gangle, gmac):
    """Energy of one yarn with frames: base tangents and directors (n + 1, 3), the last those of the next repeat."""
    energy = 0.0
    work, g, e1, e2 = np.empty((10, 3)), np.empty(8), np.empty(3), np.empty(3)
    for i in range(1, n + 1):
        for a in range(3):
            e1[a], e2[a] = G[i, a] - G[i - 1, a], G[i + 1, a] - G[i, a]
        here = i % n
        energy += set_vertex(
            e1, e2, angles[i - 1], angles[here], tb[i - 1], db[i - 1], tb[i], db[i],
            natural[here], rigidity, torsion, l0, work, g,
        )  # fmt: skip
        for a in range(3):
            gG[i - 1, a] -= g[a]
            gG[i, a] += g[a] - g[3 + a]
            gG[i + 1, a] += g[3 + a]
        gangle[i - 1] += g[6]
        gangle[here] += g[7]
        if i == n:
            t, spin = work[1], work[9]
            turn = g[7] * (t[1] - (spin[0] * t[2] - spin[2] * t[0]))
            gmac[0] += turn * k
            gmac[2] += turn * s0
    return energy
