"""The guard: no yarn may pass through another, neither in a step of the minimiser nor in the starting form.

A step moves every node on a straight line. Two edges have passed through each other when, at some moment of the step,
their four ends lie in one plane and the edges cross there: the roots of a cubic, tested for every pair of edges near
enough to meet. `passes_through` is asked before a step is taken, so that a step that would pull yarn through yarn is
refused, not noticed afterwards. A starting form is checked loop by loop (`interlacing`).
Not covered: contact forces (`contact`). Sources: mechanics reference, section 7; continuous collision of two edges as
the cubic of coplanarity is textbook geometry.
"""

from __future__ import annotations

import math

import numpy as np

from loopwright.mechanics.kernels.compiled import compiled
from loopwright.mechanics.kernels.contact import shift_of
from loopwright.mechanics.kernels.energy import image_of

HALVINGS = 50  # of the stretch of a step in which the cubic changes its sign
EDGE_SLACK = 1e-9  # how far past an end of an edge a crossing still counts, in edge lengths


@compiled
def _volume(p, v, t):
    """Six times the volume that the four ends p + t·v (4, 3) span: 0 when they lie in one plane."""
    x = np.empty((3, 3))
    for a in range(3):
        base = p[0, a] + t * v[0, a]
        for n in range(3):
            x[n, a] = p[n + 1, a] + t * v[n + 1, a] - base
    return (
        x[0, 0] * (x[1, 1] * x[2, 2] - x[1, 2] * x[2, 1])
        - x[0, 1] * (x[1, 0] * x[2, 2] - x[1, 2] * x[2, 0])
        + x[0, 2] * (x[1, 0] * x[2, 1] - x[1, 1] * x[2, 0])
    )


@compiled
def _meet(p, v, t):
    """Whether the edges (0, 1) and (2, 3) cross at moment t, at which their ends lie in one plane."""
    d1, d2, gap = np.empty(3), np.empty(3), np.empty(3)
    a = b = c = d = e = 0.0
    for n in range(3):
        start, end = p[0, n] + t * v[0, n], p[1, n] + t * v[1, n]
        other, last = p[2, n] + t * v[2, n], p[3, n] + t * v[3, n]
        d1[n], d2[n], gap[n] = end - start, last - other, start - other
        a += d1[n] * d1[n]
        b += d1[n] * d2[n]
        c += d2[n] * d2[n]
        d += d1[n] * gap[n]
        e += d2[n] * gap[n]
    area = a * c - b * b
    if area < 1e-14 * a * c:
        return False
    s, u = (b * e - c * d) / area, (a * e - b * d) / area
    if not (-EDGE_SLACK <= s <= 1 + EDGE_SLACK and -EDGE_SLACK <= u <= 1 + EDGE_SLACK):
        return False
    apart = 0.0
    for n in range(3):
        apart += (gap[n] + s * d1[n] - u * d2[n]) ** 2
    return apart < 1e-10 * (a + c)


@compiled
def _turning_points(p, v, moments):
    """Moments (4,) between which the volume only rises or only falls, 0 first and 1 last; returns how many."""
    f0, f1, f2, f3 = _volume(p, v, 0.0), _volume(p, v, 1 / 3), _volume(p, v, 2 / 3), _volume(p, v, 1.0)
    slope = 0.5 * (-11 * f0 + 18 * f1 - 9 * f2 + 2 * f3)
    bend = 4.5 * (2 * f0 - 5 * f1 + 4 * f2 - f3)
    cubic = 4.5 * (-f0 + 3 * f1 - 3 * f2 + f3)
    moments[0], count = 0.0, 1
    root = bend * bend - 3 * cubic * slope
    if root > 0:
        far = -bend - math.copysign(math.sqrt(root), bend)
        first, second = far / (3 * cubic), slope / far
        if first > second:
            first, second = second, first
        for t in (first, second):
            if 0 < t < 1:
                moments[count] = t
                count += 1
    moments[count] = 1.0
    return count + 1


@compiled
def edges_cross(p, v):
    """Whether edges (0, 1) and (2, 3) of the points p (4, 3), moved by v (4, 3), cross within the step."""
    moments = np.empty(4)
    count = _turning_points(p, v, moments)
    for m in range(count - 1):
        low, high = moments[m], moments[m + 1]
        before = _volume(p, v, low) < 0
        if before == (_volume(p, v, high) < 0):
            continue
        for _ in range(HALVINGS):
            middle = 0.5 * (low + high)
            if (_volume(p, v, middle) < 0) == before:
                low = middle
            else:
                high = middle
        if _meet(p, v, 0.5 * (low + high)):
            return True
    return False


@compiled
def _ends(P, first, yarn, edge, lattice, ca, sa, i, j, out, row):
    """Both ends of an edge of image (i, j) into rows `row` and `row + 1` of out."""
    s0, t0 = shift_of(i, j, lattice, ca, sa)
    image_of(P[edge], lattice[3], s0, t0, out[row])
    following = edge + 1
    if following == first[yarn + 1]:
        following = first[yarn]
        s0, t0 = shift_of(i + 1, j, lattice, ca, sa)
    image_of(P[following], lattice[3], s0, t0, out[row + 1])


@compiled
def passes_through(P0, lattice0, P1, lattice1, ca, sa, points0, points1, pairs, yarn_of, first, edge, per_edge):
    """Whether a step from nodes P0 to P1 (N, 3, Cartesian) pulls a yarn through another; looks at near pairs only."""
    moved = longest = 0.0
    for n in range(len(points0)):
        r = 0.0
        for a in range(3):
            r += (points1[n, a] - points0[n, a]) ** 2
        moved = max(moved, r)
    for r in range(len(edge)):
        longest = max(longest, edge[r])
    moved = math.sqrt(moved)
    image = np.empty(3)
    start, end = np.empty((4, 3)), np.empty((4, 3))
    for m in range(len(pairs.images)):
        i, j = pairs.images[m, 0], pairs.images[m, 1]
        s0, t0 = shift_of(i, j, lattice0, ca, sa)
        drift = abs(i * (lattice1[0] - lattice0[0])) + abs(j * (lattice1[1] - lattice0[1]))
        drift += abs(j * (lattice1[2] - lattice0[2])) + abs(lattice1[3] - lattice0[3]) * (s0 * s0 + t0 * t0)
        near = 2 * moved + drift + 1.5 * longest / per_edge
        for n in range(pairs.first[m], pairs.first[m + 1]):
            a, b = pairs.a[n], pairs.b[n]
            image_of(points0[b], lattice0[3], s0, t0, image)
            x, y, z = image[0] - points0[a, 0], image[1] - points0[a, 1], image[2] - points0[a, 2]
            if x * x + y * y + z * z > near * near:
                continue
            ea, eb = a // per_edge, b // per_edge
            _ends(P0, first, yarn_of[a], ea, lattice0, ca, sa, 0, 0, start, 0)
            _ends(P0, first, yarn_of[b], eb, lattice0, ca, sa, i, j, start, 2)
            _ends(P1, first, yarn_of[a], ea, lattice1, ca, sa, 0, 0, end, 0)
            _ends(P1, first, yarn_of[b], eb, lattice1, ca, sa, i, j, end, 2)
            if edges_cross(start, end - start):
                return True
    return False
