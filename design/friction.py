"""Does dry friction between yarns bring the states of relaxation about? Half of them: so it was left out of the
product.

Run: .venv/bin/python design/friction.py    (about two minutes)

Question: published constants of plain rise from dry-relaxed over wet-relaxed to fully relaxed, kc 5.0, 5.3, 5.5 and kw
3.8, 4.1, 4.2 (Munden 1959, from memory). Do they come out when a cloth that was pulled by the take-down is let go with
friction (dry), then moved about (agitated), without being told?

Model: every touching pair of contact points sticks; the tangential part u of the change of their distance costs μ·N·|u|
(smoothed below `CREEP`), N the contact force of the last accepted state. Each small step minimises elastic energy,
contact and this potential; then contacts grip anew where they are. Letting go moves the cloth at most `STEP` diameters
at a time. Agitation is cycles of ± strain in width and length, then letting go. One repeat of plain, flat, no set.

What it gave, kw / kc (without friction 3.97 / 5.33 at l/d 17):

    before letting go      μ     before       let go       3 % × 4      8 % × 8
    take-down, W free      0.2   4.43 / 4.21  4.07 / 5.11  4.04 / 5.21  3.99 / 5.31
    take-down, W free      0.5   4.43 / 4.21  4.22 / 4.71  4.22 / 4.76  4.22 / 4.64
    held 3.5 / 4.9         0.2   3.50 / 4.90  4.03 / 5.21  4.01 / 5.28  3.99 / 5.32
    held 3.5 / 4.9         0.5   3.50 / 4.90  4.11 / 5.04  4.15 / 4.97  4.21 / 4.84
    needle pitch 2.8       0.2   2.80 / 6.51  3.96 / 5.34  3.99 / 5.31  3.99 / 5.31
    needle pitch 2.8       0.5   2.80 / 6.51  3.57 / 5.63  3.96 / 5.33  4.02 / 5.28
    and at l/d 20 (without friction 3.51 / 5.55):
    take-down, W free      0.2   4.99 / 3.67  3.69 / 4.98  3.65 / 5.11  3.58 / 5.32
    held 3.5 / 4.9         0.2   3.50 / 4.90  3.61 / 5.21  3.59 / 5.29  3.55 / 5.43
    needle pitch 2.8       0.5   2.80 / 6.34  3.27 / 5.78  3.47 / 5.58  3.53 / 5.52

So the course constant does as cloth does after a take-down: 4.2 on the machine, 5.1 dry, 5.2 and 5.3 after moving;
published 5.0, 5.3, 5.5. The wale constant then does the opposite: it falls from 4.1 to 4.0 where cloth goes from 3.8 to
4.2. Let go from the needle pitch it is the other way round. No start and no friction tried gives both, and with much
friction moving the cloth leads away from the rest state. A cloth that shrinks in both directions needs something else:
swelling, set that goes, or friction inside the bending yarn. The product therefore keeps the frictionless rest state,
set as a fitted quantity, and published constants for the states.
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import minimize

from loopwright.mechanics.relax import UPRIGHT, relaxed
from loopwright.mechanics.result import Relaxed
from loopwright.mechanics.state import State, System, moved, packed, pairs_of, read, read_packed, scale_of
from loopwright.structure.library import library

Floats = NDArray[np.float64]
CREEP, STEP = 0.01, 0.15
HELD = (False, False, False, False)
NARROWING = (True, False, False, False)
SHORTENING = (False, False, True, False)


@dataclass(frozen=True)
class Grip:
    """Touching pairs: weights (n, N) that give D = P_b − P_a, image shift (n, 2), start D0, limit μ·N."""

    weights: Floats
    shift: Floats
    start: Floats
    limit: Floats

    def energy(self, q: Floats, lattice: Floats) -> tuple[float, Floats, Floats]:
        """Energy, gradient on the nodes (N, 3) and on (W, S, H, k)."""
        now = self.weights @ q
        now[:, 0] += self.shift[:, 0] * lattice[0]
        now[:, 1] += self.shift[:, 1] * lattice[2]
        normal = self.start / np.linalg.norm(self.start, axis=1)[:, None]
        u = now - self.start
        u -= (u * normal).sum(axis=1)[:, None] * normal
        slid = np.linalg.norm(u, axis=1)
        cost = np.where(slid < CREEP, slid**2 / (2 * CREEP), slid - CREEP / 2)
        force = (self.limit / np.maximum(slid, CREEP))[:, None] * u
        on_lattice = np.array(
            [(force[:, 0] * self.shift[:, 0]).sum(), 0.0, (force[:, 1] * self.shift[:, 1]).sum(), 0.0]
        )
        return float((self.limit * cost).sum()), self.weights.T @ force, on_lattice


def grip_of(system: System, state: State, coefficient: float) -> Grip:
    """Grip every touching pair of a flat state of one yarn."""
    touch, yarns, pairs = system.touch, system.yarns, pairs_of(system, state)
    nodes, per_edge = len(state.q), touch.points
    image = np.repeat(np.arange(len(pairs.images)), np.diff(pairs.first))
    weights, shift = np.zeros((len(pairs.a), nodes)), pairs.images[image].astype(float)
    rows = np.arange(len(pairs.a))
    for point, sign in ((pairs.b, 1.0), (pairs.a, -1.0)):
        edge, part = point // per_edge, (point % per_edge + 0.5) / per_edge
        np.add.at(weights, (rows, edge), sign * (1 - part))
        np.add.at(weights, (rows, (edge + 1) % nodes), sign * part)
        shift[:, 0] += sign * part * (edge + 1 == nodes)
    start = weights @ state.q
    start[:, 0] += shift[:, 0] * state.lattice[0]
    start[:, 1] += shift[:, 1] * state.lattice[2]
    near = 1 - np.linalg.norm(start, axis=1)
    touching = near > 0
    strength = touch.hardness * (yarns.edge[0] / per_edge) ** 2 * touch.exponent
    limit = coefficient * strength * np.maximum(near, 0.0) ** (touch.exponent - 1)
    return Grip(weights[touching], shift[touching], start[touching], limit[touching])


def stepped(system: System, state: State, coefficient: float, free: tuple[bool, ...]) -> State:
    """Minimise once with the contacts gripped as they are now."""
    grip, scale, pairs = grip_of(system, state, coefficient), scale_of(state, free), pairs_of(system, state)

    def measure(x: Floats) -> tuple[float, Floats]:
        there = moved(state, x - packed(state), scale)
        elastic = read_packed(system, state, x, scale, pairs)
        energy, on_nodes, on_lattice = grip.energy(there.q, there.lattice)
        f11, f22 = there.lattice[0] / state.lattice[0], there.lattice[2] / state.lattice[2]
        gradient = elastic.gradient.copy()
        q = x[:-4].reshape(-1, 3)
        gradient[:-4] += (on_nodes * np.array([f11, f22, 1.0])).ravel()
        on_lattice[0] += (on_nodes[:, 0] * q[:, 0]).sum() / state.lattice[0]
        on_lattice[2] += (on_nodes[:, 1] * q[:, 1]).sum() / state.lattice[2]
        gradient[-4:] += scale * on_lattice
        return elastic.energy + energy, gradient

    found = minimize(measure, packed(state), jac=True, method="L-BFGS-B", options={"maxiter": 400, "gtol": 2e-5})
    return moved(state, found.x - packed(state), scale)


def let_go(system: System, state: State, coefficient: float, most: int = 60) -> State:
    """Let width and length go in small steps until they stay."""
    for _ in range(most):
        then = stepped(system, state, coefficient, UPRIGHT)
        change = then.lattice - state.lattice
        most_change = float(np.abs(change).max())
        if most_change > STEP:
            goal = state.lattice + STEP / most_change * change
            held = state.with_lattice(width=float(goal[0]), height=float(goal[2]))
            state = stepped(system, held, coefficient, HELD)
        else:
            state = then
            if most_change < 3e-4:
                break
    return state


def agitated(system: System, state: State, coefficient: float, strain: float, cycles: int) -> State:
    """Pull the cloth to and fro, then let it go."""
    for _ in range(cycles):
        width, height = float(state.lattice[0]), float(state.lattice[2])
        for wide, high in ((1 + strain, 1 - strain), (1 - strain, 1 + strain), (1.0, 1.0)):
            state = stepped(system, state.with_lattice(width=wide * width, height=high * height), coefficient, HELD)
        state = let_go(system, state, coefficient, 6)
    return state


def pulled_long(answer: Relaxed, tension: float) -> State:
    """Under the take-down: pulled in length, free to narrow."""
    state = answer.state
    while read(answer.system, state).forces[2] / state.lattice[0] < tension:
        longer = state.with_lattice(height=float(state.lattice[2]) * 1.03)
        state = stepped(answer.system, longer, 0.0, NARROWING)
    return state


def held_at(answer: Relaxed, kw: float, kc: float | None) -> State:
    """Held at a wale constant, and at a course constant or free to find its length."""
    form, ratio = answer.form, answer.repeat.loop_over_diameter
    state = answer.state.with_lattice(width=ratio / kw * form.wales)
    if kc is None:
        return stepped(answer.system, state, 0.0, SHORTENING)
    return stepped(answer.system, state.with_lattice(height=ratio / kc * form.courses), 0.0, HELD)


def main(say: Callable[[str], None] = print) -> int:
    """Print the table of the docstring anew."""
    for ratio in (17.0, 20.0):
        answer = relaxed(library()["plain"], ratio)
        say(f"plain, l/d {ratio:g}: without friction {answer.kw:.2f} / {answer.kc:.2f}")
        starts = {"take-down": pulled_long(answer, 0.3), "held 3.5 / 4.9": held_at(answer, 3.5, 4.9)}
        starts["needle pitch"] = held_at(answer, 2.8, None)
        for name, before in starts.items():
            for coefficient in (0.2, 0.5):
                states = [before, let_go(answer.system, before, coefficient)]
                for strain, cycles in ((0.03, 4), (0.08, 8)):
                    states.append(agitated(answer.system, states[-1], coefficient, strain, cycles))
                seen = [replace(answer, state=state) for state in states]
                say(f"    {name:15} {coefficient:g}   " + "  ".join(f"{e.kw:.2f} / {e.kc:.2f}" for e in seen))
    return 0


if __name__ == "__main__":
    sys.exit(main())
