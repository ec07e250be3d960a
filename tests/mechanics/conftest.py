"""Cloths at rest, relaxed once for all tests, and disturbed ones at which derivatives are taken."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from loopwright.mechanics.loops import Material, repeat_of
from loopwright.mechanics.relax import relaxed, start_of
from loopwright.mechanics.result import Relaxed
from loopwright.mechanics.setting import with_set
from loopwright.mechanics.state import State, System, read
from loopwright.structure.library import Structure, library, structure_from

FIRM = 17.0  # loop length over diameter
OWN = {
    "garter": {"courses": ["F:K", "move F>B:X", "B:K", "move B>F:X"]},
    "links 2x2": {"courses": ["F:K", "F:K", "move F>B:X", "B:K", "B:K", "move B>F:X"]},
}


def named(name: str) -> Structure:
    return structure_from(name, OWN[name]) if name in OWN else library()[name]


@cache
def _rest(name: str, ratio: float, turns: float) -> Relaxed:
    return relaxed(named(name), ratio, Material(turns_per_loop=turns))


@pytest.fixture(scope="session")
def rest() -> Callable[..., Relaxed]:
    """The rest state of a structure by its name, at l/d 17 with a balanced yarn unless told otherwise."""

    def of(name: str, ratio: float = FIRM, turns: float = 0.0) -> Relaxed:
        return _rest(name, ratio, turns)

    return of


@pytest.fixture(scope="session")
def disturbed() -> Callable[..., tuple[System, State]]:
    """A cloth far from rest: nodes shaken, sheared, bent to `k` in direction `alpha`, with or without set."""

    def of(
        name: str = "plain",
        *,
        k: float = 0.0,
        alpha: float = 0.0,
        share: float | None = None,
        turns: float = 0.05,
        seed: int = 1,
    ) -> tuple[System, State]:
        shaken = np.random.default_rng(seed)
        repeat = repeat_of(named(name), FIRM, Material(turns_per_loop=turns), density=1.2)
        system, state = System(repeat.yarns, alpha=alpha), start_of(repeat)
        if share is not None:
            system, state = with_set(system, state, share)
            state = replace(state, angles=0.2 * shaken.normal(size=len(state.q)))
        state = replace(state, q=state.q + 0.05 * shaken.normal(size=state.q.shape))
        state = replace(state, lattice=np.array([state.lattice[0], 0.3, state.lattice[2], k]))
        return system, replace(state, holonomy=read(system, state).holonomy)

    return of
