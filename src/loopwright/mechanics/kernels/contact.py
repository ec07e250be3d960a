"""Contact of the yarns: a smooth, short-range double line integral, its neighbour list, energy and gradient.

Every edge carries m points of weight l0/m. Points a and b (b possibly of another repeat) closer than the mean D of
their diameters give K·w_a·w_b·(1 − r/D)^p. Points and not segments, because the closest point of two nearly parallel
segments jumps; p > 2 keeps the second derivative continuous. Pairs of one yarn closer along it than `EXCLUDED`
diameters don't count. The list holds every unordered pair once: images (i, j) of the upper half plane.
Source: mechanics reference, section 3.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from loopwright.mechanics.kernels.compiled import compiled
from loopwright.mechanics.kernels.energy import image_by_k, image_of

EXCLUDED = 2.2  # diameters along one yarn within which its points don't touch each other
SKIN = 0.5  # diameters by which the neighbour list reaches further than contact
CHUNK = 8  # neighbouring points that share a bounding sphere


class Pairs(NamedTuple):
    """Neighbour list: points a and b of pair n, grouped by image: `first[m]` to `first[m + 1]` use image m = (i, j)."""

    a: NDArray[np.int64]
    b: NDArray[np.int64]
    first: NDArray[np.int64]
    images: NDArray[np.int64]
    points: NDArray[np.float64]
    lattice: NDArray[np.float64]


@compiled
def shift_of(i, j, lattice, ca, sa):
    """Shift (s0, t0) of image (i, j); lattice = (W, S, H, k)."""
    u, v = i * lattice[0] + j * lattice[1], j * lattice[2]
    return u * ca + v * sa, -u * sa + v * ca


@compiled
def _spheres(points, chunk_of):
    """Bounding spheres (x, y, z, radius) of the chunks given as (from, to)."""
    spheres = np.empty((len(chunk_of), 4))
    for c in range(len(chunk_of)):
        low, high = chunk_of[c, 0], chunk_of[c, 1]
        for a in range(3):
            total = 0.0
            for n in range(low, high):
                total += points[n, a]
            spheres[c, a] = total / (high - low)
        far = 0.0
        for n in range(low, high):
            r = 0.0
            for a in range(3):
                r += (points[n, a] - spheres[c, a]) ** 2
            far = max(far, r)
        spheres[c, 3] = math.sqrt(far)
    return spheres


@compiled
def _chunks(first_point):
    """Ranges of neighbouring points, none across two yarns, (chunks, 2)."""
    count = 0
    for r in range(len(first_point) - 1):
        count += (first_point[r + 1] - first_point[r] + CHUNK - 1) // CHUNK
    ranges = np.empty((count, 2), np.int64)
    c = 0
    for r in range(len(first_point) - 1):
        for low in range(first_point[r], first_point[r + 1], CHUNK):
            ranges[c, 0], ranges[c, 1] = low, min(low + CHUNK, first_point[r + 1])
            c += 1
    return ranges


@compiled
def _images(q, lattice, reach):
    """Images (i, j) of the upper half plane that may come within `reach` of the repeat, in developed coordinates."""
    wide, high = 0.0, 0.0
    for a in range(2):
        low, top = q[0, a], q[0, a]
        for n in range(len(q)):
            low, top = min(low, q[n, a]), max(top, q[n, a])
        if a == 0:
            wide = top - low + lattice[0]  # edges run on into the next repeat
        else:
            high = top - low
    rows = int((high + reach) / lattice[2])
    found = [(0, 0)]
    for j in range(rows + 1):
        low = math.ceil((-(wide + reach) - j * lattice[1]) / lattice[0])
        top = math.floor((wide + reach - j * lattice[1]) / lattice[0])
        for i in range(low, top + 1):
            if j > 0 or i > 0:
                found.append((i, j))  # noqa: PERF401  numba
    images = np.empty((len(found), 2), np.int64)
    for n in range(len(found)):
        images[n, 0], images[n, 1] = found[n]
    return images


@compiled
def find_pairs(q, points, lattice, ca, sa, first_point, arc, total, diameter, scale):
    """The neighbour list of a state; `scale` shrinks all diameters while a start is untangled.

    Args: q (N, 3) developed nodes, points (M, 3) Cartesian, first_point (R + 1,), arc (M,) position along the yarn,
    total (R,) yarn per repeat, diameter (R,).
    """
    k = lattice[3]
    widest = 0.0
    for r in range(len(diameter)):
        widest = max(widest, diameter[r] * scale)
    deep = 0.0
    for n in range(len(q)):
        deep = max(deep, abs(q[n, 2] - q[:, 2].mean()))
    reach = (widest + SKIN) / max(0.3, 1 - abs(k) * deep)
    images = _images(q, lattice, reach)
    chunk = _chunks(first_point)
    spheres = _spheres(points, chunk)
    yarn = np.empty(len(points), np.int64)
    for r in range(len(diameter)):
        yarn[first_point[r] : first_point[r + 1]] = r
    capacity = 48 * len(points)
    a_of, b_of = np.empty(capacity, np.int64), np.empty(capacity, np.int64)
    first = np.zeros(len(images) + 1, np.int64)
    count = 0
    centre, other = np.empty(3), np.empty((CHUNK, 3))
    for m in range(len(images)):
        i, j = images[m, 0], images[m, 1]
        s0, t0 = shift_of(i, j, lattice, ca, sa)
        for cb in range(len(chunk)):
            image_of(spheres[cb, :3], k, s0, t0, centre)
            ready = False
            for cc in range(len(chunk)):
                if m == 0 and cc > cb:
                    break
                gap = spheres[cb, 3] + spheres[cc, 3] + widest + SKIN
                x, y, z = spheres[cc, 0] - centre[0], spheres[cc, 1] - centre[1], spheres[cc, 2] - centre[2]
                if x * x + y * y + z * z > gap * gap:
                    continue
                if not ready:
                    for n in range(chunk[cb, 0], chunk[cb, 1]):
                        image_of(points[n], k, s0, t0, other[n - chunk[cb, 0]])
                    ready = True
                for nb in range(chunk[cb, 0], chunk[cb, 1]):
                    p = other[nb - chunk[cb, 0]]
                    rb = yarn[nb]
                    for na in range(chunk[cc, 0], chunk[cc, 1]):
                        if m == 0 and na >= nb:
                            break
                        ra = yarn[na]
                        cut = 0.5 * (diameter[ra] + diameter[rb]) * scale
                        if ra == rb and j == 0 and abs(arc[nb] + i * total[rb] - arc[na]) < EXCLUDED * cut:
                            continue
                        cut += SKIN
                        x, y, z = points[na, 0] - p[0], points[na, 1] - p[1], points[na, 2] - p[2]
                        if x * x + y * y + z * z < cut * cut:
                            if count == capacity:
                                capacity *= 2
                                more_a, more_b = np.empty(capacity, np.int64), np.empty(capacity, np.int64)
                                more_a[:count], more_b[:count] = a_of, b_of
                                a_of, b_of = more_a, more_b
                            a_of[count], b_of[count] = na, nb
                            count += 1
        first[m + 1] = count
    return Pairs(a_of[:count].copy(), b_of[:count].copy(), first, images, points.copy(), lattice.copy())


@compiled
def is_stale(pairs, points, lattice, high, wide):
    """Whether points or lattice have moved so far that a pair may be missing; `high`, `wide`: extent of the repeat."""
    moved = 0.0
    for n in range(len(points)):
        r = 0.0
        for a in range(3):
            r += (points[n, a] - pairs.points[n, a]) ** 2
        moved = max(moved, r)
    most = 0.0
    dw, ds = abs(lattice[0] - pairs.lattice[0]), abs(lattice[1] - pairs.lattice[1])
    dh, dk = abs(lattice[2] - pairs.lattice[2]), abs(lattice[3] - pairs.lattice[3])
    for m in range(len(pairs.images)):
        i, j = abs(pairs.images[m, 0]), pairs.images[m, 1]
        far = (i * lattice[0] + abs(j * lattice[1]) + wide) + (j * lattice[2] + high)
        most = max(most, i * dw + j * (ds + dh) + dk * far * far)
    return 2 * math.sqrt(moved) + most > SKIN


@compiled
def contact(points, pairs, yarn, weight, diameter, scale, hardness, exponent, lattice, ca, sa, gpoints, glattice):
    """Energy of contact; adds to gpoints (M, 3) and, through the images, to glattice (W, S, H, k)."""
    energy, k = 0.0, lattice[3]
    image, dk = np.empty(3), np.empty(2)
    for m in range(len(pairs.images)):
        i, j = pairs.images[m, 0], pairs.images[m, 1]
        s0, t0 = shift_of(i, j, lattice, ca, sa)
        c, s = math.cos(k * s0), math.sin(k * s0)
        gs = gt = 0.0
        for n in range(pairs.first[m], pairs.first[m + 1]):
            a, b = pairs.a[n], pairs.b[n]
            image_of(points[b], k, s0, t0, image)
            x, y, z = image[0] - points[a, 0], image[1] - points[a, 1], image[2] - points[a, 2]
            reach = 0.5 * (diameter[yarn[a]] + diameter[yarn[b]]) * scale
            square = x * x + y * y + z * z
            if square >= reach * reach:
                continue
            r = math.sqrt(square)
            near = 1 - r / reach
            strength = hardness * weight[yarn[a]] * weight[yarn[b]]
            power = near * math.sqrt(near) if exponent == 2.5 else near ** (exponent - 1)
            energy += strength * power * near
            pull = -strength * exponent * power / (reach * r)
            fx, fy, fz = pull * x, pull * y, pull * z
            gpoints[a, 0] -= fx
            gpoints[a, 1] -= fy
            gpoints[a, 2] -= fz
            gpoints[b, 0] += fx * c - fz * s
            gpoints[b, 1] += fy
            gpoints[b, 2] += fx * s + fz * c
            if m > 0:
                gs += fx * (1 + k * image[2]) - fz * k * image[0]
                gt += fy
                image_by_k(points[b], k, s0, dk)
                glattice[3] += fx * dk[0] + fz * dk[1]
        gu, gv = gs * ca - gt * sa, gs * sa + gt * ca
        glattice[0] += i * gu
        glattice[1] += j * gu
        glattice[2] += j * gv
    return energy
