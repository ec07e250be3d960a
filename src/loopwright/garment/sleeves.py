"""Sleeves and the armholes they are set into: which measures each has, and how those hang together.

In: a name; points of measure of a size. Out: `Sleeve`, the armhole's inset and height, the upper arm, how the sleeve's
length divides. Not covered: rounding to needles and the cap on the real armhole (`shaping.sleeve`).
Source: production reference 2; ease and proportions common practice (table `sleeves`).
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType

from loopwright.garment.set_in import cap_height_of
from loopwright.garment.shape import Shape, one_of
from loopwright.problems import Problem
from loopwright.sources.table import Row, table

Points = Mapping[str, float]


@dataclass(frozen=True, slots=True)
class Sleeve:
    """A kind of sleeve.

    Args:
        name: what a style calls it ("none" for a vest).
        points: points of measure that armhole and sleeve add.
        has_shoulder: whether the body ends in shoulders (a raglan ends in the neck).
        has_cap: whether the sleeve ends in a cap that closes into the armhole.
        rates: shares of a raglan's courses and of its needles in its first, steeper part; empty when straight.
    """

    name: str
    points: tuple[str, ...]
    has_shoulder: bool = True
    has_cap: bool = False
    rates: tuple[float, float] = (0.0, 0.0)

    @property
    def is_there(self) -> bool:
        """Whether there is a sleeve at all."""
        return "half_cuff" in self.points

    @property
    def is_raglan(self) -> bool:
        """Whether body and sleeve run up to the neck together."""
        return not self.has_shoulder


_CUFF = ("half_cuff", "cuff_rib")
_SHOULDER = ("across_shoulder", "shoulder_drop", "armhole_straight")


@cache
def sleeves() -> Mapping[str, Sleeve]:
    """Every kind of sleeve by its name."""
    raglan = ("raglan_depth", "half_upper_arm", "sleeve_underarm", "sleeve_top", *_CUFF)
    steep = (sleeve_row("compound_courses")["women"], sleeve_row("compound_needles")["women"])
    return MappingProxyType(
        {
            kind.name: kind
            for kind in (
                Sleeve("set-in", (*_SHOULDER, "half_upper_arm", "sleeve_from_shoulder", *_CUFF), has_cap=True),
                Sleeve("raglan", raglan, has_shoulder=False),
                Sleeve("compound raglan", raglan, has_shoulder=False, rates=steep),
                Sleeve("drop", ("shoulder_drop", "armhole_straight", "sleeve_from_shoulder", *_CUFF)),
                Sleeve("modified drop", (*_SHOULDER, "sleeve_from_shoulder", *_CUFF)),
                Sleeve(
                    "saddle",
                    (*_SHOULDER, "half_upper_arm", "sleeve_from_shoulder", "saddle_width", *_CUFF),
                    has_cap=True,
                ),
                Sleeve("none", (*_SHOULDER, "armhole_band")),
            )
        }
    )


def sleeve_called(name: str) -> Sleeve:
    """A sleeve by its name.

    Raises:
        Problem: no sleeve of that name.
    """
    return sleeves()[one_of(name, sleeves(), "garment.sleeve", "sleeve")]


def sleeve_row(part: str) -> Row:
    """A row of the table of sleeves."""
    return table("loopwright.garment", "sleeves").by("part")[part]


def sleeve_of(shape: Shape) -> Sleeve:
    """The sleeve of a shape; a vest has none."""
    return sleeves()["none"] if shape.block == "vest" else sleeve_called(shape.sleeve)


def armhole_inset_cm(points: Points) -> float:
    """How far the armhole lies inside the chest, cm a side: (half chest − across shoulder)/2; 0 when it drops."""
    return (points["half_chest"] - points.get("across_shoulder", points["half_chest"])) / 2


def armhole_height_cm(points: Points) -> float:
    """Vertical height from shoulder point to underarm: √(L² − a²)."""
    inset, straight = armhole_inset_cm(points), points["armhole_straight"]
    return math.sqrt(max(straight**2 - inset**2, 0.0))


def height_below_drop_cm(depth_cm: float, drop_cm: float) -> float:
    """Height of an armhole below the shoulder point, from its depth below the high point of shoulder.

    Raises:
        Problem: the shoulder drops below it.
    """
    if depth_cm <= drop_cm:
        what = f"armhole depth {depth_cm:g} cm does not reach below the shoulder drop of {drop_cm:g} cm."
        raise Problem("measures_cm", what, tries=["a deeper armhole", "a smaller shoulder drop"])
    return depth_cm - drop_cm


def armhole_depth_cm(points: Points) -> float:
    """Vertical depth of the armhole below the high point of shoulder, or of a raglan below its back neck."""
    if "raglan_depth" in points:
        return points["raglan_depth"]
    return points["shoulder_drop"] + armhole_height_cm(points)


def upper_arm_cm(points: Points) -> float:
    """Full upper arm: twice its half, or a dropped sleeve's two armholes."""
    if "half_upper_arm" in points:
        return 2 * points["half_upper_arm"]
    return 2 * armhole_height_cm(points)


def cap_cm(points: Points, shape: Shape) -> float:
    """Height that the sleeve has above the underarm: its cap, a modified drop's straight part, or nothing.

    Raises:
        Problem: no cap closes.
    """
    kind = sleeve_of(shape)
    if kind.has_cap:
        top = points.get("saddle_width")
        return cap_height_of(
            inset_cm=armhole_inset_cm(points),
            armhole_height_cm=armhole_height_cm(points),
            upper_arm_cm=upper_arm_cm(points),
            top_cm=top,
        )
    return armhole_inset_cm(points) if kind.is_there and not kind.is_raglan else 0.0


def sleeve_underarm_cm(points: Points, shape: Shape) -> float:
    """Underarm length of the sleeve with its rib."""
    if "sleeve_underarm" in points:
        return points["sleeve_underarm"]
    return points["sleeve_from_shoulder"] - cap_cm(points, shape)


def check_sleeve(points: Points, shape: Shape, size: str) -> None:
    """Refuse a sleeve that has no length left, or a raglan that cannot be one.

    Raises:
        Problem: the first contradiction, with both numbers.
    """
    kind = sleeve_of(shape)
    if not kind.is_there:
        return
    try:
        cap = cap_cm(points, shape)
    except Problem as problem:
        raise Problem(f"sleeve cap, size {size}", problem.what, limit=problem.limit, tries=problem.tries) from None
    whole = points.get("sleeve_from_shoulder", points.get("sleeve_underarm", 0.0))
    rib = points["cuff_rib"]
    if whole - cap <= rib:
        of_cap = f" less its cap of {cap:.1f} cm" if cap else ""
        what = f"sleeve {whole:.1f} cm{of_cap} leaves no length above a rib of {rib:.1f} cm."
        tries = ["a longer sleeve", "a lower cuff rib", "a shallower armhole"]
        raise Problem(f"sleeve, size {size}", what, tries=tries)
    if kind.is_raglan and points["sleeve_top"] >= upper_arm_cm(points):
        what = f"the top of the raglan sleeve is {points['sleeve_top']:.1f} cm of {upper_arm_cm(points):.1f} cm of arm."
        raise Problem(f"sleeve, size {size}", what, tries=["a narrower top", "a wider upper arm"])
