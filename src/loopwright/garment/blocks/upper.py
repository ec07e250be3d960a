"""Garments of the upper body: pullover, cardigan, vest and dress, of the same parts (body, sleeve, neck).

In: body, ease, shape, points of measure. Out: usual points, checks, lengths that follow.
Assumption: front and back are one block; a cardigan's fronts are halves of it. Necks and sleeves say themselves what
they add. Not covered: outlines (`garment.outline`), needles (`shaping.blocks.upper`).
Source: production reference 1.6, 2, 12.1; parts that are ours say so in the tables.
"""

from __future__ import annotations

import math
from collections.abc import Mapping

from loopwright.garment.blocks.block import Asked, Block, Usual
from loopwright.garment.bodies import Body
from loopwright.garment.measures import LARGEST_CM, Points
from loopwright.garment.necks import neck_called
from loopwright.garment.outline import upper_outlines
from loopwright.garment.set_in import cap_height_of, shoulder_drop_cm
from loopwright.garment.shape import Shape
from loopwright.garment.sleeves import (
    Sleeve,
    armhole_depth_cm,
    armhole_height_cm,
    armhole_inset_cm,
    check_sleeve,
    height_below_drop_cm,
    sleeve_of,
    sleeve_row,
    sleeve_underarm_cm,
    upper_arm_cm,
)
from loopwright.garment.taken import Taken
from loopwright.problems import Problem
from loopwright.sources.table import table

SHAPED = ("half_waist", "waist_level", "half_hip", "hip_level")
OF_THE_BODY = ("neck_width", "front_neck_drop", "length_below_waist")  # parts that grow with a child's height


def points(shape: Shape) -> frozenset[str]:
    """Points of measure of an upper-body garment."""
    there = {"length", "half_chest", "half_hem", "neck_width", "front_neck_drop", "back_neck_drop", "hem_rib"}
    there |= set(sleeve_of(shape).points)
    there.add("hood_height" if neck_called(shape.neck).trim == "hood" else "neckband")
    if shape.side == "shaped":
        there |= set(SHAPED)
    if shape.block == "cardigan":
        there.add("front_band")
    return frozenset(there)


def usual(asked: Asked) -> Usual:
    """Every point of measure as (cm, words); typed ones are kept and others follow from them.

    Raises:
        Problem: typed measures that contradict each other or the body's.
    """
    body, shape, taken = asked.body, asked.shape, Taken(asked.typed)
    parts = _parts(body, shape)
    chest = taken.take(
        "half_chest", (body.girth_cm + asked.ease_cm) / 2, f"(body {body.girth_cm:g} + ease {asked.ease_cm:g}) / 2"
    )
    _hem(taken, asked, parts, chest)
    _neck(taken, asked, parts)
    kind = sleeve_of(shape)
    if kind.has_shoulder:
        _shoulder(taken, asked, parts, kind, chest)
    else:
        depth = body["nape_to_armpit"] + parts["armhole_depth"] + _of_sleeve("raglan_depth_more", body)
        taken.take("raglan_depth", depth, "armpit level of the body + ease of a raglan")
    if kind.is_there:
        _sleeve(taken, asked, parts, kind)
    else:
        taken.take("armhole_band", _of_sleeve("armhole_band", body), "usual")
    if shape.block == "cardigan":
        taken.take("front_band", parts["front_band"], "usual")
    return taken.points


def _parts(body: Body, shape: Shape) -> dict[str, float]:
    parts = {row.text("part"): row[body.population] for row in table("loopwright.garment", "ease_parts")}
    neck = neck_called(shape.neck)
    parts |= {
        "neck_width": neck.width_cm[body.population],
        "front_neck_drop": neck.front_drop_cm[body.population],
        "back_neck_drop": neck.back_drop_cm[body.population],
        "neckband": neck.band_cm[body.population],
    }
    usual_crew = neck.name == "crew"
    own = {name: body[name] for name in OF_THE_BODY if name in body.figures}
    if not usual_crew:  # a child's other neck is as much wider or deeper than a crew as it is in the middle size
        crew = neck_called("crew")
        ratio = {
            "neck_width": neck.width_cm[body.population] / crew.width_cm[body.population],
            "front_neck_drop": neck.front_drop_cm[body.population] / crew.front_drop_cm[body.population],
        }
        own = {name: value * ratio.get(name, 1.0) for name, value in own.items()}
    return parts | own


def _of_sleeve(part: str, body: Body) -> float:
    return sleeve_row(part)[body.population]


def _hem(taken: Taken, asked: Asked, parts: Mapping[str, float], chest: float) -> None:
    body, shape = asked.body, asked.shape
    is_dress = shape.block == "dress"
    rib = taken.take("hem_rib", 0.0 if is_dress else parts["hem_rib"], "usual")
    below = parts["dress_below_waist"] if is_dress else parts["length_below_waist"]
    words = (
        "back waist length of the body + length of a dress"
        if is_dress
        else ("back waist length of the body + hip length")
    )
    taken.take("length", body["back_waist"] + below, words)
    if shape.side == "shaped":
        taken.take("waist_level", body["back_waist"], "back waist length of the body")
        taken.take("half_waist", (body["waist"] + asked.ease_cm) / 2, "waist + ease, half")
        taken.take("hip_level", parts["hip_below_waist"], "usual")
        hip = body["hip"] if "hip" in body.figures else 2 * chest - asked.ease_cm
        taken.take("half_hip", (hip + max(asked.ease_cm, 0.0)) / 2, "hip + ease, half")
    if rib:
        taken.take("half_hem", chest + parts["hem_over_chest"], f"half chest {parts['hem_over_chest']:+g}")
    elif shape.side == "shaped":
        flare = parts["dress_flare"] if is_dress else 0.0
        taken.take("half_hem", taken.points["half_hip"][0] + flare, f"half hip {flare:+g}")
    else:
        taken.take("half_hem", chest, "straight from the chest")


def _neck(taken: Taken, asked: Asked, parts: Mapping[str, float]) -> None:
    neck = neck_called(asked.shape.neck)
    taken.take("neck_width", parts["neck_width"], f"usual {neck.name} neck")
    taken.take("front_neck_drop", parts["front_neck_drop"], f"usual {neck.name} neck")
    taken.take("back_neck_drop", parts["back_neck_drop"], f"usual {neck.name} neck")
    taken.take("hood_height" if neck.trim == "hood" else "neckband", parts["neckband"], "usual")
    if sleeve_of(asked.shape).is_there:
        taken.take("cuff_rib", parts["cuff_rib"], "usual")


def _shoulder(taken: Taken, asked: Asked, parts: Mapping[str, float], kind: Sleeve, chest: float) -> None:
    body, across = asked.body, chest
    if "across_shoulder" in kind.points:
        across = taken.take("across_shoulder", *_across(body, parts, kind, chest))
    typed = {name: value for name, value in asked.typed.items() if name == "armhole_straight"}
    neck = taken.points["neck_width"][0]
    check_widths(
        {"half_chest": chest, "across_shoulder": across, "neck_width": neck} | typed, "measures of the base size"
    )
    shoulder = (across - neck) / 2
    dropped = kind.name in ("drop", "modified drop")
    angle = _of_sleeve("drop_shoulder_angle_deg", body) if dropped else parts["shoulder_angle_deg"]
    drop = taken.take(
        "shoulder_drop",
        round(shoulder_drop_cm(shoulder_length_cm=shoulder, angle_deg=angle), 1),
        f"shoulder at {angle:g}°",
    )
    if "armhole_straight" not in asked.typed:
        more = _of_sleeve("drop_armhole_more", body) if dropped else 0.0
        more += _of_sleeve("vest_armhole_more", body) if kind.name == "none" else 0.0
        height = height_below_drop_cm(body["nape_to_armpit"] + parts["armhole_depth"] + more, drop)
        inset = (chest - across) / 2
        taken.take("armhole_straight", math.hypot(height, inset), "armpit level of the body + ease")


def _across(body: Body, parts: Mapping[str, float], kind: Sleeve, chest: float) -> tuple[float, str]:
    if kind.name == "modified drop":
        inset = _of_sleeve("modified_inset", body)
        return chest - 2 * inset, f"half chest − 2 × {inset:g}"
    wide, widest = body["biacromial"] + parts["across_shoulder"], parts["across_over_chest"] * chest
    less = 2 * _of_sleeve("vest_inset_more", body) if kind.name == "none" else 0.0
    words = (
        f"{parts['across_over_chest']:g} of the half chest" if wide > widest else "shoulder breadth of the body + ease"
    )
    return min(wide, widest) - less, f"{words} − {less:g}" if less else words


def _sleeve(taken: Taken, asked: Asked, parts: Mapping[str, float], kind: Sleeve) -> None:
    body = asked.body
    taken.take("half_cuff", (body["wrist"] + parts["cuff"]) / 2, "wrist of the body + ease, half")
    underarm = body["outseam"] + parts["underarm_less_outseam"]
    if "half_upper_arm" in kind.points:
        if kind.is_raglan:
            taken.take("half_upper_arm", *_raglan_arm(taken, body))
        taken.take("half_upper_arm", (body["upper_arm"] + parts["upper_arm"]) / 2, "upper arm of the body + ease, half")
    if kind.is_raglan:
        taken.take("sleeve_underarm", underarm, "arm of the body, less the armhole")
        return
    values = taken.values()
    if not kind.has_cap:
        across = values.get("across_shoulder", values["half_chest"])
        length = drop_sleeve_cm(spine_to_wrist_cm=body["biacromial"] / 2 + body["outseam"], panel_width_cm=across)
        taken.take("sleeve_from_shoulder", length, "half the shoulders and the arm of the body, less half the panel")
        return
    if kind.name == "saddle":
        taken.take("saddle_width", _of_sleeve("saddle_width", body), "usual")
    cap = cap_height_of(
        inset_cm=armhole_inset_cm(values),
        armhole_height_cm=armhole_height_cm(values),
        upper_arm_cm=upper_arm_cm(taken.values()),
        top_cm=taken.values().get("saddle_width") if kind.name == "saddle" else None,
    )
    taken.take("sleeve_from_shoulder", underarm + cap, "arm of the body, less the armhole, with the cap")


def _raglan_arm(taken: Taken, body: Body) -> tuple[float, str]:
    """Half the upper arm of a raglan: the sleeve loses as much as the body, so that both edges are alike."""
    top = taken.take("sleeve_top", _of_sleeve("raglan_top", body), "usual")
    values = taken.values()
    alike = values["half_chest"] - values["neck_width"] + top
    least = body["upper_arm"] + _of_sleeve("raglan_least_arm_ease", body)
    words = "half chest less neck, with the sleeve's top: both edges of the raglan alike"
    return (alike / 2, words) if alike >= least else (least / 2, "upper arm of the body + least ease, half")


def drop_sleeve_cm(*, spine_to_wrist_cm: float, panel_width_cm: float) -> float:
    """Length of a dropped sleeve: spine to wrist less half the width of the panel it hangs on.

    >>> drop_sleeve_cm(spine_to_wrist_cm=80, panel_width_cm=62)    # P-15
    49.0
    """
    return spine_to_wrist_cm - panel_width_cm / 2


def check(points: Points, shape: Shape, size: str) -> None:
    """Refuse measures that cannot be one garment.

    Raises:
        Problem: the first contradiction, with both numbers.
    """
    where = f"measures, size {size}"
    check_widths(points, where)
    depth, length = armhole_depth_cm(points), points["length"]
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
    if shape.side == "shaped":
        _check_waist(points, depth, where)
    check_sleeve(points, shape, size)


def _check_waist(points: Points, depth: float, where: str) -> None:
    waist = points["waist_level"]
    if not depth < waist:
        what = f"the waist is {waist:.1f} cm below the high point of shoulder, the armhole reaches {depth:.1f} cm."
        raise Problem(where, what, tries=["a lower waist", "a shallower armhole"])
    end = points["length"] - points["hem_rib"]
    if waist >= end:
        what = f"the waist is {waist:.1f} cm below the high point of shoulder, the body above its rib {end:.1f} cm."
        raise Problem(where, what, tries=["a longer body", 'side = "straight"'])


def check_widths(points: Points, where: str) -> None:
    """Refuse chest, shoulder, neck and armhole that do not lie within each other.

    Raises:
        Problem: the first contradiction, with both numbers.
    """
    chest, neck = points["half_chest"], points["neck_width"]
    across = points.get("across_shoulder", chest)
    if across > chest:
        what = f"across shoulder {across:.1f} cm is wider than half chest {chest:.1f} cm."
        raise Problem(where, what, tries=["a narrower shoulder", "a drop shoulder"])
    if neck >= across:
        what = f"neck width {neck:.1f} cm leaves no shoulder within {across:.1f} cm."
        raise Problem(where, what, tries=["a narrower neck", "a wider shoulder"])
    straight, inset = points.get("armhole_straight", LARGEST_CM), (chest - across) / 2
    if straight <= inset:
        what = f"an armhole of {straight:.1f} cm cannot reach over an inset of {inset:.1f} cm."
        raise Problem(where, what, tries=["a deeper armhole", "a wider shoulder"])


def follows(points: Points, shape: Shape) -> dict[str, float]:
    """Depth of the armhole, full upper arm and cuff, underarm sleeve."""
    made = {"armhole_depth": armhole_depth_cm(points)}
    if sleeve_of(shape).is_there:
        made |= {
            "upper_arm": upper_arm_cm(points),
            "cuff": 2 * points["half_cuff"],
            "sleeve_underarm": sleeve_underarm_cm(points, shape),
        }
    return made


_ZONES = ("body", "hem", "sleeve", "cuff", "neckband")
BLOCKS = tuple(
    Block(name, zones, ("half_chest", "chest"), points, usual, check, follows, upper_outlines)
    for name, zones in (
        ("pullover", _ZONES),
        ("cardigan", _ZONES),
        ("dress", _ZONES),
        ("vest", ("body", "hem", "neckband")),
    )
)
