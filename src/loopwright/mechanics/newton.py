"""Newton's method with a trust region: the polish that soft cloths need.

Ribs, garter and links structures have modes a million times softer than their stiffest; L-BFGS stops in them with widths
wrong by a tenth. Each step minimises the quadratic model within a radius: the Hessian is shifted until it can be
factored and the step fits (a handful of Cholesky factorings), rigid translations are held, a node moves at most
`MOST_MOVE`, and the guard refuses a step that would pull yarn through yarn. Large repeats use sparse factors.
Source: mechanics reference, section 4; step after Moré and Sorensen (1983), from memory.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
import scipy.linalg as dense

from loopwright.mechanics.descent import MOST_MOVE, placed
from loopwright.mechanics.guard import passes_through
from loopwright.mechanics.hessian import node_blocks
from loopwright.mechanics.repeat import Floats, Pairs, arcs, evaluate
from loopwright.mechanics.state import (
    LATTICE,
    Reading,
    State,
    System,
    moved,
    packed,
    pairs_of,
    read,
    read_packed,
    scale_of,
)

LATTICE_STEP = 1e-5  # diameters: step of the differences of the lattice columns
HELD = 1e3  # stiffness put on rigid translations
MOST_SHIFTS = 40


def hessian_of(system: System, state: State, scale: Floats, pairs: Pairs | None = None) -> Floats:
    """Second derivatives (n, n) on (nodes, angles, lattice) with the state's own lattice as the reference."""
    near = pairs_of(system, state) if pairs is None else pairs
    H = np.zeros((packed(state).size,) * 2)
    inner = _inner(system, state, near)
    H[: len(inner), : len(inner)] = inner
    for m in np.flatnonzero(scale):
        column = _lattice_column(system, state, scale, int(m), near)
        H[:, len(inner) + m] = column
        H[len(inner) + m, :] = column
    lattice = slice(len(inner), None)
    H[lattice, lattice] = (H[lattice, lattice] + H[lattice, lattice].T) / 2
    return H


def _inner(system: System, state: State, pairs: Pairs) -> Floats:
    """The block of nodes and angles, with the mid-surface held in the middle of the nodes."""
    ca, sa = system.axes
    nodes, angles = len(state.q), len(state.angles)
    gP, gq, gangles = np.empty_like(state.q), np.empty_like(state.q), np.empty_like(state.angles)
    holonomy = state.holonomy.copy()
    evaluate(
        state.q, state.angles, state.lattice, ca, sa, system.yarns, system.frames, system.touch, system.size, pairs,
        holonomy, gP, gq, gangles, np.empty(4), np.empty(4),
    )  # fmt: skip
    found = node_blocks(
        state.q, state.angles, state.lattice, ca, sa, system.yarns, system.frames, system.touch, system.size, pairs,
        holonomy, gP,
    )  # fmt: skip
    size = found.values.shape[1]
    cube = np.zeros((nodes, size, nodes, size))
    cube[found.rows, :, found.columns, :] = found.values
    H = np.zeros((3 * nodes + angles,) * 2)
    H[: 3 * nodes, : 3 * nodes] = cube[:, :3, :, :3].reshape(3 * nodes, 3 * nodes)
    if angles:
        H[3 * nodes :, 3 * nodes :] = cube[:, 3, :, 3]
        H[: 3 * nodes, 3 * nodes :] = cube[:, :3, :, 3].reshape(3 * nodes, nodes)
        H[3 * nodes :, : 3 * nodes] = H[: 3 * nodes, 3 * nodes :].T
    else:
        along = found.holonomy.reshape(len(system.yarns.edge), 3 * nodes)
        H[: 3 * nodes, : 3 * nodes] += (along.T * (system.yarns.torsion / system.yarns.total)) @ along
    if state.lattice[3]:
        deep = np.arange(2, 3 * nodes, 3)
        H[deep] -= H[deep].mean(axis=0)
        H[:, deep] -= H[:, deep].mean(axis=1, keepdims=True)
    return H


def _lattice_column(system: System, state: State, scale: Floats, m: int, pairs: Pairs) -> Floats:
    x = packed(state)
    at = len(x) - 4 + m
    step = LATTICE_STEP / scale[m] * (0.1 if m == LATTICE.index("curvature") else 1.0)
    x[at] = step
    above = read_packed(system, state, x, scale, pairs).gradient
    x[at] = -step
    return (above - read_packed(system, state, x, scale, pairs).gradient) / (2 * step)


def translations(state: State) -> Floats:
    """Unit vectors (3, n) of the rigid translations in the packed unknowns."""
    rigid = np.zeros((3, packed(state).size))
    for axis in range(3):
        rigid[axis, axis : 3 * len(state.q) : 3] = 1 / np.sqrt(len(state.q))
    return rigid


@dataclass(frozen=True, slots=True, eq=False)
class Polish:
    """What the polish reached: the state, its reading, steps taken, steps refused by the guard, energies."""

    state: State
    reading: Reading
    steps: int
    refused: int
    history: tuple[float, ...]


def polished(
    system: System,
    start: State,
    free: tuple[bool, ...],
    *,
    tolerance: float = 1e-7,
    most_steps: int = 120,
    carry_on: Callable[[], bool] = lambda: True,
) -> Polish:
    """Take a state to its minimum until the largest packed gradient is below `tolerance`.

    `carry_on` is asked before every step; the polish ends when it says no.
    """
    state, radius, refused, shift = start, 1.0, 0, 0.0
    scale = scale_of(state, free)
    pairs = pairs_of(system, state)
    now = read(system, state, pairs, scale)
    history = [now.energy]
    steps = 0
    while steps < most_steps and np.abs(now.gradient).max() > tolerance and carry_on():
        H = hessian_of(system, state, scale, pairs)
        held = np.flatnonzero(scale == 0) + len(H) - 4
        H[held, held] = 1.0
        rigid = translations(state)
        H += HELD * rigid.T @ rigid
        taken = False
        while not taken and radius > 1e-9:
            step, shift = _step(H, now.gradient, radius, shift)
            far = float(np.abs(step[: 3 * len(state.q)]).max() + np.abs(scale * step[-4:])[:3].sum())
            if far > MOST_MOVE:
                radius = float(np.linalg.norm(step)) * MOST_MOVE / far * 0.9
                step, shift = _step(H, now.gradient, radius, shift)
                far = float(np.abs(step[: 3 * len(state.q)]).max() + np.abs(scale * step[-4:])[:3].sum())
                if far > 1.2 * MOST_MOVE:
                    step *= MOST_MOVE / far
            length = float(np.linalg.norm(step))
            promised = -float(now.gradient @ step + 0.5 * step @ (H @ step))
            trial = moved(replace(state, holonomy=now.holonomy), step, scale)
            if trial.lattice[0] <= 0 or trial.lattice[2] <= 0 or _pulls_through(system, state, trial, pairs):
                refused += 1
                radius = 0.3 * length
                continue
            trial_pairs = pairs_of(system, trial)
            then = read(system, trial, trial_pairs, scale)
            gain = now.energy - then.energy
            noise = 1e-13 * abs(now.energy)
            if gain < 0.05 * promised - noise:
                radius = 0.3 * length
                continue
            if gain > 0.75 * promised:
                radius = max(radius, 2.5 * length)
            elif gain < 0.25 * promised:
                radius = 0.5 * length
            state, pairs, now, taken = replace(trial, holonomy=then.holonomy), trial_pairs, then, True
        if not taken:
            break
        steps += 1
        history.append(now.energy)
    return Polish(state, now, steps, refused, tuple(history))


def _step(H: Floats, g: Floats, radius: float, shift: float) -> tuple[Floats, float]:
    """Minimiser of the quadratic model within the radius, and the shift of the Hessian that gave it."""
    size = np.abs(np.diagonal(H)).mean()
    low, shift = 0.0, max(0.0, 0.1 * shift)
    if shift < 1e-9 * size:
        shift = 0.0
    step = np.zeros_like(g)
    for _ in range(MOST_SHIFTS):
        shifted = H.copy()
        shifted[np.diag_indices_from(shifted)] += shift
        factor, info = dense.lapack.dpotrf(shifted, lower=1, overwrite_a=1)
        if info != 0:
            low = shift
            shift = max(4 * shift, 1e-6 * size)
            continue
        step = -dense.lapack.dpotrs(factor, g, lower=1)[0]
        length = float(np.linalg.norm(step))
        if length <= 1.1 * radius:
            if shift == 0.0 or length >= 0.6 * radius or shift - low < 0.3 * shift:
                return step, shift
            shift = low + 0.3 * (shift - low) if low > 0 else 0.2 * shift
            if shift < 1e-9 * size:
                shift = 0.0
            continue
        bent = dense.solve_triangular(factor, step, lower=True, check_finite=False)
        shift += (length / float(np.linalg.norm(bent))) ** 2 * (length - radius) / radius
    return step * min(1.0, radius / max(float(np.linalg.norm(step)), 1e-300)), shift


def _pulls_through(system: System, before: State, after: State, pairs: Pairs) -> bool:
    ca, sa = system.axes
    yarns, touch = system.yarns, system.touch
    _, yarn_of, _ = arcs(yarns.first, yarns.edge, touch.points)
    P0, points0 = placed(before.q, before.lattice, ca, sa, yarns, touch)
    P1, points1 = placed(after.q, after.lattice, ca, sa, yarns, touch)
    crosses: bool = passes_through(
        P0, before.lattice, P1, after.lattice, ca, sa, points0, points1, pairs, yarn_of, yarns.first, yarns.edge,
        touch.points,
    )  # fmt: skip
    return crosses
