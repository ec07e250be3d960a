"""Set: the permanent bend that yarn takes when it is washed, steamed or simply lies.

`with_set` takes the form that a state has now as the natural form of its yarn, to the share f (0 straight, 1 wholly).
Set in the rest state leaves dimensions alone, lowers the curl and gives the cloth its bending stiffness; set in a held
state (on the machine, on a frame) pulls the cloth toward the held dimensions when it is let go.
Source: mechanics reference, section 5.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from loopwright.mechanics.form import Points, closed
from loopwright.mechanics.kernels.energy import measures
from loopwright.mechanics.kernels.repeat import Floats, Frames
from loopwright.mechanics.state import State, System


def with_set(system: System, state: State, share: float, *, residual: Floats | None = None) -> tuple[System, State]:
    """The same cloth with set to `share` in its present form, flat; `residual` (R,) replaces the yarns' twist
    angles.
    """
    flat = state.with_lattice(curvature=0.0)
    yarns = system.yarns if residual is None else system.yarns._replace(residual=residual)
    parts = [_framed(flat, system, r) for r in range(len(yarns.edge))]
    natural = [
        share * measured_form + np.array([0.0, 0.0, yarns.residual[r] / len(measured_form)])
        for r, (_, _, measured_form) in enumerate(parts)
    ]
    frames = Frames(
        np.concatenate([tangent for tangent, _, _ in parts]),
        np.concatenate([director for _, director, _ in parts]),
        np.concatenate(natural),
    )
    return replace(system, yarns=yarns, frames=frames), replace(flat, angles=np.zeros(len(state.q)))


def _framed(state: State, system: System, r: int) -> tuple[Points, Points, Points]:
    """Tangents, directors and natural (κ1, κ2, τ) of one yarn, each (n, 3); the director turns evenly to close."""
    first, last = system.yarns.first[r], system.yarns.first[r + 1]
    nodes = state.q[first:last]
    n = len(nodes)
    edges = np.diff(closed(nodes, float(state.lattice[0]), 2), axis=0)
    t = edges / np.linalg.norm(edges, axis=1)[:, None]
    d = np.empty((n + 1, 3))
    d[0] = np.cross(t[0], np.eye(3)[np.abs(t[0]).argmin()])
    d[0] /= np.linalg.norm(d[0])
    for i in range(1, n + 1):
        d[i] = d[i - 1] - (d[i - 1] @ t[i]) / (1 + t[i - 1] @ t[i]) * (t[i - 1] + t[i])
    gap = math.atan2(np.cross(d[0], d[n]) @ t[n], d[0] @ d[n])
    for i in range(n + 1):
        angle = -gap * i / n
        d[i] = math.cos(angle) * d[i] + math.sin(angle) * np.cross(t[i], d[i])
    form = np.empty((n, 3))
    out = np.empty(3)
    for i in range(1, n + 1):
        measures(t[i - 1], t[i], d[i - 1], np.cross(t[i - 1], d[i - 1]), d[i], np.cross(t[i], d[i]), out)
        form[i % n] = out
    return t[:n], d[:n], form
