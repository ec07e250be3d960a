"""Relax a structure: from its needle notation to the rest state of one repeat of yarn.

In: structure, loop length over diameter, yarn. Out: `Relaxed`, with status and message. A start is untangled with thin
yarn that grows to its thickness while its length goes from the drawn one to the knitted one (ramp), goes downhill and
is polished. Two starts that differ are taken and the lowest sound state kept; the others are told. Tight cloths can be
reached from a slacker one in small steps (`tightened`).
Assumption: no friction, no set: the limit of relaxation. Without residual twist the cloth is held upright (S = 0): a
frictionless rib would break its symmetry and lean. Source: mechanics reference, section 4.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np

from loopwright.mechanics.interlacing import faults_of
from loopwright.mechanics.kernels.descent import downhill, spread_out
from loopwright.mechanics.kernels.repeat import Floats, Touch
from loopwright.mechanics.loops import NODES_PER_DIAMETER, Material, Repeat, repeat_of
from loopwright.mechanics.mirror import Mirror, mirrors_of
from loopwright.mechanics.newton import Polish, polished
from loopwright.mechanics.result import (
    FELL_APART,
    FORCE_FREE,
    JAM_MATTERS_FROM,
    JAMMED_SHARE,
    MOST_STRAIN,
    SAME_ENERGY,
    Relaxed,
    Status,
)
from loopwright.mechanics.state import TOUCH, State, System, moved, packed, scale_of
from loopwright.mechanics.stiffness import Kept, falling_mode, is_minimum
from loopwright.structure.library import Structure

CarryOn = Callable[[], bool]

# thickness of the yarn, part of the way from the drawn length that is still to go, most steps, gradient to stop at
RAMP = ((0.4, 0.8, 100, 1e-3), (0.55, 0.6, 100, 1e-3), (0.7, 0.4, 100, 1e-3), (0.85, 0.2, 100, 1e-3))
DOWNHILL_STEPS, DOWNHILL_TOLERANCE = 400, 1e-4
POLISH_STEPS = 400
MOST_PUSHES, PUSH = 3, 0.15  # how often a saddle is left, and by how much (largest node move, diameters)
TIE = 1e-7  # relative difference of energy that decides nothing: the first start then counts
UNTANGLED = 0.1  # a start that ends so much higher than another has not untangled: it is no rest state of the cloth
TIGHTEN = 0.03  # yarn taken out per step of a continuation
UPRIGHT = (True, False, True, False)  # width and height free; no shear, no curvature
LEANING = (True, True, True, False)
KEPT_SYMMETRIC = "at rest, kept alike on both sides; without friction it could still gain a little by leaving that"


def always() -> bool:
    """Carry on."""
    return True


def relaxed(
    structure: Structure,
    loop_over_diameter: float,
    material: Material | None = None,
    *,
    touch: Touch = TOUCH,
    density: float = NODES_PER_DIAMETER,
    starts: Sequence[bool] = (False, True),
    carry_on: CarryOn = always,
) -> Relaxed:
    """The rest state of a structure.

    Args:
        structure: any structure whose feeds all take a loop.
        loop_over_diameter: knit loop length over yarn diameter; plain jams at 16.7.
        material: the yarn.
        touch: how yarns touch.
        density: nodes per diameter of yarn.
        starts: which starting forms to take, from the structure's own constants (False) or from plain's (True).
        carry_on: asked between steps; the answer no ends the work with the status "stopped".

    Raises:
        Problem: nothing is cloth at this loop length, or a feed takes no loop.
    """
    found = [
        from_start(
            repeat_of(structure, loop_over_diameter, material, generic=generic, density=density), touch, carry_on
        )
        for generic in starts
    ]
    return best_of(found)


def best_of(found: Sequence[Relaxed]) -> Relaxed:
    """The sound state of lowest energy, with the others told."""
    sound = [each for each in found if each.is_sound]
    if not sound:
        return min(found, key=lambda each: each.energy)
    lowest = min(each.energy for each in sound)
    best = next(each for each in sound if each.energy <= lowest + TIE * abs(lowest))
    apart = [each for each in sound if SAME_ENERGY < each.energy / best.energy - 1 < UNTANGLED]
    if not apart:
        return best
    told = tuple(each.brief("another start") for each in apart)
    share = 100 * (max(each.energy for each in told) / best.energy_per_loop - 1)
    message = f"{len(told) + 1} rest states found; the lowest is shown, the highest has {share:.2g} % more energy."
    return replace(best, status=Status.SEVERAL, message=message, others=told)


def from_start(
    repeat: Repeat, touch: Touch = TOUCH, carry_on: CarryOn = always, *, keeps_symmetry: bool = True
) -> Relaxed:
    """Relax one starting form.

    A balanced structure is kept alike on both sides unless `keeps_symmetry` is switched off: exchanged in place first
    and, where that ends on a saddle, exchanged with right and left; a minimum is taken before a saddle, the lower
    before the higher.
    """
    mirrors = mirrors_of(repeat.structure.notation, repeat.q, repeat.lattice, repeat.yarns) if keeps_symmetry else []
    if not mirrors:
        return _from_start(repeat, touch, carry_on, None)
    found: list[Relaxed] = []
    for mirror in mirrors:
        answer = _from_start(repeat, touch, carry_on, mirror)
        if answer.is_sound and is_minimum(answer.system, answer.state, free_of(repeat.material)):
            return answer
        found.append(answer)
    lowest = min(found, key=lambda each: (not each.is_sound, each.energy))
    return replace(lowest, message=KEPT_SYMMETRIC) if lowest.is_sound else lowest


def _from_start(repeat: Repeat, touch: Touch, carry_on: CarryOn, mirror: Mirror | None) -> Relaxed:
    system, state = System(repeat.yarns, touch=touch), start_of(repeat)
    faults = faults_of(repeat.structure.notation, repeat.paths)
    steps = refused = 0
    history: list[float] = []
    ratio = repeat.drawn / repeat.yarns.total
    free = free_of(repeat.material)
    for size, to_go, most, tolerance in (*RAMP, (1.0, 0.0, DOWNHILL_STEPS, DOWNHILL_TOLERANCE)):
        if not carry_on():
            return _stopped(repeat, system, state, steps, refused, history)
        stretched = ratio**to_go
        yarns = repeat.yarns._replace(total=repeat.yarns.total * stretched, edge=repeat.yarns.edge * stretched)
        stage = replace(system, yarns=yarns, size=size)
        state = symmetric(state, mirror)
        state, taken, blocked, energies = descended(stage, state, free, most, tolerance)
        steps, refused = steps + taken, refused + blocked
        history = energies if size == 1.0 else history
    state = symmetric(state, mirror)
    polish = polished(system, state, free, most_steps=POLISH_STEPS, kept=kept_of(mirror), carry_on=carry_on)
    polish = off_saddles(system, polish, free, mirror, carry_on)
    if not carry_on():
        return _stopped(repeat, system, polish.state, steps, refused, history)
    return replace(judged(repeat, system, polish, steps, refused, history, faults), mirror=mirror)


def kept_of(mirror: Mirror | None) -> Kept | None:
    """The moves that a polish may make."""
    return None if mirror is None else Kept(mirror.basis(), mirror.drifting)


def symmetric(state: State, mirror: Mirror | None) -> State:
    """The state with every node half-way to where its partner wants it."""
    return state if mirror is None else replace(state, q=mirror.kept(state.q, state.lattice))


def off_saddles(
    system: System, polish: Polish, free: tuple[bool, ...], mirror: Mirror | None, carry_on: CarryOn
) -> Polish:
    """Leave a saddle: push along its falling mode to both sides (within the symmetry) and go down again."""
    kept = kept_of(mirror)
    for _ in range(MOST_PUSHES):
        mode = falling_mode(system, polish.state, free, kept)
        if mode is None or not carry_on():
            break
        found = [_pushed(system, polish.state, way * PUSH * mode, free, mirror, kept, carry_on) for way in (1.0, -1.0)]
        best = min(found, key=lambda each: each.reading.energy)
        if best.reading.energy > polish.reading.energy - SAME_ENERGY * 1e-3 * abs(polish.reading.energy):
            break
        polish = replace(best, steps=polish.steps + best.steps, refused=polish.refused + best.refused)
    return polish


def _pushed(
    system: System,
    state: State,
    step: Floats,
    free: tuple[bool, ...],
    mirror: Mirror | None,
    kept: Kept | None,
    carry_on: CarryOn,
) -> Polish:
    after = moved(state, step, scale_of(state, free))
    after, *_ = descended(system, symmetric(after, mirror), free, 100, DOWNHILL_TOLERANCE)
    after = symmetric(after, mirror)
    return polished(system, after, free, most_steps=POLISH_STEPS, kept=kept, carry_on=carry_on)


def free_of(material: Material) -> tuple[bool, ...]:
    """Which lattice unknowns move: the shear only when the yarn is lively."""
    return LEANING if material.turns_per_loop else UPRIGHT


def start_of(repeat: Repeat) -> State:
    """The starting state of a repeat: as drawn, flat, untwisted."""
    return State(repeat.q.copy(), np.empty(0), repeat.lattice.copy(), np.zeros(len(repeat.yarns.edge)))


def descended(
    system: System, state: State, free: tuple[bool, ...], most: int, tolerance: float
) -> tuple[State, int, int, list[float]]:
    """Go downhill by L-BFGS: the new state, steps taken, steps refused, energies."""
    ca, sa = system.axes
    x, scale, holonomy = packed(state), scale_of(state, free), state.holonomy.copy()
    _, _, taken, refused, energies = downhill(
        x, state.lattice, scale, ca, sa, system.yarns, system.frames, system.touch, system.size, holonomy, most,
        tolerance,
    )  # fmt: skip
    q, angles, lattice = np.empty_like(state.q), np.empty_like(state.angles), np.empty(4)
    spread_out(x, state.lattice, scale, q, angles, lattice)
    return State(q, angles, lattice, holonomy), int(taken), int(refused), energies.tolist()


def tightened(slack: Relaxed, loop_over_diameter: float, *, carry_on: CarryOn = always) -> Relaxed:
    """The rest state at another loop length, reached from a relaxed one by taking yarn out (or in) in small steps."""
    start, goal = slack.repeat.loop_over_diameter, loop_over_diameter
    count = max(1, int(np.ceil(abs(np.log(goal / start)) / TIGHTEN)))
    repeat, state, system = slack.repeat, slack.state, slack.system
    steps = refused = 0
    history: list[float] = []
    free = free_of(repeat.material)
    for part in range(1, count + 1):
        if not carry_on():
            return _stopped(repeat, system, state, steps, refused, history)
        ratio = start * (goal / start) ** (part / count)
        factor = ratio / repeat.loop_over_diameter
        yarns = system.yarns._replace(total=system.yarns.total * factor, edge=system.yarns.edge * factor)
        q = state.q * factor
        q[:, 2] = state.q[:, 2]
        state = replace(state, q=q, lattice=state.lattice * np.array([factor, factor, factor, 1.0]))
        system = replace(system, yarns=yarns)
        repeat = replace(repeat, loop_over_diameter=ratio, yarns=yarns)
        state, taken, blocked, history = descended(system, state, free, 150, DOWNHILL_TOLERANCE)
        state = symmetric(state, slack.mirror)
        steps, refused = steps + taken, refused + blocked
    kept = kept_of(slack.mirror)
    polish = polished(system, state, free, most_steps=POLISH_STEPS, kept=kept, carry_on=carry_on)
    return replace(judged(repeat, system, polish, steps, refused, history, ()), mirror=slack.mirror)


def judged(
    repeat: Repeat,
    system: System,
    polish: Polish,
    steps: int,
    refused: int,
    history: Sequence[float],
    faults: Sequence[str],
) -> Relaxed:
    """Status and message of a polished state."""
    residual = float(np.abs(polish.reading.gradient).max())
    answer = Relaxed(
        Status.RELAXED,
        "at rest",
        repeat,
        system,
        polish.state,
        polish.reading.energy,
        polish.reading.parts,
        residual,
        steps + polish.steps,
        refused + polish.refused,
        (*history, *polish.history),
    )
    reason = _unsound(answer, faults)
    if reason:
        return replace(answer, status=Status.UNSOUND, message=reason)
    if residual > FORCE_FREE:
        message = f"a force of {residual:.1e} B/d² is left after {answer.steps} steps; the figures may still move."
        return replace(answer, status=Status.UNSETTLED, message=message)
    return answer


def _unsound(answer: Relaxed, faults: Sequence[str]) -> str:
    ratio = answer.repeat.loop_over_diameter
    if faults:
        return f"the starting form is not interlaced: {faults[0]}"
    if answer.energy_per_loop < FELL_APART:
        return "the loops have come apart: the yarns lie almost straight."
    if answer.contact_share > JAMMED_SHARE and ratio >= JAM_MATTERS_FROM:
        return f"{100 * answer.contact_share:.0f} % of the energy is contact: yarn is pressed into yarn."
    if answer.yarn_strain > MOST_STRAIN and ratio >= JAM_MATTERS_FROM:
        return f"a yarn is stretched by {100 * answer.yarn_strain:.1f} % in the rest state."
    return ""


def _stopped(
    repeat: Repeat, system: System, state: State, steps: int, refused: int, history: Sequence[float]
) -> Relaxed:
    return Relaxed(
        Status.STOPPED,
        "stopped before it was at rest",
        repeat,
        system,
        state,
        history[-1] if history else float("nan"),
        np.full(4, np.nan),
        float("nan"),
        steps,
        refused,
        tuple(history),
    )
