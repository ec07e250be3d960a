"""Usual measures as they are found one after the other: what was typed stays, and what comes later follows from it.

In: the population, what was typed in cm. Out: `Taken`, and parts from the table `other_blocks`.
Not covered: what each block takes (`blocks`).
"""

from __future__ import annotations

from collections.abc import Mapping

from loopwright.problems import Problem
from loopwright.sources.table import table


class Taken:
    """Points of measure of the base size while they are found: cm and words by point."""

    def __init__(self, typed: Mapping[str, float]) -> None:
        self.points: dict[str, tuple[float, str]] = {name: (value, "typed") for name, value in typed.items()}

    def take(self, name: str, value_cm: float, words: str) -> float:
        """The point as typed, else this value, cm."""
        return self.points.setdefault(name, (value_cm, words))[0]

    def values(self) -> dict[str, float]:
        """What has been found up to now, cm by point."""
        return {name: value for name, (value, _) in self.points.items()}


def parts_of(population: str) -> dict[str, float]:
    """What skirts, caps, rectangles and legs take from a body of a population, cm or shares, by part.

    >>> 0.85 <= parts_of("women")["girth_over_head"] <= 0.92    # a cap over its head
    True
    """
    return {row.text("part"): row[population] for row in table(__package__, "other_blocks")}


def refuse_wider(points: Mapping[str, float], narrow: str, wide: str, where: str, tries: list[str]) -> None:
    """Refuse a measure that is larger than the one it lies within.

    Raises:
        Problem: with both numbers.
    """
    if points[narrow] > points[wide]:
        names = [name.replace("_", " ") for name in (narrow, wide)]
        what = f"{names[0]} {points[narrow]:.1f} cm is wider than {names[1]} {points[wide]:.1f} cm."
        raise Problem(where, what, tries=tries)
