"""A structure that the atlas doesn't hold, solved now: at one loop length, with progress and cancel.

In: a structure drawn by a person and its loop length over diameter. Out: a `stored.Stored` chapter with one loop
length, to be read like any other, and the key under which its content may be kept: the same notation, length and model
always give the same chapter, so a cache never goes stale.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable

from loopwright.mechanics.chapter import chapter_of
from loopwright.mechanics.loops import Material
from loopwright.mechanics.relax import CarryOn, always
from loopwright.mechanics.stored import Stored, stored
from loopwright.structure.library import Structure

MODEL = 1  # raise when the same input gives other numbers; atlas and kept chapters are then made anew
FINEST = 0.05  # loop lengths over diameter are told apart to this much when solved live


def nearest(loop_over_diameter: float) -> float:
    """The loop length over diameter that is solved for a wanted one."""
    return round(round(loop_over_diameter / FINEST) * FINEST, 6)


def key_of(structure: Structure, loop_over_diameter: float, plating: float = 0.0) -> str:
    """Name under which the chapter of a content is kept; `plating` is the diameter of a second yarn over the first."""
    says = [MODEL, structure.notation.lines(), structure.notation.gating.value, sorted(structure.ratios.items())]
    text = json.dumps([*says, nearest(loop_over_diameter), plating])
    return hashlib.sha256(text.encode()).hexdigest()[:24]


def solved(
    structure: Structure,
    loop_over_diameter: float,
    *,
    plating: float = 0.0,
    carry_on: CarryOn = always,
    report: Callable[[str], None] = lambda _: None,
) -> Stored:
    """Solve a structure at one loop length: rest state, stretch, curl, lean; `plating` as in `key_of`.

    Raises:
        Problem: nothing is cloth at this loop length, or a feed takes no loop.
    """
    material = Material(plating=plating)
    ratios = [nearest(loop_over_diameter)]
    return stored(chapter_of(structure, ratios, material=material, carry_on=carry_on, report=report))
