"""How a relaxed cloth answers: moduli, stretch, curl, lean, bending.

In: a `Relaxed` repeat. Out: small frozen results in units of d and B (tension in B/d³ per width, moment in B/d² per
width, curvature in 1/d). Tension is the force per undeformed width, as a strip test has it. Curl: the moment of the
flat cloth, and the curvature it takes when it is let go in one direction (with set; without, only a bound). Lean: half
the difference between the solutions with positive and negative residual twist, so that a spontaneous lean drops out.
Not covered: hysteresis, recovery, bagging (the model has none). Source: mechanics reference, sections 4, 8 and 11.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from loopwright.mechanics.balance import is_balanced
from loopwright.mechanics.fields import TENSIONS
from loopwright.mechanics.kernels.repeat import Floats
from loopwright.mechanics.newton import polished
from loopwright.mechanics.relax import LEANING, UPRIGHT, always, descended, kept_of, symmetric
from loopwright.mechanics.result import Relaxed
from loopwright.mechanics.setting import with_set
from loopwright.mechanics.state import State, System, pairs_of, read, scale_of
from loopwright.mechanics.stiffness import Curvature, curvature_of, factored
from loopwright.mechanics.threads import one_thread

CarryOn = Callable[[], bool]
SIDES, ENDS = 0.0, math.pi / 2  # direction of bending: along the courses (side edges roll), along the wales (ends)
FIRST_STRAIN, MOST_STRAIN_STEP = 0.01, 0.12
TENSION_STEP = 0.12  # wanted rise of tension between two states of a stretch curve, B/d³
LOCK_FROM = 0.1  # tension (B/d³) above which a fall means that loops give way; below it a soft cloth may snap over
LOCK_DROP = 0.7  # a tension that falls below this share of the last one: the loops give way
RIGID = 3  # translations of a flat cloth


@dataclass(frozen=True, slots=True)
class Moduli:
    """Small-strain stiffness: per width in B/d³, bending in B/d, and the sideways contractions."""

    width: float
    length: float
    shear: float
    contraction_of_length: float
    contraction_of_width: float


@dataclass(frozen=True, slots=True, eq=False)
class Stretched:
    """One direction of stretch: strains at `TENSIONS` (nan past the lock), the curve, and how it ended.

    `sideways` is the strain across at the same tensions. `states` are the cloth at the tensions that were reached.
    """

    strains: tuple[float, ...]
    sideways: tuple[float, ...]
    curve: tuple[tuple[float, float, float], ...]
    ended: str
    states: tuple[State, ...]


@dataclass(frozen=True, slots=True)
class Curl:
    """Curl of one direction: moment of the flat cloth (B/d²), curvature when let go (1/d), bending stiffness (B/d).

    Positive curvature is convex toward the face: the edges go to the back. `is_bound` says that the roll is stopped by
    contact: it cannot be tighter, and may be slacker. Zero by symmetry gives 0, 0.
    """

    moment: float
    curvature: float
    stiffness: float
    is_bound: bool
    is_settled: bool


def moduli_of(answer: Relaxed) -> Moduli:
    """Moduli of the rest state: shear, width and length free, everything else relaxed."""
    compliance = np.linalg.inv(_condensed(answer.system, answer.state, LEANING))
    width, _, height, _ = (float(each) for each in answer.state.lattice)
    return Moduli(
        width=width / (compliance[0, 0] * height),
        length=height / (compliance[2, 2] * width),
        shear=(height / width) / compliance[1, 1],
        contraction_of_length=-(compliance[0, 2] / height) / (compliance[0, 0] / width),
        contraction_of_width=-(compliance[0, 2] / width) / (compliance[2, 2] / height),
    )


def _condensed(system: System, state: State, free: tuple[bool, ...]) -> Floats:
    """Stiffness (m, m) on the free lattice unknowns with all nodes and angles relaxed."""
    scale = scale_of(state, free)
    H = curvature_of(system, state, scale)
    with one_thread():
        relaxing = _relaxing(H)
    units = scale[scale > 0]
    condensed: Floats = (H.corner - H.border.T @ relaxing) / np.outer(units, units)
    return condensed


def _relaxing(H: Curvature) -> Floats:
    """How nodes and angles answer the lattice columns: by factors at a minimum, else by modes without translations."""
    n = len(H.border)
    alone = replace(H, border=np.zeros((n, 0)), corner=np.zeros((0, 0)), free=np.empty(0, np.int64))
    solve = factored(alone, 0.0)
    if solve is not None:
        return np.column_stack([solve(np.concatenate([column, np.zeros(4)]))[:n] for column in H.border.T])
    values, vectors = np.linalg.eigh(alone.dense()[:n, :n])
    keep = np.argsort(np.abs(values))[RIGID:]
    moves = vectors[:, keep]
    answer: Floats = moves @ ((moves.T @ H.border) / values[keep][:, None])
    return answer


def curl_moment(system: System, state: State, alpha: float) -> float:
    """Moment per width (B/d²) that the flat cloth puts up in a direction; negative wants its edges at the back."""
    bent = replace(system, alpha=alpha)
    forces = read(bent, state).forces
    return float(forces[3] / (state.lattice[0] * state.lattice[2]))


def curl_of(answer: Relaxed, alpha: float, share: float, *, carry_on: CarryOn = always) -> Curl:
    """Curl of a cloth whose yarn is set to `share` in its rest state; of a balanced structure it is zero by rule."""
    system, state = with_set(answer.system, answer.state, share)
    system = replace(system, alpha=alpha)
    state = polished(system, state, UPRIGHT, tolerance=1e-6, most_steps=40, carry_on=carry_on).state
    if is_balanced(answer.repeat.structure.notation):
        return Curl(0.0, 0.0, bending_stiffness(system, state), is_bound=False, is_settled=True)
    moment = curl_moment(system, state, alpha)
    free = (True, False, True, True)
    stiffness = bending_stiffness(system, state)
    tightest = 1 / (answer.form.depth / 2 + 1)
    guess = -moment / stiffness if stiffness > 0 else -math.copysign(tightest, moment)
    curvature = math.copysign(min(abs(guess), 0.5 * tightest), guess)
    at = state
    for target in np.linspace(0, curvature, max(2, math.ceil(abs(curvature) / 0.02) + 1))[1:]:
        at, *_ = descended(system, at.with_lattice(curvature=float(target)), UPRIGHT, 60, 1e-3)
    polish = polished(system, at, free, tolerance=1e-6, most_steps=80, carry_on=carry_on)
    reached = float(polish.state.lattice[3])
    is_settled = float(np.abs(polish.reading.gradient).max()) < 1e-4
    is_bound = abs(reached) > 0.85 * tightest
    return Curl(moment, reached, stiffness, is_bound, is_settled)


def bending_stiffness(system: System, state: State) -> float:
    """Bending stiffness per width (B/d) of the flat cloth in the direction of the system, all else relaxed."""
    compliance = np.linalg.inv(_condensed(system, state, (True, True, True, True)))
    return float(1 / (compliance[3, 3] * state.lattice[0] * state.lattice[2]))


def lean_of(answer: Relaxed, turns_per_loop: float, share: float = 0.0, *, carry_on: CarryOn = always) -> float:
    """Lean of the wales (degrees, right positive) that a residual twist of so many turns per loop brings.

    Positive turns mean a Z-lively yarn. Balanced structures don't lean: zero by rule.
    """
    if is_balanced(answer.repeat.structure.notation):
        return 0.0
    loops = answer.system.yarns.total / answer.repeat.loop_over_diameter
    leans = []
    for way in (1.0, -1.0):
        residual = np.array(-2 * math.pi * way * turns_per_loop * np.round(np.maximum(loops, 1.0)))
        system = replace(answer.system, yarns=answer.system.yarns._replace(residual=residual))
        state = answer.state
        if share:
            system, state = with_set(answer.system, answer.state, share, residual=residual)
        state, *_ = descended(system, state, LEANING, 150, 1e-4)
        polish = polished(system, state, LEANING, tolerance=1e-6, most_steps=60, carry_on=carry_on)
        leans.append(math.degrees(math.atan2(polish.state.lattice[1], polish.state.lattice[2])))
    return (leans[0] - leans[1]) / 2


def stretch_of(
    answer: Relaxed,
    along: str,
    tensions: Sequence[float] = TENSIONS,
    *,
    carry_on: CarryOn = always,
) -> Stretched:
    """Pull the cloth in "width" or "length", the other direction free, up to the last tension or until it locks."""
    system, start = answer.system, answer.state
    pulled, across = (0, 2) if along == "width" else (2, 0)
    free = (along != "width", False, along == "width", False)
    other = float(start.lattice[across])
    curve, states = [(0.0, 0.0, 0.0)], [start]
    kept = kept_of(answer.mirror)
    state, strain, step, ended = start, 0.0, FIRST_STRAIN, "all tensions reached"
    while curve[-1][1] < tensions[-1]:
        if not carry_on():
            ended = "stopped"
            break
        strain += step
        name = "width" if along == "width" else "height"
        held = state.with_lattice(**{name: float(start.lattice[pulled]) * (1 + strain)})
        held, *_ = descended(system, held, free, 120, 1e-3)
        held = symmetric(held, answer.mirror)
        polish = polished(system, held, free, tolerance=1e-5, most_steps=30, kept=kept, carry_on=carry_on)
        state = polish.state
        tension = float(read(system, state, pairs_of(system, state)).forces[pulled]) / other
        if curve[-1][1] > LOCK_FROM and tension < LOCK_DROP * curve[-1][1]:
            ended = f"the loops give way at {100 * strain:.0f} % strain"
            break
        curve.append((strain, tension, float(state.lattice[across]) / other - 1))
        states.append(state)
        slope = (tension - curve[-2][1]) / step
        step = min(MOST_STRAIN_STEP, max(FIRST_STRAIN, TENSION_STEP / max(slope, 1e-6) * 0.7))
        if tension < 0.03:
            step = min(step, 0.04)
        if strain > 6:
            ended = "never locked"
            break
    strains, sideways, chosen = _at_tensions(curve, states, tensions)
    return Stretched(strains, sideways, tuple(curve), ended, chosen)


def _at_tensions(
    curve: Sequence[tuple[float, float, float]], states: Sequence[State], tensions: Sequence[float]
) -> tuple[tuple[float, ...], tuple[float, ...], tuple[State, ...]]:
    strain, tension, side = (np.array(each) for each in zip(*curve, strict=True))
    rising = np.maximum.accumulate(tension)
    reached = [each for each in tensions if each <= rising[-1]]
    at = [float(np.interp(each, rising, strain)) for each in reached]
    sideways = [float(np.interp(each, strain, side)) for each in at]
    missing = (math.nan,) * (len(tensions) - len(reached))
    chosen = tuple(states[int(np.abs(strain - each).argmin())] for each in at)
    return (*at, *missing), (*sideways, *missing), chosen
