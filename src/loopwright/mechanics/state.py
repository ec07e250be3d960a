"""A state of a repeat with everything that its energy depends on, and its evaluation from Python.

`System` is what stays the same while a state relaxes; `State` is what moves. Both are values: the solver returns new
ones. `free` says which of the lattice unknowns (W, S, H, k) may move.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from loopwright.mechanics.form import Points
from loopwright.mechanics.kernels.descent import measured
from loopwright.mechanics.kernels.repeat import NO_FRAMES, Floats, Frames, Pairs, Touch, Yarns, neighbours

TOUCH = Touch(hardness=50.0, exponent=2.5, points=2)


@dataclass(frozen=True, slots=True, eq=False)
class System:
    """Yarns, their set, how they touch, and the direction alpha (rad) in which the cloth may bend."""

    yarns: Yarns
    frames: Frames = NO_FRAMES
    touch: Touch = TOUCH
    alpha: float = 0.0
    size: float = 1.0

    @property
    def axes(self) -> tuple[float, float]:
        """Cosine and sine of the direction of bending."""
        return math.cos(self.alpha), math.sin(self.alpha)

    @property
    def has_set(self) -> bool:
        """Whether the yarn has taken a permanent bend, so that angles are unknowns."""
        return len(self.frames.natural) > 0


@dataclass(frozen=True, slots=True, eq=False)
class State:
    """Developed nodes q (N, 3), angles (N,) or (0,), lattice (W, S, H, k), holonomy of each yarn (R,)."""

    q: Points
    angles: Floats
    lattice: Floats
    holonomy: Floats

    def with_lattice(self, **changes: float) -> State:
        """The same cloth with other width, shear, height or curvature; the nodes move along."""
        lattice = self.lattice.copy()
        for name, value in changes.items():
            lattice[LATTICE.index(name)] = value
        f11, f22 = lattice[0] / self.lattice[0], lattice[2] / self.lattice[2]
        f12 = (lattice[1] - f11 * self.lattice[1]) / self.lattice[2]
        q = self.q.copy()
        q[:, 0] = f11 * self.q[:, 0] + f12 * self.q[:, 1]
        q[:, 1] = f22 * self.q[:, 1]
        return replace(self, q=q, lattice=lattice)


LATTICE = ("width", "shear", "height", "curvature")


@dataclass(frozen=True, slots=True, eq=False)
class Reading:
    """Energy of a state, its packed gradient, its parts (stretch, bending, twist, contact) and lattice forces (4,)."""

    energy: float
    gradient: Floats
    parts: Floats
    forces: Floats
    holonomy: Floats


def scale_of(state: State, free: tuple[bool, ...]) -> Floats:
    """Units of the packed lattice unknowns, so that one is comparable to a move of the nodes; 0 holds one."""
    unit = 2 / math.sqrt(len(state.q))
    bend = 1 / (math.sqrt(len(state.q)) * max(state.lattice[0], state.lattice[2]))
    return np.where(np.array(free), np.array([unit, unit, unit, bend]), 0.0)


def packed(state: State) -> Floats:
    """The unknowns of a state with its own lattice as the reference."""
    return np.concatenate([state.q.ravel(), state.angles, np.zeros(4)])


def pairs_of(system: System, state: State) -> Pairs:
    """The neighbour list of a state."""
    ca, sa = system.axes
    found: Pairs = neighbours(state.q, state.lattice, ca, sa, system.yarns, system.touch, system.size)
    return found


def read(system: System, state: State, pairs: Pairs | None = None, scale: Floats | None = None) -> Reading:
    """Energy and gradient of a state; `forces` are the derivatives on (W, S, H, k) with the nodes in tow."""
    unit = np.ones(4)
    near = pairs_of(system, state) if pairs is None else pairs
    reading = read_packed(system, state, packed(state), unit, near)
    if scale is None:
        return reading
    gradient = reading.gradient.copy()
    gradient[-4:] *= scale
    return replace(reading, gradient=gradient)


def read_packed(system: System, reference: State, x: Floats, scale: Floats, pairs: Pairs) -> Reading:
    """Energy and packed gradient at x, whose reference is the lattice of a state."""
    ca, sa = system.axes
    gradient, parts, lattice = np.empty_like(x), np.empty(4), np.empty(4)
    q, angles, holonomy = np.empty_like(reference.q), reference.angles.copy(), reference.holonomy.copy()
    energy = measured(
        x, reference.lattice, scale, ca, sa, system.yarns, system.frames, system.touch, system.size, pairs, holonomy,
        q, angles, lattice, gradient, parts,
    )  # fmt: skip
    return Reading(float(energy), gradient, parts, gradient[-4:].copy(), holonomy)


def moved(state: State, step: Floats, scale: Floats) -> State:
    """The state after a packed step."""
    nodes, angles = len(state.q), len(state.angles)
    names = dict(zip(LATTICE, (state.lattice + scale * step[-4:]).tolist(), strict=True))
    stepped = replace(
        state,
        q=state.q + step[: 3 * nodes].reshape(nodes, 3),
        angles=state.angles + step[3 * nodes : 3 * nodes + angles],
    )
    return stepped.with_lattice(**names)
