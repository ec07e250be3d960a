"""The energy of a repeat a second time, in plain numpy: the oracle of the kernels and the alternative of the benchmark.

Written from the reference alone, and along another way than `kernels`: every term is a function of edge vectors, the
first vertex of a yarn takes its last edge turned back by one repeat, holonomy is the sum of the angles between chosen
normals, contact looks at every pair of points of every image that can be near. `pairs` spares that search when speed
matters. Units and shapes are those of `state`.
Not covered: second derivatives, any guard. Source: mechanics reference, sections 1, 2, 3 and 5.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loopwright.mechanics.kernels.repeat import Floats, Frames, Pairs, Yarns
from loopwright.mechanics.state import Reading, State, System

Ints = NDArray[np.int64]
OWN_YARN = 2.2  # diameters along one yarn within which its points don't touch each other
SERIES_BELOW = 0.2  # rad, below which (a·cos a − sin a)/a² is summed from its series


def read_packed(system: System, reference: State, x: Floats, scale: Floats, pairs: Pairs | None = None) -> Reading:
    """Energy and packed gradient at x, as `state.read_packed` gives them."""
    nodes, angles = len(reference.q), len(reference.angles)
    held = x[: 3 * nodes].reshape(nodes, 3)
    old, new = reference.lattice, reference.lattice + scale * x[-4:]
    affine = np.eye(3)
    affine[0, 0], affine[1, 1] = new[0] / old[0], new[2] / old[2]
    affine[0, 1] = (new[1] - affine[0, 0] * old[1]) / old[2]
    state = State(held @ affine.T, x[3 * nodes : 3 * nodes + angles], new, reference.holonomy)
    found = evaluated(system, state, pairs)
    pull = found.nodes.T @ held
    forces = found.lattice + np.array(
        [pull[0, 0] / old[0] - old[1] * pull[0, 1] / (old[0] * old[2]), pull[0, 1] / old[2], pull[1, 1] / old[2], 0.0]
    )
    gradient = np.concatenate([(found.nodes @ affine).ravel(), found.angles, scale * forces])
    return Reading(float(found.parts.sum()), gradient, found.parts, scale * forces, found.holonomy)


def read(system: System, state: State, pairs: Pairs | None = None) -> Reading:
    """Energy and gradient of a state, as `state.read` gives them."""
    x = np.concatenate([state.q.ravel(), state.angles, np.zeros(4)])
    return read_packed(system, state, x, np.ones(4), pairs)


@dataclass(frozen=True, slots=True, eq=False)
class Evaluated:
    """Parts of the energy (4,) and its derivatives on nodes (N, 3), angles and lattice (4,), nodes held in place."""

    parts: Floats
    nodes: Floats
    angles: Floats
    lattice: Floats
    holonomy: Floats


def evaluated(system: System, state: State, pairs: Pairs | None = None) -> Evaluated:
    """Stretch, bending, twist and contact of a state with their derivatives."""
    cloth = _Cloth(system, state)
    P, ends = cloth.places(), cloth.ends
    last = cloth.image(P[ends.first], cloth.round_s, cloth.round_t)
    following = P[ends.next_node]
    following[ends.last] = last
    e = following - P
    length = np.sqrt((e * e).sum(axis=1))
    t = e / length[:, None]
    parts = np.zeros(4)
    on_edges, turn = np.zeros_like(e), 0.0
    angles, holonomy = np.zeros_like(state.angles), state.holonomy.copy()
    edge, axial, torsion = (each[ends.yarn] for each in (system.yarns.edge, system.yarns.axial, system.yarns.torsion))
    strain = length / edge - 1
    parts[0] = 0.5 * float((axial * edge * strain * strain).sum())
    on_edges += (axial * strain)[:, None] * t
    rod = _Vertices(cloth, t, length)
    rigidity = system.yarns.rigidity[ends.yarn]
    if system.has_set:
        parts[1], on_t, turn, angles = _set(rod, system, state, rigidity, torsion, edge)
    else:
        parts[1], on_t, turn = _bending(rod, rigidity, edge)
        parts[2], more_t, more_turn, holonomy = _twist(rod, system.yarns, state.holonomy)
        on_t, turn = on_t + more_t, turn + more_turn
    on_edges += (on_t - (on_t * t).sum(axis=1, keepdims=True) * t) / length[:, None]
    lattice = np.zeros(4)
    width, k = state.lattice[0], state.lattice[3]
    lattice[0] += turn * k * cloth.ca
    lattice[3] += turn * width * cloth.ca
    share = (np.arange(system.touch.points) + 0.5) / system.touch.points
    points = (P[:, None, :] + share[:, None] * e[:, None, :]).reshape(-1, 3)
    parts[3], on_points = _contact(cloth, points, pairs, lattice)
    on_points = on_points.reshape(len(P), len(share), 3)
    on_edges += np.einsum("j,nja->na", share, on_points)
    gP = on_points.sum(axis=1) - on_edges
    ghost = on_edges[ends.last]
    inner = np.delete(on_edges, ends.last, axis=0)
    gP[np.delete(ends.next_node, ends.last)] += inner
    gP[ends.first] += cloth.image_pulled_back(ghost, P[ends.first], last, (1, 0), lattice)
    return Evaluated(parts, cloth.onto_developed(gP, lattice), angles, lattice, holonomy)


class _Ends:
    """Which node, edge and yarn follows which."""

    def __init__(self, yarns: Yarns) -> None:
        self.first, self.last = yarns.first[:-1], yarns.first[1:] - 1
        counts = np.diff(yarns.first)
        self.yarn = np.repeat(np.arange(len(counts)), counts)
        every = np.arange(yarns.first[-1])
        self.next_node, self.previous_edge = every + 1, every - 1
        self.next_node[self.last] = self.first
        self.previous_edge[self.first] = self.last


class _Cloth:
    """A state laid on its flat or bent cloth."""

    def __init__(self, system: System, state: State) -> None:
        self.system, self.state = system, state
        self.ca, self.sa = system.axes
        self.ends = _Ends(system.yarns)
        self.k = float(state.lattice[3])
        self.s = state.q[:, 0] * self.ca + state.q[:, 1] * self.sa
        self.z = state.q[:, 2] - state.q[:, 2].mean()
        self.round_s, self.round_t = state.lattice[0] * self.ca, -state.lattice[0] * self.sa

    def places(self) -> Floats:
        """Cartesian nodes (X, T, Z)."""
        a = self.k * self.s
        t = -self.state.q[:, 0] * self.sa + self.state.q[:, 1] * self.ca
        return np.column_stack(
            [_sine(self.k, self.s) + self.z * np.sin(a), t, self.z * np.cos(a) + _drop(self.k, self.s)]
        )

    def shift(self, i: int | Ints, j: int | Ints) -> tuple[Floats, Floats]:
        """Shift (s0, t0) of images (i, j)."""
        width, shear, height, _ = self.state.lattice
        u, v = np.asarray(i * width + j * shear), np.asarray(j * height)
        return u * self.ca + v * self.sa, -u * self.sa + v * self.ca

    def image(self, P: Floats, s0: Floats | float, t0: Floats | float) -> Floats:
        """Images of points under a shift."""
        turned = self.turned(P, s0)
        turned[:, 0] += _sine(self.k, s0)
        turned[:, 1] += t0
        turned[:, 2] += _drop(self.k, s0)
        return turned

    def turned(self, vectors: Floats, s0: Floats | float) -> Floats:
        """Vectors turned by the rotation of a shift."""
        c, s = np.cos(self.k * s0), np.sin(self.k * s0)
        x, z = vectors[:, 0], vectors[:, 2]
        return np.column_stack([x * c + z * s, vectors[:, 1], z * c - x * s])

    def image_pulled_back(
        self, force: Floats, P: Floats, image: Floats, which: tuple[int | Ints, int | Ints], lattice: Floats
    ) -> Floats:
        """Gradient on the points whose images carry `force`; adds the shift's and the curvature's to `lattice`."""
        i, j = which
        s0, _ = self.shift(i, j)
        along = force[:, 0] * (1 + self.k * image[:, 2]) - force[:, 2] * self.k * image[:, 0]
        u, v = along * self.ca - force[:, 1] * self.sa, along * self.sa + force[:, 1] * self.ca
        lattice[0] += float((i * u).sum())
        lattice[1] += float((j * u).sum())
        lattice[2] += float((j * v).sum())
        c, s = np.cos(self.k * s0), np.sin(self.k * s0)
        by_k_x = s0 * (P[:, 2] * c - P[:, 0] * s) + _sine_by_k(self.k, s0)
        by_k_z = -s0 * (P[:, 0] * c + P[:, 2] * s) + _drop_by_k(self.k, s0)
        lattice[3] += float((force[:, 0] * by_k_x + force[:, 2] * by_k_z).sum())
        return self.turned(force, -s0)

    def onto_developed(self, gP: Floats, lattice: Floats) -> Floats:
        """Gradient on the developed nodes; adds the curvature's part to `lattice`."""
        s, z, k = self.s, self.z, self.k
        c, sn = np.cos(k * s), np.sin(k * s)
        gx, gt, gz = gP.T
        lattice[3] += float((gx * (_sine_by_k(k, s) + z * s * c) + gz * (_drop_by_k(k, s) - z * s * sn)).sum())
        gs, deep = (1 + k * z) * (gx * c - gz * sn), gx * sn + gz * c
        return np.column_stack([gs * self.ca - gt * self.sa, gs * self.sa + gt * self.ca, deep - deep.mean()])


def _sine(k: float, s: Floats | float) -> Floats:
    """sin(k·s)/k."""
    found: Floats = s * np.sinc(k * s / math.pi)
    return found


def _drop(k: float, s: Floats | float) -> Floats:
    """(cos(k·s) − 1)/k."""
    found: Floats = -s * np.sin(0.5 * k * s) * np.sinc(0.5 * k * s / math.pi)
    return found


def _sine_by_k(k: float, s: Floats | float) -> Floats:
    """Derivative of sin(k·s)/k with respect to k."""
    a = np.asarray(k * s)
    small = np.abs(a) < SERIES_BELOW
    series = a * (-1 / 3 + a**2 * (1 / 30 - a**2 * (1 / 840 - a**2 * (1 / 45360 - a**2 / 3991680))))
    safe = np.where(small, 1.0, a)
    found: Floats = np.asarray(s) ** 2 * np.where(small, series, (safe * np.cos(safe) - np.sin(safe)) / safe**2)
    return found


def _drop_by_k(k: float, s: Floats | float) -> Floats:
    """Derivative of (cos(k·s) − 1)/k with respect to k."""
    a = k * s / math.pi
    found: Floats = np.asarray(s) ** 2 * (0.5 * np.sinc(0.5 * a) ** 2 - np.sinc(a))
    return found


class _Vertices:
    """Every vertex between the edge before (that of a first node turned back by one repeat) and its own."""

    def __init__(self, cloth: _Cloth, t: Floats, length: Floats) -> None:
        self.cloth, self.t, self.length = cloth, t, length
        self.before = self.rolled(t)
        self.cosine = (self.before * t).sum(axis=1)
        self.kb = 2 * _cross(self.before, t) / (1 + self.cosine)[:, None]

    def rolled(self, vectors: Floats) -> Floats:
        """Vectors of the edges before."""
        ends = self.cloth.ends
        found: Floats = vectors[ends.previous_edge]
        found[ends.first] = self.cloth.turned(found[ends.first], -self.cloth.round_s)
        return found

    def gathered(self, on_before: Floats, on_own: Floats, spin_before: Floats | None = None) -> tuple[Floats, float]:
        """Gradient on the tangents of all edges, and on the angle by which a repeat is turned.

        A turn by dθ moves the edge before a first node by −dθ about the axis of the bend: its tangent, and its
        directors by the part of that about the tangent (`spin_before`).
        """
        ends = self.cloth.ends
        first = on_before[ends.first]
        t = self.before[ends.first]
        turn = float((first[:, 2] * t[:, 0] - first[:, 0] * t[:, 2]).sum())
        if spin_before is not None:
            turn -= float((spin_before[ends.first] * t[:, 1]).sum())
        back = on_before.copy()
        back[ends.first] = self.cloth.turned(first, self.cloth.round_s)
        total = on_own.copy()
        total[ends.previous_edge] += back
        return total, turn

    def angles(self, directors: Floats, directors_before: Floats) -> Floats:
        """Signed angle about each tangent from the director of the edge before, carried over, to its own."""
        carried = _carried(directors_before, self.before, self.t, 1 + self.cosine)
        sine = (_cross(carried, directors) * self.t).sum(axis=1)
        found: Floats = np.arctan2(sine, (carried * directors).sum(axis=1))
        return found


def _bending(rod: _Vertices, rigidity: Floats, edge: Floats) -> tuple[float, Floats, float]:
    c = rod.cosine
    energy = float((2 * rigidity * (1 - c) / ((1 + c) * edge)).sum())
    slope = (-4 * rigidity / (edge * (1 + c) ** 2))[:, None]
    on_t, turn = rod.gathered(slope * rod.t, slope * rod.before)
    return energy, on_t, turn


def _twist(rod: _Vertices, yarns: Yarns, near: Floats) -> tuple[float, Floats, float, Floats]:
    """Uniform twist of each yarn; its holonomy is minus the sum of the angles between normals chosen at will."""
    t = rod.t
    axis = np.eye(3)[np.abs(t).argmin(axis=1)]
    normal = _cross(t, axis)
    normal /= np.sqrt((normal * normal).sum(axis=1))[:, None]
    yarn = rod.cloth.ends.yarn
    beta: Floats = -np.bincount(yarn, rod.angles(normal, rod.rolled(normal))).astype(float)
    beta += 2 * math.pi * np.round((near - beta) / (2 * math.pi))
    excess = -beta - yarns.residual
    moment = (yarns.torsion / yarns.total * excess)[yarn]
    half = 0.5 * moment[:, None] * rod.kb
    on_t, turn = rod.gathered(half, half, -moment)
    return float((0.5 * yarns.torsion / yarns.total * excess**2).sum()), on_t, turn, beta


def _set(
    rod: _Vertices, system: System, state: State, rigidity: Floats, torsion: Floats, edge: Floats
) -> tuple[float, Floats, float, Floats]:
    """Bending and twist against the natural form of a yarn with set."""
    frames, t = system.frames, rod.t
    tb, db = _in_axes_of_bend(frames, rod.cloth)
    chi = 1 + (tb * t).sum(axis=1)
    d = _carried(db, tb, t, chi)
    c, s = np.cos(state.angles)[:, None], np.sin(state.angles)[:, None]
    m1 = c * d + s * _cross(t, d)
    m2 = _cross(t, m1)
    m1p, m2p, kb = rod.rolled(m1), rod.rolled(m2), rod.kb
    measures = np.column_stack(
        [0.5 * (kb * (m2p + m2)).sum(axis=1), -0.5 * (kb * (m1p + m1)).sum(axis=1), rod.angles(m1, m1p)]
    )
    off = measures - frames.natural
    stiffness = np.column_stack([rigidity, rigidity, torsion]) / edge[:, None]
    f1, f2, f3 = (stiffness * off).T[:, :, None]
    g = 0.5 * (f1 * (m2p + m2) - f2 * (m1p + m1))
    turn_of = (1 + rod.cosine)[:, None]
    along = (kb * g).sum(axis=1, keepdims=True)
    on_before = (2 * _cross(t, g) - along * t) / turn_of + 0.5 * f3 * kb
    on_own = (2 * _cross(g, rod.before) - along * rod.before) / turn_of + 0.5 * f3 * kb
    spin_before = -0.5 * (kb * (f1 * m1p + f2 * m2p)).sum(axis=1) - f3[:, 0]
    spin_own = -0.5 * (kb * (f1 * m1 + f2 * m2)).sum(axis=1) + f3[:, 0]
    on_t, turn = rod.gathered(on_before, on_own, spin_before)
    spin = spin_own.copy()
    spin[rod.cloth.ends.previous_edge] += spin_before
    on_t -= spin[:, None] * _cross(tb, t) / chi[:, None]
    return 0.5 * float((stiffness * off**2).sum()), on_t, turn, spin


def _in_axes_of_bend(frames: Frames, cloth: _Cloth) -> tuple[Floats, Floats]:
    turn = np.array([[cloth.ca, cloth.sa, 0.0], [-cloth.sa, cloth.ca, 0.0], [0.0, 0.0, 1.0]])
    return frames.tangent @ turn.T, frames.director @ turn.T


def _carried(vectors: Floats, before: Floats, after: Floats, chi: Floats) -> Floats:
    """Vectors normal to the tangents before, carried over to the tangents after."""
    found: Floats = vectors - ((vectors * after).sum(axis=1) / chi)[:, None] * (before + after)
    return found


def _cross(a: Floats, b: Floats) -> Floats:
    x, y, z = a.T
    u, v, w = b.T
    return np.column_stack([y * w - z * v, z * u - x * w, x * v - y * u])


def _contact(cloth: _Cloth, points: Floats, pairs: Pairs | None, lattice: Floats) -> tuple[float, Floats]:
    """Energy of all touching points, the gradient on them (M, 3); adds that of the images to `lattice`."""
    yarns, touch = cloth.system.yarns, cloth.system.touch
    a, b, i, j = _near(cloth, points) if pairs is None else _listed(pairs)
    yarn = np.repeat(cloth.ends.yarn, touch.points)
    s0, t0 = cloth.shift(i, j)
    image = cloth.image(points[b], s0, t0)
    gap = image - points[a]
    r = np.sqrt((gap * gap).sum(axis=1))
    reach = 0.5 * cloth.system.size * (yarns.diameter[yarn[a]] + yarns.diameter[yarn[b]])
    touching = r < reach
    a, b, i, j, gap, r, image, reach = (each[touching] for each in (a, b, i, j, gap, r, image, reach))
    weight = yarns.edge / touch.points
    strength = touch.hardness * weight[yarn[a]] * weight[yarn[b]]
    power = strength * (1 - r / reach) ** (touch.exponent - 1)
    force = (-touch.exponent * power / (reach * r))[:, None] * gap
    back = cloth.image_pulled_back(force, points[b], image, (i, j), lattice)
    size = len(points)
    gradient = np.column_stack(
        [np.bincount(b, back[:, axis], size) - np.bincount(a, force[:, axis], size) for axis in range(3)]
    )
    return float((power * (1 - r / reach)).sum()), gradient


def _listed(pairs: Pairs) -> tuple[Ints, Ints, Ints, Ints]:
    image = np.repeat(np.arange(len(pairs.images)), np.diff(pairs.first))
    return pairs.a, pairs.b, pairs.images[image, 0], pairs.images[image, 1]


def _near(cloth: _Cloth, points: Floats) -> tuple[Ints, Ints, Ints, Ints]:
    """Every pair of points near enough to touch: both looked for in all images of a generous upper half plane."""
    system, lattice, ends = cloth.system, cloth.state.lattice, cloth.ends
    yarns, per_edge = system.yarns, system.touch.points
    yarn = np.repeat(ends.yarn, per_edge)
    own = np.arange(len(points)) - per_edge * yarns.first[yarn]
    arc = (own + 0.5) / per_edge * yarns.edge[yarn]
    reach = 0.5 * system.size * (yarns.diameter[yarn][:, None] + yarns.diameter[yarn][None, :])
    wide, high = np.ptp(cloth.state.q[:, :2], axis=0)
    rows = 1 + math.ceil((high + 3) / lattice[2])
    found: list[tuple[Ints, Ints, Ints, Ints]] = []
    for j in range(rows + 1):
        columns = 2 + math.ceil((2 * wide + 3 + j * abs(lattice[1])) / lattice[0])
        for i in range(-columns if j else 0, columns + 1):
            image = cloth.image(points, *cloth.shift(i, j))
            gap = image[None, :, :] - points[:, None, :]
            near = (gap * gap).sum(axis=2) < reach**2
            if i == j == 0:
                near &= np.tri(len(points), k=-1, dtype=bool).T
            if j == 0:
                between = np.abs(arc[None, :] + i * yarns.total[yarn][None, :] - arc[:, None])
                near &= (yarn[:, None] != yarn[None, :]) | (between >= OWN_YARN * reach)
            a, b = np.nonzero(near)
            found.append((a, b, np.full(len(a), i), np.full(len(a), j)))
    a, b, i_of, j_of = (np.concatenate(each) for each in zip(*found, strict=True))
    return a, b, i_of, j_of
