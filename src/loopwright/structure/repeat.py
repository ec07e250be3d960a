"""The smallest repeat of a notation, and the other places where it may begin: the same cloth written otherwise.

In: a `Notation`. Out: notations. A repeat drawn twice as wide or twice as high, or begun at another needle or feed, is
the same cloth; so is what was solved for it. Not covered: cloth that is the same from its other side (`reverse-plain`).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import TypeVar

from loopwright.structure.notation import Feed, Move, Notation, Rack, Step

Place = TypeVar("Place")


def smallest(notation: Notation) -> Notation:
    """The notation over as few needles and steps as say it.

    >>> from loopwright.structure.notation import read
    >>> smallest(read(["F:KK B:--", "F:KK B:--"])).lines()
    ('F:K',)
    """
    needles = next(n for n in range(1, notation.needles + 1) if _repeats_across(notation, n))
    narrow = tuple(_part(step, 0, needles) for step in notation.steps)
    count = next(
        n for n in range(1, len(narrow) + 1) if len(narrow) % n == 0 and narrow[:n] * (len(narrow) // n) == narrow
    )
    return replace(notation, needles=needles, steps=narrow[:count])


def _repeats_across(notation: Notation, needles: int) -> bool:
    if notation.needles % needles:
        return False
    return all(
        _part(step, needles, notation.needles) == _part(step, 0, notation.needles - needles) for step in notation.steps
    )


def beginnings(notation: Notation) -> Iterator[Notation]:
    """The notation begun at each of its needles and steps; the first is the notation itself."""
    for first in range(len(notation.steps)):
        turned = notation.steps[first:] + notation.steps[:first]
        for needle in range(notation.needles):
            yield replace(notation, steps=tuple(_begun_at(step, needle) for step in turned))


def _part(step: Step, low: int, high: int) -> Step:
    if isinstance(step, Feed):
        return replace(step, front=step.front[low:high], back=step.back[low:high])
    return step if isinstance(step, Rack) else replace(step, needles=step.needles[low:high])


def _begun_at(step: Step, needle: int) -> Step:
    if isinstance(step, Feed):
        return replace(step, front=_turned(step.front, needle), back=_turned(step.back, needle))
    return replace(step, needles=_turned(step.needles, needle)) if isinstance(step, Move) else step


def _turned(places: Sequence[Place], first: int) -> tuple[Place, ...]:
    return (*places[first:], *places[:first])
