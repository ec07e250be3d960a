"""Newton's method with a trust region: the polish that soft cloths need.

Ribs, garter and links structures have modes a million times softer than their stiffest; L-BFGS stops in them with
widths wrong by a tenth. Each step minimises the quadratic model within a radius: the stiffness is shifted until it can
be factored and the step fits (a handful of factorings), a node moves at most `MOST_MOVE`, and the guard refuses a step
that would pull yarn through yarn. Source: mechanics reference, section 4; step after Moré and Sorensen (1983), from
memory.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from loopwright.mechanics.kernels.descent import MOST_MOVE, placed
from loopwright.mechanics.kernels.guard import passes_through
from loopwright.mechanics.kernels.repeat import Floats, Pairs, arcs
from loopwright.mechanics.state import Reading, State, System, moved, pairs_of, read, scale_of
from loopwright.mechanics.stiffness import Curvature, Kept, curvature_of, factored
from loopwright.mechanics.threads import one_thread

MOST_SHIFTS = 40
SMALLEST_RADIUS = 1e-9
NOISE = 1e-13  # relative change of energy that rounding can bring


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


@dataclass(slots=True, eq=False)
class _Descent:
    """A polish on its way: the last accepted state with its neighbours and reading, radius of trust, shift, counts."""

    system: System
    scale: Floats
    kept: Kept | None
    state: State
    pairs: Pairs
    now: Reading
    radius: float = 1.0
    shift: float = 0.0
    refused: int = 0

    def advance(self) -> bool:
        """Take one step; False when none within the smallest radius lowers the energy."""
        H, g = curvature_of(self.system, self.state, self.scale, self.pairs), self.now.gradient
        if self.kept is not None:
            H, g = H.within(self.kept), _inward(g, self.kept)
        while self.radius > SMALLEST_RADIUS:
            if self._try(H, g):
                return True
        return False

    def _try(self, H: Curvature, g: Floats) -> bool:
        """Try the step of the present radius; without success the radius shrinks."""
        step, full = self._fitting(H, g)
        length = float(np.linalg.norm(step))
        trial = moved(replace(self.state, holonomy=self.now.holonomy), full, self.scale)
        if min(trial.lattice[0], trial.lattice[2]) <= 0 or _pulls_through(self.system, self.state, trial, self.pairs):
            self.refused += 1
            self.radius = 0.3 * length
            return False
        pairs = pairs_of(self.system, trial)
        then = read(self.system, trial, pairs, self.scale)
        promised = -float(g @ step + 0.5 * step @ H.times(step))
        gain = self.now.energy - then.energy
        if gain < 0.05 * promised - NOISE * abs(self.now.energy):
            self.radius = 0.3 * length
            return False
        if gain > 0.75 * promised:
            self.radius = max(self.radius, 2.5 * length)
        elif gain < 0.25 * promised:
            self.radius = 0.5 * length
        self.state, self.pairs, self.now = replace(trial, holonomy=then.holonomy), pairs, then
        return True

    def _fitting(self, H: Curvature, g: Floats) -> tuple[Floats, Floats]:
        """The model's step, in the unknowns of H and in all, with no node moved further than `MOST_MOVE`."""
        step, full = self._step(H, g)
        far = self._farthest(full)
        if far > MOST_MOVE:
            self.radius = float(np.linalg.norm(step)) * MOST_MOVE / far * 0.9
            step, full = self._step(H, g)
            far = self._farthest(full)
        if far > 1.2 * MOST_MOVE:
            step, full = step * (MOST_MOVE / far), full * (MOST_MOVE / far)
        return step, full

    def _step(self, H: Curvature, g: Floats) -> tuple[Floats, Floats]:
        step, self.shift = model_step(H, g, self.radius, self.shift)
        return step, step if self.kept is None else np.concatenate([self.kept.basis @ step[:-4], step[-4:]])

    def _farthest(self, full: Floats) -> float:
        """Largest move of a node that a step of all unknowns brings, diameters."""
        nodes = full[: 3 * len(self.state.q)]
        return float(np.abs(nodes).max() + np.abs(self.scale * full[-4:])[:3].sum())


def _polished(
    system: System,
    start: State,
    free: tuple[bool, ...],
    tolerance: float,
    most_steps: int,
    kept: Kept | None,
    carry_on: Callable[[], bool],
) -> Polish:
    scale, pairs = scale_of(start, free), pairs_of(system, start)
    run = _Descent(system, scale, kept, start, pairs, read(system, start, pairs, scale))
    history = [run.now.energy]
    while len(history) <= most_steps and _left(run.now.gradient, kept) > tolerance and carry_on():
        if not run.advance():
            break
        history.append(run.now.energy)
    return Polish(run.state, run.now, len(history) - 1, run.refused, tuple(history))


def _left(gradient: Floats, kept: Kept | None) -> float:
    """Largest component of the gradient along the moves that may be made."""
    return float(np.abs(gradient if kept is None else _inward(gradient, kept)).max())


def _inward(g: Floats, kept: Kept) -> Floats:
    return np.concatenate([kept.basis.T @ g[:-4], g[-4:]])


def model_step(H: Curvature, g: Floats, radius: float, shift: float) -> tuple[Floats, float]:
    """Minimiser of the quadratic model within the radius, and the shift of the matrix that gave it."""
    size = float(np.abs(H.inner.diagonal()).mean())
    low, shift = 0.0, max(0.0, 0.1 * shift)
    if shift < 1e-9 * size:
        shift = 0.0
    step = np.zeros_like(g)
    for _ in range(MOST_SHIFTS):
        solve = factored(H, shift)
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
