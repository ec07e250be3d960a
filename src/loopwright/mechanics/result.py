"""What a relaxation came to: a state with its status, message and history. Not converging is an answer."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from loopwright.mechanics.form import ClothForm, closed
from loopwright.mechanics.kernels.repeat import Floats
from loopwright.mechanics.loops import Repeat
from loopwright.mechanics.mirror import Mirror
from loopwright.mechanics.state import State, System

FORCE_FREE = 1e-6  # largest gradient component (B/d²) of a state that is at rest
SAME_ENERGY = 1e-5  # relative difference of energy within which two rest states are one
JAMMED_SHARE, JAM_MATTERS_FROM = 0.3, 14.0  # contact share of the energy that is no cloth, from this l/d on
FELL_APART = 0.25  # energy per loop (B/d) below which the yarns lie straight: nothing is interlaced (plain has 2.5)
MOST_STRAIN = 0.01


class Status(StrEnum):
    """How a relaxation ended."""

    RELAXED = "relaxed"
    SEVERAL = "several rest states"
    UNSETTLED = "not settled"
    UNSOUND = "unsound"
    STOPPED = "stopped"


@dataclass(frozen=True, slots=True)
class RestState:
    """One rest state in short: energy per loop (B/d), wale and course spacing (d), largest gradient left."""

    energy: float
    wale: float
    course: float
    residual: float
    start: str


@dataclass(frozen=True, slots=True, eq=False)
class Relaxed:
    """A repeat at rest (or the reason why not), in units of d and B.

    `mirror` is the symmetry that it was kept to. `others` are the further rest states that other starts led to;
    `steps` counts all steps taken, `refused` those that the guard refused because yarn would have passed through yarn.
    """

    status: Status
    message: str
    repeat: Repeat
    system: System
    state: State
    energy: float
    parts: Floats
    residual: float
    steps: int
    refused: int
    history: tuple[float, ...]
    others: tuple[RestState, ...] = ()
    mirror: Mirror | None = None

    @property
    def is_sound(self) -> bool:
        """Whether its figures may be shown."""
        return self.status in (Status.RELAXED, Status.SEVERAL)

    @property
    def form(self) -> ClothForm:
        """Centre lines to be drawn."""
        return self.repeat.with_state(self.state.q, self.state.lattice).form()

    @property
    def energy_per_loop(self) -> float:
        """Energy per knitted loop, B/d."""
        return self.energy / self.repeat.loops

    @property
    def contact_share(self) -> float:
        """Part of the energy that sits in contact."""
        return float(self.parts[3] / self.energy)

    @property
    def yarn_strain(self) -> float:
        """Largest strain of an edge."""
        yarns, q = self.system.yarns, self.state.q
        most = 0.0
        for r in range(len(yarns.edge)):
            nodes = q[yarns.first[r] : yarns.first[r + 1]]
            edges = np.diff(closed(nodes, float(self.state.lattice[0])), axis=0)
            lengths = np.linalg.norm(edges, axis=1)
            most = max(most, float(np.abs(lengths / yarns.edge[r] - 1).max()))
        return most

    @property
    def kc(self) -> float:
        """Loop length × visible courses per length."""
        return self.repeat.loop_over_diameter / self.form.course_spacing

    @property
    def kw(self) -> float:
        """Loop length × visible wales per length."""
        return self.repeat.loop_over_diameter / self.form.wale_spacing

    def brief(self, start: str) -> RestState:
        """This state in short."""
        return RestState(self.energy_per_loop, self.form.wale_spacing, self.form.course_spacing, self.residual, start)
