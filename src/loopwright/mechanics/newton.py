"""Newton's method with a trust region: the polish that soft cloths need.

Ribs, garter and links structures have modes a million times softer than their stiffest; L-BFGS stops in them with
widths wrong by a tenth. Each step minimises the quadratic model within a radius: the Hessian is shifted until it can be
factored and the step fits (a handful of Cholesky factorings), rigid translations are held, a node moves at most
`MOST_MOVE`, and the guard refuses a step that would pull yarn through yarn. Large repeats use sparse factors.
Source: mechanics reference, section 4; step after Moré and Sorensen (1983), from memory.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
import scipy.linalg as dense
import scipy.sparse as sparse
import scipy.sparse.linalg as linalg
from numpy.typing import NDArray

from loopwright.mechanics.kernels.descent import MOST_MOVE, placed
from loopwright.mechanics.kernels.guard import passes_through
from loopwright.mechanics.kernels.hessian import node_blocks
from loopwright.mechanics.kernels.repeat import Floats, Pairs, arcs, evaluate
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
from loopwright.mechanics.threads import one_thread

LATTICE_STEP = 1e-5  # diameters: step of the differences of the lattice columns
GROUND, HELD = (0, 1, 2), 1.0  # the node that stands still against translation, and the stiffness that holds it
DENSE_UNKNOWNS = 420  # up to here dense factors are quicker than sparse ones
MOST_SHIFTS = 40
SOFTEST = 1e-7  # stiffness (B/d³) below which a mode counts as neither stable nor unstable


@dataclass(frozen=True, slots=True, eq=False)
class Curvature:
    """Second derivatives on the packed unknowns, in pieces.

    `inner` (n, n) sparse on nodes and angles; `twist` (R, n) the holonomy's derivative of each yarn with its
    `stiffness` (R,), which adds twistᵀ·stiffness·twist; `border` (n, m) and `corner` (m, m) for the free lattice
    unknowns `free`.
    """

    inner: sparse.csc_matrix
    twist: Floats
    stiffness: Floats
    border: Floats
    corner: Floats
    free: NDArray[np.int64]
    ground: tuple[int, ...] = GROUND

    def within(self, kept: Kept) -> Curvature:
        """The same on the kept moves only."""
        basis = kept.basis
        return replace(
            self,
            inner=(basis.T @ self.inner @ basis).tocsc(),
            twist=self.twist @ basis,
            border=basis.T @ self.border,
            ground=kept.drifting,
        )

    def dense(self) -> Floats:
        """The whole matrix (n + 4, n + 4); rows of held lattice unknowns are zero."""
        n = self.inner.shape[0]
        H = np.zeros((n + 4, n + 4))
        H[:n, :n] = self.inner.toarray() + (self.twist.T * self.stiffness) @ self.twist
        at = n + self.free
        H[:n, at], H[at, :n] = self.border, self.border.T
        H[np.ix_(at, at)] = self.corner
        return H

    def times(self, x: Floats) -> Floats:
        """The matrix times a packed vector."""
        n = self.inner.shape[0]
        y = np.zeros_like(x)
        y[:n] = self.inner @ x[:n] + self.twist.T @ (self.stiffness * (self.twist @ x[:n]))
        y[:n] += self.border @ x[n + self.free]
        y[n + self.free] = self.border.T @ x[:n] + self.corner @ x[n + self.free]
        return y


@dataclass(frozen=True, slots=True, eq=False)
class Kept:
    """Moves that a polish may make: orthonormal columns (n, M) over nodes and angles, and axes free to translate."""

    basis: sparse.csc_matrix
    drifting: tuple[int, ...]


def curvature_of(system: System, state: State, scale: Floats, pairs: Pairs | None = None) -> Curvature:
    """Second derivatives on (nodes, angles, lattice) with the state's own lattice as the reference."""
    near = pairs_of(system, state) if pairs is None else pairs
    inner, twist = _inner(system, state, near)
    free, n = np.flatnonzero(scale), inner.shape[0]
    columns = np.array([_lattice_column(system, state, scale, int(m), near) for m in free]).reshape(len(free), n + 4)
    corner = columns[:, n + free]
    stiffness = (system.yarns.torsion / system.yarns.total)[: len(twist)]
    return Curvature(inner, twist, stiffness, columns[:, :n].T, (corner + corner.T) / 2, free)


def _inner(system: System, state: State, pairs: Pairs) -> tuple[sparse.csc_matrix, Floats]:
    """The block of nodes and angles, with the mid-surface held in the middle of the nodes, and the twist vectors."""
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
    place = np.arange(size)
    place[3:] = 3 * nodes
    rows = np.where(place < 3, 3 * found.rows[:, None] + place, found.rows[:, None] + place)
    columns = np.where(place < 3, 3 * found.columns[:, None] + place, found.columns[:, None] + place)
    shape = found.values.shape
    entries = (np.broadcast_to(rows[:, :, None], shape).ravel(), np.broadcast_to(columns[:, None, :], shape).ravel())
    total = 3 * nodes + angles
    inner = sparse.csc_matrix((found.values.ravel(), entries), shape=(total, total))
    if state.lattice[3]:
        inner = sparse.csc_matrix(_with_middle_held(inner.toarray(), nodes))
    twist = np.zeros((0, total)) if system.has_set else found.holonomy.reshape(len(system.yarns.edge), total)
    return inner, twist


def _with_middle_held(H: Floats, nodes: int) -> Floats:
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
    below = read_packed(system, state, x, scale, pairs).gradient
    column: Floats = (above - below) / (2 * step)
    return column


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
    kept: Kept | None = None,
    carry_on: Callable[[], bool] = lambda: True,
) -> Polish:
    """Take a state to its minimum until the largest packed gradient is below `tolerance`.

    `kept` restricts the moves of nodes and angles (a symmetry). `carry_on` is asked before every step; the polish ends
    when it says no.
    """
    with one_thread():
        return _polished(system, start, free, tolerance, most_steps, kept, carry_on)


def _polished(
    system: System,
    start: State,
    free: tuple[bool, ...],
    tolerance: float,
    most_steps: int,
    kept: Kept | None,
    carry_on: Callable[[], bool],
) -> Polish:
    state, radius, refused, shift = start, 1.0, 0, 0.0
    scale = scale_of(state, free)
    pairs = pairs_of(system, state)
    now = read(system, state, pairs, scale)
    history = [now.energy]
    steps = 0
    while steps < most_steps and _left(now.gradient, kept) > tolerance and carry_on():
        H, g = curvature_of(system, state, scale, pairs), now.gradient
        if kept is not None:
            H, g = H.within(kept), _inward(g, kept)
        taken = False
        while not taken and radius > 1e-9:
            step, shift, full = _moved_by(H, g, radius, shift, kept)
            far = float(np.abs(full[: 3 * len(state.q)]).max() + np.abs(scale * full[-4:])[:3].sum())
            if far > MOST_MOVE:
                radius = float(np.linalg.norm(step)) * MOST_MOVE / far * 0.9
                step, shift, full = _moved_by(H, g, radius, shift, kept)
                far = float(np.abs(full[: 3 * len(state.q)]).max() + np.abs(scale * full[-4:])[:3].sum())
                if far > 1.2 * MOST_MOVE:
                    step, full = step * (MOST_MOVE / far), full * (MOST_MOVE / far)
            length = float(np.linalg.norm(step))
            promised = -float(g @ step + 0.5 * step @ H.times(step))
            trial = moved(replace(state, holonomy=now.holonomy), full, scale)
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


def _left(gradient: Floats, kept: Kept | None) -> float:
    """Largest component of the gradient along the moves that may be made."""
    return float(np.abs(gradient if kept is None else _inward(gradient, kept)).max())


def _inward(g: Floats, kept: Kept) -> Floats:
    return np.concatenate([kept.basis.T @ g[:-4], g[-4:]])


def _moved_by(H: Curvature, g: Floats, radius: float, shift: float, kept: Kept | None) -> tuple[Floats, float, Floats]:
    """A step in the unknowns of H, its shift, and the step of all unknowns."""
    step, shift = _step(H, g, radius, shift)
    if kept is None:
        return step, shift, step
    return step, shift, np.concatenate([kept.basis @ step[:-4], step[-4:]])


def is_minimum(system: System, state: State, free: tuple[bool, ...]) -> bool:
    """Whether every small move, of any symmetry, raises the energy."""
    H = curvature_of(system, state, scale_of(state, free))
    return _factored(H, SOFTEST) is not None


Solve = Callable[[Floats], Floats]


def _factored(H: Curvature, shift: float) -> Solve | None:
    """How to solve with the shifted matrix, held against translation; None when it isn't positive."""
    if H.inner.shape[0] <= DENSE_UNKNOWNS:
        return _dense_factor(H, shift)
    return _sparse_factor(H, shift)


def _dense_factor(H: Curvature, shift: float) -> Solve | None:
    n = H.inner.shape[0]
    matrix = H.dense()
    matrix[np.diag_indices_from(matrix)] += shift
    held = np.setdiff1d(np.arange(4), H.free) + n
    matrix[held, held] = 1.0
    matrix[list(H.ground), list(H.ground)] += HELD
    factor, info = dense.lapack.dpotrf(matrix, lower=1, overwrite_a=1)
    if info != 0:
        return None

    def solve(b: Floats) -> Floats:
        answer: Floats = dense.lapack.dpotrs(factor, b, lower=1)[0]
        answer[held] = 0.0
        return answer

    return solve


def _sparse_factor(H: Curvature, shift: float) -> Solve | None:
    """Sparse factors of the nodes; twist vectors and lattice columns are taken in through small dense systems."""
    n, free = H.inner.shape[0], H.free
    diagonal = np.full(n, shift)
    diagonal[list(H.ground)] += HELD
    options = {"SymmetricMode": True}
    try:
        lu = linalg.splu(
            (H.inner + sparse.diags(diagonal)).tocsc(),
            permc_spec="MMD_AT_PLUS_A",
            diag_pivot_thresh=0.0,
            options=options,
        )
    except RuntimeError:  # a pivot of exactly zero
        return None
    if (lu.U.diagonal() <= 0).any() or (lu.perm_r != lu.perm_c).any():
        return None
    over = lu.solve(np.ascontiguousarray(H.twist.T))
    small = np.diag(1 / H.stiffness) + H.twist @ over

    def inner_solve(b: Floats) -> Floats:
        plain: Floats = lu.solve(b)
        return plain - over @ np.linalg.solve(small, H.twist @ plain) if len(H.twist) else plain

    across = inner_solve(np.ascontiguousarray(H.border)) if len(free) else H.border
    schur = H.corner + shift * np.eye(len(free)) - H.border.T @ across
    if len(free) and np.linalg.eigvalsh(schur)[0] <= 0:
        return None

    def solve(b: Floats) -> Floats:
        answer = np.zeros_like(b)
        inner = inner_solve(b[:n])
        if len(free):
            outer = np.linalg.solve(schur, b[n + free] - H.border.T @ inner)
            answer[n + free] = outer
            inner = inner - across @ outer
        answer[:n] = inner
        return answer

    return solve


def _step(H: Curvature, g: Floats, radius: float, shift: float) -> tuple[Floats, float]:
    """Minimiser of the quadratic model within the radius, and the shift of the matrix that gave it."""
    size = float(np.abs(H.inner.diagonal()).mean())
    low, shift = 0.0, max(0.0, 0.1 * shift)
    if shift < 1e-9 * size:
        shift = 0.0
    step = np.zeros_like(g)
    for _ in range(MOST_SHIFTS):
        solve = _factored(H, shift)
        if solve is None:
            low = shift
            shift = max(4 * shift, 1e-6 * size)
            continue
        step = -solve(g)
        length = float(np.linalg.norm(step))
        if length <= 1.1 * radius:
            if shift == 0.0 or length >= 0.5 * radius or shift - low < 0.5 * shift:
                return step, shift
            shift = low + 0.3 * (shift - low) if low > 0 else 0.2 * shift
            if shift < 1e-9 * size:
                shift = 0.0
            continue
        slope = -float(step @ solve(step)) / length
        low_next = shift
        shift += (length - radius) * length / (-slope * radius)
        low = max(low, low_next)
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
