"""Points of measure, and the measures of one size of a garment that are read from them.

In: points as a buyer writes them. Out: `Measures`, every length in cm that shaping works from. Other words for a point
(full upper arm, armhole depth, underarm sleeve) are turned into the buyer's point once, in `as_point`. Which points a
garment has is said by its block.
Not covered: grading (`grading`), usual measures (`blocks`). Source: production reference 1.8, 2.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from loopwright.garment.shape import Shape
from loopwright.garment.sleeves import armhole_inset_cm, cap_cm, height_below_drop_cm
from loopwright.problems import Problem
from loopwright.sources.table import table

Points = Mapping[str, float]

POINTS = tuple(row.text("measure") for row in table(__package__, "points"))
OTHER_WORDS = ("armhole_depth", "upper_arm", "cuff", "sleeve_underarm")  # each may need those before it
LEAST_CM, LARGEST_CM = 0.1, 300.0


@dataclass(frozen=True, slots=True)
class Measures:
    """One size of a garment: its shape, and every length in cm by name: points of measure and what follows."""

    shape: Shape
    lengths: tuple[tuple[str, float], ...]

    def __getitem__(self, name: str) -> float:
        """A length, cm."""
        return self.by_name[name]

    @property
    def by_name(self) -> dict[str, float]:
        """All lengths, cm."""
        return dict(self.lengths)


def words_of(name: str) -> str:
    """A point of measure in words: "Half chest"."""
    return table(__package__, "points").by("measure")[name].text("words")


def letter_of_point(name: str) -> str:
    """The serif letter of a point of measure: "B"."""
    return table(__package__, "points").by("measure")[name].text("letter")


def how_to_measure(name: str) -> str:
    """How a point is measured, in words."""
    return table(__package__, "points").by("measure")[name].text("how")


def tolerance_cm(name: str) -> float:
    """Usual tolerance of a point, cm."""
    return table(__package__, "points").by("measure")[name]["tolerance_cm"]


def as_point(name: str, value_cm: float, points: Points, *, shape: Shape, known: frozenset[str]) -> tuple[str, float]:
    """A measure in other words as the buyer's point: (name, cm). `points` are the other points of the size.

    `known` are the points that the garment has.

    >>> as_point("upper_arm", 34.0, {}, shape=Shape(), known=frozenset({"half_upper_arm"}))
    ('half_upper_arm', 17.0)

    Raises:
        Problem: no such measure, or the others that it needs contradict it.
    """
    if name in known:
        return name, value_cm
    if name in ("upper_arm", "cuff") and f"half_{name}" in known:
        return f"half_{name}", value_cm / 2
    if name == "armhole_depth" and "armhole_straight" in known:
        height = height_below_drop_cm(value_cm, points["shoulder_drop"])
        return "armhole_straight", math.hypot(height, armhole_inset_cm(points))
    if name == "armhole_depth" and "raglan_depth" in known:
        return "raglan_depth", value_cm
    if name == "sleeve_underarm" and "sleeve_from_shoulder" in known:
        return "sleeve_from_shoulder", value_cm + cap_cm(points, shape)
    raise no_measure(name, known)


def no_measure(name: str, known: frozenset[str]) -> Problem:
    """The problem of a measure that the garment does not have."""
    words = [
        *(point for point in POINTS if point in known),
        *(word for word in OTHER_WORDS if _stands_for(word, known)),
    ]
    there = name in POINTS or name in OTHER_WORDS
    what = f"“{name}” is no measure of this garment." if there else f"“{name}” is no measure."
    return Problem("measures_cm", what, limit=f"measures: {', '.join(dict.fromkeys(words))}")


def _stands_for(word: str, known: frozenset[str]) -> bool:
    """Whether another word names a point that the garment has."""
    points = {
        "armhole_depth": ("armhole_straight", "raglan_depth"),
        "sleeve_underarm": ("sleeve_from_shoulder",),
    }.get(word, (f"half_{word}",))
    return not known.isdisjoint(points)


def as_points(named: Mapping[str, float], around: Points, *, shape: Shape, known: frozenset[str]) -> dict[str, float]:
    """Measures of one size in any words as the buyer's points, cm, those that others follow from first.

    `around` are the other points of the size. An underarm sleeve is kept whatever arm and armhole stand beside it.

    Raises:
        Problem: a measure that is not there, or one that is named twice in different words.
    """
    points: dict[str, float] = {}
    for name in sorted(named, key=_turn):
        point, value_cm = as_point(name, named[name], {**around, **points}, shape=shape, known=known)
        if point in points:
            raise Problem("measures_cm", f"{name} and {point} say the same thing twice.", tries=["keep one of the two"])
        points[point] = value_cm
    return points


def _turn(name: str) -> int:
    return OTHER_WORDS.index(name) + 1 if name in OTHER_WORDS else 0


def check_ranges(named: Mapping[str, float], where: str) -> None:
    """Refuse a measure, in any words, that no garment has.

    Raises:
        Problem: nothing, less than nothing, or more than three metres.
    """
    for name, value in named.items():
        is_point = name in POINTS
        least = table(__package__, "points").by("measure")[name]["least_cm"] if is_point else LEAST_CM
        if not least <= value <= LARGEST_CM:
            words = words_of(name) if is_point else name.replace("_", " ").capitalize()
            limit = f"{least:g} to {LARGEST_CM:g} cm"
            raise Problem(where, f"{words} is {value:g} cm.", limit=limit, tries=["check the unit"])
