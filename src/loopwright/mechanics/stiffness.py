"""The stiffness of a state: second derivatives of its energy on the packed unknowns, and solving with them.

In: a system and a state. Out: `Curvature`: sparse blocks of nodes and angles, one vector of twist per yarn, a few
columns of the lattice; `factored` solves with it, shifted, in dense or sparse form. `Kept` restricts the moves to a
symmetry. Source: mechanics reference, section 4.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
import scipy.linalg as dense
import scipy.sparse as sparse
import scipy.sparse.linalg as linalg
from numpy.typing import NDArray

from loopwright.mechanics.kernels.hessian import node_blocks
from loopwright.mechanics.kernels.repeat import Floats, Pairs, evaluate
from loopwright.mechanics.state import LATTICE, State, System, packed, pairs_of, read_packed, scale_of

LATTICE_STEP = 1e-5  # diameters: step of the differences of the lattice columns
GROUND, HELD = (0, 1, 2), 1.0  # the node that stands still against translation, and the stiffness that holds it
DENSE_UNKNOWNS = 420  # up to here dense factors are quicker than sparse ones
MODES_UP_TO = 1500  # unknowns up to which a falling mode is looked for
FALLING = 1e-6  # stiffness (B/d³) that a mode must fall below 0 by, to be no rounding
SOFTEST = 1e-7  # stiffness (B/d³) below which a mode counts as neither stable nor unstable


@dataclass(frozen=True, slots=True, eq=False)
class Curvature:
    """Second derivatives on the packed unknowns, in pieces.

    `inner` (n, n) sparse on nodes and angles. `low` (r, n) with `weight` (r, r) adds lowᵀ·weight·low: the holonomy of
    each sliding yarn and, on a bent cloth, what holds the mid-surface in the middle of the nodes. `border` (n, m) and
    `corner` (m, m) for the free lattice unknowns `free`. `ground`: unknowns held against translation.
    """

    inner: sparse.csc_matrix
    low: Floats
    weight: Floats
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
            low=self.low @ basis,
            border=basis.T @ self.border,
            ground=kept.drifting,
        )

    def dense(self) -> Floats:
        """The whole matrix (n + 4, n + 4); rows of held lattice unknowns are zero."""
        n = self.inner.shape[0]
        H = np.zeros((n + 4, n + 4))
        H[:n, :n] = self.inner.toarray() + self.low.T @ self.weight @ self.low
        at = n + self.free
        H[:n, at], H[at, :n] = self.border, self.border.T
        H[np.ix_(at, at)] = self.corner
        return H

    def times(self, x: Floats) -> Floats:
        """The matrix times a packed vector."""
        n = self.inner.shape[0]
        y = np.zeros_like(x)
        y[:n] = self.inner @ x[:n] + self.low.T @ (self.weight @ (self.low @ x[:n]))
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
    inner, holonomy = _inner(system, state, near)
    free, n = np.flatnonzero(scale), inner.shape[0]
    columns = np.array([_lattice_column(system, state, scale, int(m), near) for m in free]).reshape(len(free), n + 4)
    corner = columns[:, n + free]
    low, weight = holonomy, np.diag((system.yarns.torsion / system.yarns.total)[: len(holonomy)])
    if state.lattice[3]:
        low, weight = _with_middle_held(inner, len(state.q), low, weight)
    return Curvature(inner, low, weight, columns[:, :n].T, (corner + corner.T) / 2, free)


def _inner(system: System, state: State, pairs: Pairs) -> tuple[sparse.csc_matrix, Floats]:
    """The block of nodes and angles, as if the mid-surface stayed, and the vectors of twist."""
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
    holonomy_of = np.zeros((0, total)) if system.has_set else found.holonomy.reshape(len(system.yarns.edge), total)
    return inner, holonomy_of


def _with_middle_held(inner: sparse.csc_matrix, nodes: int, low: Floats, weight: Floats) -> tuple[Floats, Floats]:
    """The two vectors that turn H into C·H·C, where C takes the mean of w away: e over all w, and H·e."""
    even = np.zeros(inner.shape[0])
    even[2 : 3 * nodes : 3] = 1 / np.sqrt(nodes)
    pulled = inner @ even
    along = np.array([[float(even @ pulled), -1.0], [-1.0, 0.0]])
    more = np.zeros((len(weight) + 2,) * 2)
    more[: len(weight), : len(weight)], more[-2:, -2:] = weight, along
    return np.vstack([low, even, pulled]), more


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


Solve = Callable[[Floats], Floats]


def factored(H: Curvature, shift: float) -> Solve | None:
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
    """Sparse factors of the nodes; vectors of low rank and lattice columns are taken in through small dense systems."""
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
    over = lu.solve(np.ascontiguousarray(H.low.T))
    small = np.linalg.inv(H.weight) + H.low @ over

    def inner_solve(b: Floats) -> Floats:
        plain: Floats = lu.solve(b)
        return plain - over @ np.linalg.solve(small, H.low @ plain) if len(H.low) else plain

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


def falling_mode(system: System, state: State, free: tuple[bool, ...], kept: Kept | None) -> Floats | None:
    """The packed move, largest component 1, along which the energy falls fastest from rest; None at a minimum.

    Only moves that are `kept` count. A mode is looked for where the shifted stiffness cannot be factored.
    """
    H = curvature_of(system, state, scale_of(state, free))
    within = H if kept is None else H.within(kept)
    if factored(within, SOFTEST) is not None or within.inner.shape[0] > MODES_UP_TO:
        return None
    matrix = within.dense()
    held = np.setdiff1d(np.arange(4), within.free) + within.inner.shape[0]
    matrix[held, held] = HELD
    values, vectors = dense.eigh(matrix, subset_by_index=[0, 0])
    if values[0] > -FALLING:
        return None
    mode: Floats = vectors[:, 0]
    if kept is not None:
        mode = np.concatenate([kept.basis @ mode[:-4], mode[-4:]])
    longest: Floats = mode / np.abs(mode).max()
    return longest


def is_minimum(system: System, state: State, free: tuple[bool, ...]) -> bool:
    """Whether every small move, of any symmetry, raises the energy."""
    H = curvature_of(system, state, scale_of(state, free))
    return factored(H, SOFTEST) is not None
