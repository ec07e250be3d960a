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
def _doubled(values):
    """The same array with room for twice as much."""
    more = np.empty(2 * len(values), np.int64)
    more[: len(values)] = values
    return more


@compiled
def _near_chunks(spheres, chunk, m, k, s0, t0, reach, near):
    """Pairs of chunks (of the repeat, of image m) whose bounding spheres come within `reach`; how many."""
    centre, count = np.empty(3), 0
    for cb in range(len(chunk)):
        image_of(spheres[cb, :3], k, s0, t0, centre)
        for cc in range(cb + 1 if m == 0 else len(chunk)):
            gap = spheres[cb, 3] + spheres[cc, 3] + reach
            x, y, z = spheres[cc, 0] - centre[0], spheres[cc, 1] - centre[1], spheres[cc, 2] - centre[2]
            if x * x + y * y + z * z <= gap * gap:
                near[count, 0], near[count, 1] = cc, cb
                count += 1
    return count


@compiled
def _in_touch(points, other, na, nb, cut):
    """Whether point na comes within `cut` of the image `other` (M, 3) of point nb."""
    x, y, z = points[na, 0] - other[nb, 0], points[na, 1] - other[nb, 1], points[na, 2] - other[nb, 2]
    return x * x + y * y + z * z < cut * cut


@compiled
def find_pairs(q, points, lattice, ca, sa, first_point, arc, total, diameter, scale):
    """The neighbour list of a state; `scale` shrinks all diameters while a start is untangled.

    Args: q (N, 3) developed nodes, points (M, 3) Cartesian, first_point (R + 1,), arc (M,) position along the yarn,
    total (R,) yarn per repeat, diameter (R,).
    """
    k, widest = lattice[3], diameter.max() * scale
    deep = np.abs(q[:, 2] - q[:, 2].mean()).max()
    images = _images(q, lattice, (widest + SKIN) / max(0.3, 1 - abs(k) * deep))
    chunk = _chunks(first_point)
    spheres = _spheres(points, chunk)
    yarn = np.empty(len(points), np.int64)
    for r in range(len(diameter)):
        yarn[first_point[r] : first_point[r + 1]] = r
    a_of, b_of = np.empty(48 * len(points), np.int64), np.empty(48 * len(points), np.int64)
    first, near = np.zeros(len(images) + 1, np.int64), np.empty((len(chunk) * len(chunk), 2), np.int64)
    count, other = 0, np.empty_like(points)
    for m in range(len(images)):
        i, j = images[m, 0], images[m, 1]
        s0, t0 = shift_of(i, j, lattice, ca, sa)
        for n in range(_near_chunks(spheres, chunk, m, k, s0, t0, widest + SKIN, near)):
            cc, cb = near[n, 0], near[n, 1]
            for nb in range(chunk[cb, 0], chunk[cb, 1]):
                image_of(points[nb], k, s0, t0, other[nb])
                rb = yarn[nb]
                for na in range(chunk[cc, 0], min(chunk[cc, 1], nb) if m == 0 else chunk[cc, 1]):
                    ra = yarn[na]
                    reach = 0.5 * (diameter[ra] + diameter[rb]) * scale
                    if ra == rb and j == 0 and abs(arc[nb] + i * total[rb] - arc[na]) < EXCLUDED * reach:
                        continue
                    if _in_touch(points, other, na, nb, reach + SKIN):
                        if count == len(a_of):
                            a_of, b_of = _doubled(a_of), _doubled(b_of)
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
