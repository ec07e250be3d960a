"""Joins: which edges of a garment meet, with the points or the length in which they do.

In: the knit-down. Out: `Join` values; how they are joined, and how long that takes, is the make-up's (`makeup`).
Also `Closure`: two lengths that have to agree before a seam closes, with what they may differ by.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Join:
    """`count` equal joins at a place: loops to loops (`points`), or edges of `length_cm`."""

    name: str
    place: str
    points: int = 0
    length_cm: float = 0.0
    count: int = 1


@dataclass(frozen=True, slots=True)
class Closure:
    """Two edges of one seam: their lengths in cm, and how much longer the first may be, from `low_cm` to `high_cm`."""

    name: str
    one: str
    one_cm: float
    other: str
    other_cm: float
    low_cm: float
    high_cm: float
    tries: tuple[str, ...] = ()

    @property
    def ease_cm(self) -> float:
        """How much longer the first edge is."""
        return self.one_cm - self.other_cm

    @property
    def closes(self) -> bool:
        """Whether the difference can be taken up in the seam."""
        return self.low_cm <= self.ease_cm <= self.high_cm
