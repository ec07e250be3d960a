"""Balanced structures: which cloth must not curl or lean, by symmetry.

A notation is balanced when swapping its beds gives the same notation again, shifted by some needles and feeds, with or
without reading the needles from right to left. Then the cloth is its own reverse side: it has no curl moment and no
lean, whatever its yarn. Not covered: keeping a repeat symmetric while it relaxes (`mirror`).
Source: mechanics reference, section 8.2.
"""

from __future__ import annotations

from functools import lru_cache

from loopwright.structure.notation import Feed, Move, Notation, Rack


@lru_cache(maxsize=256)
def is_balanced(notation: Notation) -> bool:
    """Whether swapping the beds gives the same notation again.

    >>> from loopwright.structure.notation import read
    >>> is_balanced(read(["F:K B:K"])), is_balanced(read(["F:KK- B:--K"])), is_balanced(read(["F:KK- B:-KK"]))
    (True, False, True)
    """
    return bool(turns_of(notation))


def turns_of(notation: Notation) -> list[bool]:
    """For each way in which the notation is its own reverse: whether the needles are read from the right."""
    steps, needles = notation.steps, notation.needles
    found = []
    for from_right in (True, False):
        if any(isinstance(step, Rack) and step.offset for step in steps):
            continue
        swapped = [_swapped(step, from_right=from_right) for step in steps]
        shifts = [
            (feeds, places)
            for feeds in range(len(steps))
            for places in range(needles)
            if all(
                _shifted(swapped[(index + feeds) % len(steps)], places) == _plain(step)
                for index, step in enumerate(steps)
            )
        ]
        if shifts:
            found.append(from_right)
    return found


def _plain(step: Feed | Move | Rack) -> tuple[object, ...]:
    if isinstance(step, Feed):
        return ("feed", step.front, step.back, step.role)
    if isinstance(step, Move):
        return ("move", step.from_front, step.needles)
    return ("rack", step.offset)


def _swapped(step: Feed | Move | Rack, *, from_right: bool) -> tuple[object, ...]:
    way = -1 if from_right else 1
    if isinstance(step, Feed):
        return ("feed", step.back[::way], step.front[::way], step.role)
    if isinstance(step, Move):
        return ("move", not step.from_front, step.needles[::way])
    return ("rack", step.offset)


def _shifted(step: tuple[object, ...], places: int) -> tuple[object, ...]:
    return tuple(part[places:] + part[:places] if isinstance(part, tuple) else part for part in step)
