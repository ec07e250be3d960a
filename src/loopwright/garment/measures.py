"""Measures of one size of a set-in crew pullover, and the points of measure they are read from.

In: points of measure as a buyer writes them. Out: `Measures`, the full set in cm that shaping works from. Other words
for a point (full upper arm, armhole depth, underarm sleeve) are turned into the buyer's point once, in `as_point`.
Not covered: grading (`grading`), the default set (`defaults`). Source: production reference 1.8, 2.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from loopwright.garment.blocks.set_in_crew import cap_height_of
from loopwright.problems import Problem
from loopwright.sources.table import table


@dataclass(frozen=True, slots=True)
class Measures:
    """One size, cm: half chest, relaxed half hem, length from the high point of shoulder, across shoulder, neck width,
    neck drops, shoulder drop, armhole depth (vertical from the high point), full upper arm, full cuff at the join,
    underarm sleeve with its rib, rib heights, finished neckband.
    """

    half_chest_cm: float
    half_hem_cm: float
    length_cm: float
    across_shoulder_cm: float
    neck_width_cm: float
    front_neck_drop_cm: float
    back_neck_drop_cm: float
    shoulder_drop_cm: float
    armhole_depth_cm: float
    upper_arm_cm: float
    cuff_cm: float
    sleeve_underarm_cm: float
    hem_rib_cm: float
    cuff_rib_cm: float
    neckband_cm: float


POINTS = tuple(row.text("measure") for row in table(__package__, "points"))
OTHER_WORDS = ("armhole_depth", "upper_arm", "cuff", "sleeve_underarm")  # each may need those before it
MAY_BE_NOTHING = ("back_neck_drop", "hem_rib", "cuff_rib", "shoulder_drop")
LARGEST_CM = 300.0

# Points that shaping rounds: field of Measures, and how many times the point it holds.
_FIELDS = {
    "half_chest": ("half_chest_cm", 1.0),
    "length": ("length_cm", 1.0),
    "across_shoulder": ("across_shoulder_cm", 1.0),
    "neck_width": ("neck_width_cm", 1.0),
    "front_neck_drop": ("front_neck_drop_cm", 1.0),
    "back_neck_drop": ("back_neck_drop_cm", 1.0),
    "shoulder_drop": ("shoulder_drop_cm", 1.0),
    "half_upper_arm": ("upper_arm_cm", 2.0),
    "half_cuff": ("cuff_cm", 2.0),
    "hem_rib": ("hem_rib_cm", 1.0),
    "cuff_rib": ("cuff_rib_cm", 1.0),
}


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


def tolerances_by_field() -> dict[str, float]:
    """Tolerances by field of `Measures`, cm (a full girth has twice the tolerance of its half)."""
    return {field: times * tolerance_cm(name) for name, (field, times) in _FIELDS.items()}


def as_point(name: str, value_cm: float, points: Mapping[str, float]) -> tuple[str, float]:
    """A measure in other words as the buyer's point: (name, cm). `points` are the other points of the size.

    >>> as_point("upper_arm", 34.0, {})
    ('half_upper_arm', 17.0)

    Raises:
        Problem: no such measure, or the others that it needs contradict it.
    """
    if name in ("upper_arm", "cuff"):
        return f"half_{name}", value_cm / 2
    if name == "armhole_depth":
        height, drop = value_cm - points["shoulder_drop"], points["shoulder_drop"]
        if height <= 0:
            what = f"armhole depth {value_cm:g} cm does not reach below the shoulder drop of {drop:g} cm."
            raise Problem("measures_cm", what, tries=["a deeper armhole", "a smaller shoulder drop"])
        return "armhole_straight", math.hypot(height, armhole_inset_cm(points))
    if name == "sleeve_underarm":
        return "sleeve_from_shoulder", value_cm + _cap_height(points)
    if name not in POINTS:
        known = ", ".join((*POINTS, *OTHER_WORDS))
        raise Problem("measures_cm", f"“{name}” is no measure of this block.", limit=f"measures: {known}")
    return name, value_cm


def as_points(named: Mapping[str, float], around: Mapping[str, float]) -> dict[str, float]:
    """Measures of one size in any words as the buyer's points, cm, those that others follow from first.

    `around` are the other points of the size. An underarm sleeve is kept whatever arm and armhole stand beside it.

    Raises:
        Problem: a measure that is not there, or one that is named twice in different words.
    """
    points: dict[str, float] = {}
    for name in sorted(named, key=_turn):
        point, value_cm = as_point(name, named[name], {**around, **points})
        if point in points:
            raise Problem("measures_cm", f"{name} and {point} say the same thing twice.", tries=["keep one of the two"])
        points[point] = value_cm
    return points


def _turn(name: str) -> int:
    return OTHER_WORDS.index(name) + 1 if name in OTHER_WORDS else 0


def armhole_inset_cm(points: Mapping[str, float]) -> float:
    """How far the armhole lies inside the chest, cm a side: (half chest − across shoulder)/2."""
    return (points["half_chest"] - points["across_shoulder"]) / 2


def armhole_height_cm(points: Mapping[str, float]) -> float:
    """Vertical height from shoulder point to underarm: √(L² − a²)."""
    inset, straight = armhole_inset_cm(points), points["armhole_straight"]
    return math.sqrt(max(straight**2 - inset**2, 0.0))


def _cap_height(points: Mapping[str, float]) -> float:
    return cap_height_of(
        inset_cm=armhole_inset_cm(points),
        armhole_height_cm=armhole_height_cm(points),
        upper_arm_cm=2 * points["half_upper_arm"],
    )


def measures_of(points: Mapping[str, float], size: str) -> Measures:
    """The full set of one size from its points of measure.

    Raises:
        Problem: a measure that no garment has, or measures that contradict each other.
    """
    check_points(points, size)
    try:
        cap = _cap_height(points)
    except Problem as problem:
        raise Problem(f"sleeve cap, size {size}", problem.what, limit=problem.limit, tries=problem.tries) from None
    _check_sleeve(points, cap, size)
    return Measures(
        half_chest_cm=points["half_chest"],
        half_hem_cm=points["half_hem"],
        length_cm=points["length"],
        across_shoulder_cm=points["across_shoulder"],
        neck_width_cm=points["neck_width"],
        front_neck_drop_cm=points["front_neck_drop"],
        back_neck_drop_cm=points["back_neck_drop"],
        shoulder_drop_cm=points["shoulder_drop"],
        armhole_depth_cm=points["shoulder_drop"] + armhole_height_cm(points),
        upper_arm_cm=2 * points["half_upper_arm"],
        cuff_cm=2 * points["half_cuff"],
        sleeve_underarm_cm=points["sleeve_from_shoulder"] - cap,
        hem_rib_cm=points["hem_rib"],
        cuff_rib_cm=points["cuff_rib"],
        neckband_cm=points["neckband"],
    )


def check_points(points: Mapping[str, float], size: str) -> None:
    """Refuse measures that cannot be one garment.

    Raises:
        Problem: the first contradiction, with both numbers.
    """
    where = f"measures, size {size}"
    check_ranges(points, where)
    check_widths(points, where)
    depth, length = points["shoulder_drop"] + armhole_height_cm(points), points["length"]
    if depth + points["hem_rib"] >= length:
        what = f"armhole {depth:.1f} cm and rib {points['hem_rib']:.1f} cm fill the length of {length:.1f} cm."
        raise Problem(where, what, tries=["a longer body", "a shallower armhole", "a lower rib"])
    front, back, left = points["front_neck_drop"], points["back_neck_drop"], length - points["hem_rib"]
    if front >= left:
        what = f"front neck drop {front:.1f} cm reaches into the rib, {left:.1f} cm below the high point of shoulder."
        raise Problem(where, what, tries=["a shallower neck", "a longer body", "a lower rib"])
    if back >= depth:
        what = f"back neck drop {back:.1f} cm is as deep as the armhole of {depth:.1f} cm."
        raise Problem(where, what, tries=["a shallower back neck", "a deeper armhole"])


def check_ranges(named: Mapping[str, float], where: str) -> None:
    """Refuse a measure, in any words, that no garment has.

    Raises:
        Problem: nothing, less than nothing, or more than three metres.
    """
    for name, value in named.items():
        least = 0.0 if name in MAY_BE_NOTHING else 0.1
        if not least <= value <= LARGEST_CM:
            words = name.replace("_", " ").capitalize() if name in OTHER_WORDS else words_of(name)
            limit = f"{least:g} to {LARGEST_CM:g} cm"
            raise Problem(where, f"{words} is {value:g} cm.", limit=limit, tries=["check the unit"])


def check_widths(points: Mapping[str, float], where: str) -> None:
    """Refuse chest, shoulder, neck and armhole that do not lie within each other.

    Raises:
        Problem: the first contradiction, with both numbers.
    """
    chest, across, neck = points["half_chest"], points["across_shoulder"], points["neck_width"]
    if across > chest:
        what = f"across shoulder {across:.1f} cm is wider than half chest {chest:.1f} cm."
        raise Problem(where, what, tries=["a narrower shoulder", "a drop shoulder block"])
    if neck >= across:
        what = f"neck width {neck:.1f} cm leaves no shoulder within {across:.1f} cm."
        raise Problem(where, what, tries=["a narrower neck", "a wider shoulder"])
    straight, inset = points.get("armhole_straight", LARGEST_CM), armhole_inset_cm(points)
    if straight <= inset:
        what = f"an armhole of {straight:.1f} cm cannot reach over an inset of {inset:.1f} cm."
        raise Problem(where, what, tries=["a deeper armhole", "a wider shoulder"])


def _check_sleeve(points: Mapping[str, float], cap_cm: float, size: str) -> None:
    whole, rib = points["sleeve_from_shoulder"], points["cuff_rib"]
    if whole - cap_cm <= rib:
        what = f"sleeve {whole:.1f} cm less its cap of {cap_cm:.1f} cm leaves no length above a rib of {rib:.1f} cm."
        raise Problem(
            f"sleeve, size {size}", what, tries=["a longer sleeve", "a lower cuff rib", "a shallower armhole"]
        )
