"""Stocking and tights, knitted flat: a leg from its top down to the toe, closed by one seam at the back.

In: body, points of measure. Out: usual points, checks, wanted outlines. Main assumption: every width is the body's less
15 per cent, the most that plain wool is made closer; so ease on the chest is not asked. A foot of 0 leaves the leg open
at the ankle. Heights of calf and knee are shares of the leg.
Not covered: needles, heel, toe (`shaping.blocks.leg`); a leg on a cylinder (`shaping.tube`).
Source: production reference 1.3, 1.4, 2.
"""

from __future__ import annotations

from dataclasses import dataclass

from loopwright.garment.blocks.block import Asked, Block, Usual
from loopwright.garment.bodies import Body
from loopwright.garment.measures import Measures, Points
from loopwright.garment.outline import Outline, Point
from loopwright.garment.shape import Shape
from loopwright.garment.taken import Taken, parts_of, refuse_wider
from loopwright.problems import Problem

_LEG = ("half_thigh", "half_lower_thigh", "half_calf", "half_ankle", "leg_length", "foot_length", "welt")
_TIGHTS = ("rise", "half_hip", "waist_stretched", "gusset")
_WIDTHS = (("half_thigh", "thigh"), ("half_lower_thigh", "lower_thigh"), ("half_calf", "calf"), ("half_ankle", "ankle"))


def points(shape: Shape) -> frozenset[str]:
    """Points of measure of a leg; tights reach up to the waist."""
    return frozenset((*_LEG, *(_TIGHTS if shape.block == "tights" else ())))


def usual(asked: Asked) -> Usual:
    """Every point as (cm, words); typed ones are kept and others follow from them."""
    body, name, taken = asked.body, asked.shape.block, Taken(asked.typed)
    parts = parts_of(body.population)
    closer = parts["leg_closer"]
    for point, dimension in _WIDTHS:
        girth, words = body[dimension], dimension.replace("_", " ")
        if point == "half_thigh" and name == "stocking":
            girth, words = _top_of_stocking_cm(body, parts["stocking_top"]), "leg at the top of the stocking"
        taken.take(point, girth * (1 - closer) / 2, f"{words} − {closer:.0%}, half")
    share = parts[f"{name}_over_crotch"]
    length = taken.take("leg_length", share * body["crotch_height"], f"{share:g} of the crotch height")
    taken.take("foot_length", parts["foot_over_foot"] * body["foot_length"], f"{parts['foot_over_foot']:g} of the foot")
    taken.take("welt", min(parts["leg_welt"], parts["welt_over_leg"] * length), "usual")
    if name == "tights":
        closer = parts["tights_hip_closer"]
        taken.take("half_hip", body["hip"] * (1 - closer) / 2, f"hip − {closer:.0%}, half")
        taken.take("rise", parts["rise_over_hip"] * body["hip"], f"{parts['rise_over_hip']:g} of the hip")
        more = parts["waist_over_hip"]
        taken.take("waist_stretched", body["hip"] + more, f"hip of the body + {more:g}")
        taken.take("gusset", parts["gusset"], "usual")
    return taken.points


def _top_of_stocking_cm(body: Body, share: float) -> float:
    """Girth of the leg where a stocking ends, between the lower thigh and the thigh."""
    return body["lower_thigh"] + share * (body["thigh"] - body["lower_thigh"])


def check(points: Points, shape: Shape, size: str) -> None:
    """Refuse measures that cannot be one leg.

    Raises:
        Problem: the first contradiction, with both numbers.
    """
    where = f"measures, size {size}"
    for narrow, wide in (
        ("half_lower_thigh", "half_thigh"),
        ("half_calf", "half_thigh"),
        ("half_ankle", "half_calf"),
        ("half_ankle", "half_lower_thigh"),
    ):
        refuse_wider(points, narrow, wide, where, [f"a closer {narrow[5:].replace('_', ' ')}", "a wider leg above it"])
    if "rise" in points and points["welt"] >= points["rise"]:
        what = f"a welt of {points['welt']:.1f} cm fills the rise of {points['rise']:.1f} cm."
        raise Problem(where, what, tries=["a lower welt", "a higher rise"])
    above = (1 - parts_of("women")["stocking_knee"]) * points["leg_length"]
    if shape.block == "stocking" and points["welt"] >= above:
        what = f"a welt of {points['welt']:.1f} cm reaches down to the knee, {above:.1f} cm below the top."
        raise Problem(where, what, tries=["a lower welt", "a longer leg"])


@dataclass(frozen=True, slots=True)
class Level:
    """A place of a leg: the stretch that ends there, its full width, its way from the top, both cm."""

    name: str
    width_cm: float
    down_cm: float


def levels(measures: Measures) -> tuple[Level, ...]:
    """The leg from its top down to the tip of the toe, as it is knitted; the welt's rib is the first stretch."""
    parts, kind = parts_of("women"), measures.shape.block
    leg, top = measures["leg_length"], 0.0
    thigh = 2 * measures["half_thigh"]
    first = 2 * measures["half_thigh"] if kind == "stocking" else measures["half_hip"]
    made = [Level("welt", first, measures["welt"])]
    if kind == "tights":
        top = measures["rise"]
        made.append(Level("rise", thigh, top))
    made.append(Level("thigh", 2 * measures["half_lower_thigh"], top + leg * (1 - parts[f"{kind}_knee"])))
    made.append(Level("knee", 2 * measures["half_calf"], top + leg * (1 - parts[f"{kind}_calf"])))
    ankle, foot = 2 * measures["half_ankle"], measures["foot_length"]
    made.append(Level("calf", ankle, top + leg))
    if foot:
        toe = parts["toe_over_foot"] * foot
        made.append(Level("foot", ankle, top + leg + foot - toe))
        made.append(Level("toe", parts["toe_left"] * ankle, top + leg + foot))
    return tuple(made)


def outlines(measures: Measures) -> dict[str, Outline]:
    """Wanted outlines as knitted: the top of the leg lies at the bottom. The heel's short rows are not in it."""
    ways = levels(measures)
    side: list[Point] = [(0.0, 0.0), (ways[0].width_cm / 2, 0.0)]
    side += [(each.width_cm / 2, each.down_cm) for each in ways if each.down_cm]
    made = {"leg": Outline("leg", (*side, (0.0, ways[-1].down_cm)))}
    if "gusset" in measures.by_name:
        half, whole = measures["gusset"] / 2, measures["gusset"]
        made["gusset"] = Outline("gusset", ((0.0, 0.0), (half, 0.0), (half, whole), (0.0, whole)))
    return made


BLOCKS = tuple(
    Block(name, ("body", "hem"), ("", ""), points, usual, check, lambda _points, _shape: {}, outlines)
    for name in ("stocking", "tights")
)
