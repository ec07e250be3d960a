"""Outlines as values: the wanted shape of a panel in cm, before it is rounded to needles and courses.

In: `Measures`. Out: `Outline`, from the centre of its base up each side and round to the centre of its top. Origin at
the centre of the base (a cardigan's front: at its front edge), x to the right, y up. Curves are sampled finely.
Not covered: the real outline of a knit-down (`shaping.outline`). Source: production reference 2.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

from loopwright.garment.measures import Measures
from loopwright.garment.necks import neck_called
from loopwright.garment.set_in import block_row, cap_height_of
from loopwright.garment.sleeves import sleeve_of, sleeve_row

Point = tuple[float, float]
NECK_POINTS = 24  # chords of the front neck
CHEST_BELOW_UNDERARM_CM = 2.5  # where a shaped side reaches the chest, as the half chest is measured there


@dataclass(frozen=True, slots=True)
class Outline:
    """A panel: points of its right half in cm in order, and of its left half where that is another.

    `left` has its x to the left; None means the mirror of the right half, nothing (no points) an edge along the origin.
    """

    name: str
    half: tuple[Point, ...]
    left: tuple[Point, ...] | None = None

    @property
    def whole(self) -> tuple[Point, ...]:
        """The closed panel, anticlockwise from the centre of the base."""
        other = self.half if self.left is None else self.left
        return (*self.half, *((-x, y) for x, y in reversed(other) if x != 0))

    @property
    def area_cm2(self) -> float:
        """Area of the whole panel."""
        points = self.whole
        crosses = (x1 * y2 - x2 * y1 for (x1, y1), (x2, y2) in pairwise([*points, points[0]]))
        return abs(sum(crosses)) / 2

    @property
    def perimeter_cm(self) -> float:
        """Way round the whole panel."""
        points = self.whole
        return sum(math.dist(first, second) for first, second in pairwise([*points, points[0]]))


def side_points(measures: Measures) -> list[Point]:
    """(half width, height) of a body's side above its rib up to the underarm."""
    underarm, rib = measures["length"] - measures["armhole_depth"], measures["hem_rib"]
    chest = measures["half_chest"] / 2
    if measures.shape.side != "shaped":
        bottom = chest if rib else measures["half_hem"] / 2
        return [(bottom, rib), (chest, underarm)]
    waist = measures["length"] - measures["waist_level"]
    hip = waist - measures["hip_level"]
    points = [(measures["half_hip"] / 2 if rib else measures["half_hem"] / 2, rib)]
    if hip > rib:
        points.append((measures["half_hip"] / 2, hip))
    points.append((measures["half_waist"] / 2, waist))
    top = max((waist + underarm) / 2, underarm - CHEST_BELOW_UNDERARM_CM)
    return [*points, (chest, top), (chest, underarm)]


def shoulder_lowered_cm(measures: Measures) -> float:
    """How far the panels stop below the high point of shoulder: half a saddle's strap."""
    return measures["saddle_width"] / 2 if "saddle_width" in measures.by_name else 0.0


@dataclass(frozen=True, slots=True)
class BodyParts:
    """The right half of a body part by part, each running on from the last: foot, side to the underarm, armhole (or
    raglan) upwards, shoulder to the neck point (a raglan has none), neck to its centre.
    """

    foot: tuple[Point, ...]
    side: tuple[Point, ...]
    armhole: tuple[Point, ...]
    shoulder: tuple[Point, ...]
    neck: tuple[Point, ...]

    @property
    def half(self) -> tuple[Point, ...]:
        """All of it in order."""
        return (*self.foot, *self.side, *self.armhole, *self.shoulder, *self.neck)


def body_parts(measures: Measures, name: str) -> BodyParts:
    """Wanted half of the back or the front with its rib (rib as wide as it should lie)."""
    rib, hem = measures["hem_rib"], measures["half_hem"] / 2
    foot = ((0.0, 0.0), (hem, 0.0), *(((hem, rib),) if rib else ()))
    edge = _armhole(measures, name)
    has_shoulder = sleeve_of(measures.shape).has_shoulder
    armhole, shoulder = (edge[:-1], edge[-1:]) if has_shoulder else (edge, [])
    neck = neck_edge(measures, name, edge[-1])
    return BodyParts(foot, tuple(side_points(measures)), tuple(armhole), tuple(shoulder), tuple(neck))


def body_outline(measures: Measures, name: str) -> Outline:
    """Wanted outline of the back or the front above and with its rib (rib as wide as it should lie)."""
    half = body_parts(measures, name).half
    if measures.shape.block == "cardigan" and name == "front":
        return _front_half(measures, half)
    return Outline(name, half)


def _front_half(measures: Measures, half: tuple[Point, ...]) -> Outline:
    """A cardigan's front: the half body less half the band that laps over its edge."""
    less = measures["front_band"] / 2
    return Outline("front", tuple((max(0.0, x - less), y) for x, y in half), ())


def _armhole(measures: Measures, name: str) -> list[Point]:
    """From the underarm to the shoulder point and the neck point, or up a raglan to the neck."""
    kind, chest = sleeve_of(measures.shape), measures["half_chest"] / 2
    top, underarm = measures["length"], measures["length"] - measures["armhole_depth"]
    if kind.is_raglan:
        return raglan_edge(measures, name)
    lowered = shoulder_lowered_cm(measures)
    neck, shoulder = (measures["neck_width"] / 2, top - lowered), top - measures["shoulder_drop"] - lowered
    if "across_shoulder" not in measures.by_name:
        return [(chest, shoulder), neck]
    half_across = measures["across_shoulder"] / 2
    inset = chest - half_across
    if kind.name == "modified drop":
        return [(half_across, underarm), (half_across, shoulder), neck]
    base = min(block_row("armhole_base_cm")["value"], inset)
    slope = block_row("armhole_slope_share")["value"] * (shoulder + lowered - underarm)
    return [(chest - base, underarm), (half_across, underarm + slope), (half_across, shoulder), neck]


def raglan_base_cm(measures: Measures) -> float:
    """What is bound off at each underarm of a raglan, body and sleeve alike."""
    return sleeve_row("raglan_base_share")["women"] * measures["half_chest"]


def raglan_front_lower_cm(measures: Measures) -> float:
    """How much lower the front neck corner of a raglan lies than the back one."""
    return sleeve_row("raglan_front_lower_share")["women"] * measures["raglan_depth"]


def raglan_way(measures: Measures, start: float, end: float, height: float) -> list[Point]:
    """(half width, height above the underarm) of a raglan edge from its base to the neck, both its rates."""
    share, needles = sleeve_of(measures.shape).rates
    middle = [(start + (end - start) * needles, height * share)] if share else []
    return [(start, 0.0), *middle, (end, height)]


def cut_at(way: list[Point], height: float) -> list[Point]:
    """An edge cut off at a height, the cut point on its line."""
    kept = [way[0]]
    for (x1, y1), (x2, y2) in pairwise(way):
        if y2 >= height:
            share = (height - y1) / (y2 - y1) if y2 > y1 else 1.0
            return [*kept, (x1 + (x2 - x1) * share, height)]
        kept.append((x2, y2))
    return kept


def raglan_edge(measures: Measures, name: str) -> list[Point]:
    """The raglan edge of back or front, from the base of the underarm to its neck corner."""
    depth = measures["raglan_depth"]
    underarm = measures["length"] - depth
    start = measures["half_chest"] / 2 - raglan_base_cm(measures)
    way = raglan_way(measures, start, measures["neck_width"] / 2, depth)
    if name == "front":
        way = cut_at(way, depth - raglan_front_lower_cm(measures))
    return [(x, underarm + y) for x, y in way]


def neck_edge(measures: Measures, name: str, corner: Point) -> list[Point]:
    """From the neck point to the centre of the neck."""
    half_neck, top = corner
    if name == "back":
        drop = max(0.0, measures["back_neck_drop"] - shoulder_lowered_cm(measures))
        flat, bottom = block_row("back_neck_flat_share")["value"], top - drop
        return [(half_neck * flat, bottom), (0.0, bottom)]
    bottom = measures["length"] - measures["front_neck_drop"]
    drop = top - bottom
    curve = neck_called(measures.shape.neck).front_points(half_width_cm=half_neck, drop_cm=drop, chords=NECK_POINTS)
    return [(x, bottom + y) for x, y in reversed(curve)][1:]


def sleeve_outline(measures: Measures) -> Outline:
    """Wanted outline of the sleeve: straight sides, and a cap, a raglan top or a strap of the measures."""
    underarm, rib = measures["sleeve_underarm"], measures["cuff_rib"]
    cuff, arm = measures["cuff"] / 2, measures["upper_arm"] / 2
    foot = [(0.0, 0.0), (cuff, 0.0), *([(cuff, rib)] if rib else []), (arm, underarm)]
    kind = sleeve_of(measures.shape)
    if kind.is_raglan:
        return _raglan_sleeve(measures, foot)
    inset = (measures["half_chest"] - measures.by_name.get("across_shoulder", measures["half_chest"])) / 2
    if not kind.has_cap:
        top = underarm + inset
        return Outline("sleeve", (*foot, *([(arm, top)] if inset else []), (0.0, top)))
    strap = measures.by_name.get("saddle_width")
    height = measures["armhole_depth"] - measures["shoulder_drop"]
    cap = cap_height_of(inset_cm=inset, armhole_height_cm=height, upper_arm_cm=2 * arm, top_cm=strap)
    base = min(block_row("armhole_base_cm")["value"], inset)
    half_top = strap / 2 if strap else block_row("cap_top_share")["value"] * arm
    top = underarm + cap
    sides = [*foot, (arm - base, underarm), (half_top, top)]
    if strap:
        shoulder = (measures["across_shoulder"] - measures["neck_width"]) / 2
        top += math.hypot(shoulder, measures["shoulder_drop"])
        sides.append((half_top, top))
    return Outline("sleeve", (*sides, (0.0, top)))


def _raglan_sleeve(measures: Measures, foot: list[Point]) -> Outline:
    """Right half its front edge, lower by as much as the front of the body; left half its back edge."""
    underarm, depth, arm = measures["sleeve_underarm"], measures["raglan_depth"], measures["upper_arm"] / 2
    way = raglan_way(measures, arm - raglan_base_cm(measures), measures["sleeve_top"] / 2, depth)
    front = cut_at(way, depth - raglan_front_lower_cm(measures))
    back_top = (way[-1][0], underarm + depth)
    right = (*foot, *((x, underarm + y) for x, y in front))
    return Outline("sleeve", right, (*foot, *((x, underarm + y) for x, y in way[:-1]), back_top))


def upper_outlines(measures: Measures) -> dict[str, Outline]:
    """Wanted outlines of back, front and sleeve by name."""
    outlines = [body_outline(measures, "back"), body_outline(measures, "front")]
    if sleeve_of(measures.shape).is_there:
        outlines.append(sleeve_outline(measures))
    return {outline.name: outline for outline in outlines}
