"""The skirt: a tube from waist to hem, flared by narrowings, by the length of its loops, or by gores of short rows.

In: body, ease on the hip, shape, points of measure. Out: usual points, checks, wanted outlines. A close skirt has a
negative ease. Main assumption: front and back are alike; a sideways skirt is one cone, so its hip follows from waist
and hem. Not covered: needles and courses (`shaping.blocks.skirt`). Source: production reference 2, 3.8.
"""

from __future__ import annotations

from loopwright.garment.blocks.block import Asked, Block, Usual
from loopwright.garment.measures import Measures, Points
from loopwright.garment.outline import Outline, Point
from loopwright.garment.shape import SKIRTS, Shape, one_of
from loopwright.garment.taken import Taken, parts_of, refuse_wider
from loopwright.problems import Problem
from loopwright.sources.table import table

NARROWED, FLARED, SIDEWAYS = SKIRTS
_EVERY = ("half_waist", "half_hip", "hip_level", "half_hem", "skirt_length", "waistband", "waist_stretched")


def points(shape: Shape) -> frozenset[str]:
    """Points of measure of a skirt; one knitted sideways has no rib at its hem."""
    rib = () if skirt_of(shape) == SIDEWAYS else ("hem_rib",)
    return frozenset((*_EVERY, *rib))


def skirt_of(shape: Shape) -> str:
    """How a skirt gets its flare.

    Raises:
        Problem: no such skirt.
    """
    return one_of(shape.skirt, SKIRTS, "garment.skirt", "skirt")


def usual(asked: Asked) -> Usual:
    """Every point as (cm, words); typed ones are kept and others follow from them."""
    body, kind, taken = asked.body, skirt_of(asked.shape), Taken(asked.typed)
    parts = parts_of(body.population)
    hip = (body["hip"] + asked.ease_cm) / 2
    words = f"(hip {body['hip']:.1f} + ease {asked.ease_cm:g}) / 2"
    waist = min((body["waist"] + min(asked.ease_cm, 0.0)) / 2, hip)
    length = taken.take("skirt_length", parts["skirt_over_crotch"] * body["crotch_height"], "to the knee")
    level = taken.take("hip_level", min(_hip_level(body.population), length / 2), "usual")
    if kind == SIDEWAYS:
        _cone(taken, waist, hip, length / level, parts["sideways_least_flare"])
    elif kind == FLARED:
        hip = taken.take("half_hip", hip, words)
        hem = taken.take("half_hem", hip + parts["flared_hem"], f"half hip + {parts['flared_hem']:g}")
        least = hem / parts["flared_ratio"]
        taken.take("half_waist", min(max(waist, least), hip), "waist of the body, or as close as loops flare")
    else:
        hip = taken.take("half_hip", hip, words)
        taken.take("half_waist", min(waist, hip), "waist of the body, half")
        taken.take("half_hem", hip + parts["skirt_flare"], f"half hip + {parts['skirt_flare']:g}")
    if kind != SIDEWAYS:
        taken.take("hem_rib", 0.0, "usual")
    taken.take("waistband", parts["waistband"], "usual")
    more = parts["waist_over_hip"]
    taken.take("waist_stretched", body["hip"] + more, f"hip of the body + {more:g}")
    return taken.points


def _hip_level(population: str) -> float:
    return table("loopwright.garment", "ease_parts").by("part")["hip_below_waist"][population]


def _cone(taken: Taken, waist: float, hip: float, length_over_level: float, least: float) -> None:
    """Waist and hem of a cone that clears the hip; the hip is what the cone has there."""
    waist = taken.take("half_waist", waist, "waist of the body, half")
    flare = max(least, (hip - waist) * length_over_level)
    hem = taken.take("half_hem", waist + flare, "as the cone from waist over hip")
    taken.take("half_hip", waist + (hem - waist) / length_over_level, "as the cone from waist to hem")


def check(points: Points, shape: Shape, size: str) -> None:
    """Refuse measures that cannot be one skirt.

    Raises:
        Problem: the first contradiction, with both numbers.
    """
    where, kind = f"measures, size {size}", skirt_of(shape)
    length, level, rib = points["skirt_length"], points["hip_level"], points.get("hem_rib", 0.0)
    flares_from = {FLARED: "half_hip", SIDEWAYS: "half_waist"}.get(kind)
    if flares_from is not None:
        tries = ["a wider hem", 'skirt = "narrowed", whose hem may be closer']
        refuse_wider(points, flares_from, "half_hem", where, tries)
    refuse_wider(points, "half_waist", "half_hip", where, ["a closer waist", "more ease on the hip"])
    if level + rib >= length:
        what = f"hip level {level:.1f} cm and hem rib {rib:.1f} cm fill the length of {length:.1f} cm."
        raise Problem(where, what, tries=["a longer skirt", "a lower rib", "a higher hip level"])


def cone_hip_cm(measures: Measures) -> float:
    """Half width of a straight cone at the hip level, from half waist and half hem.

    >>> names = (("half_waist", 37.0), ("half_hem", 75.0), ("skirt_length", 60.0), ("hip_level", 20.0))
    >>> round(2 * cone_hip_cm(Measures(Shape(block="skirt", skirt="sideways"), names)), 1)    # waist 74, hem 150
    99.3
    """
    share = measures["hip_level"] / measures["skirt_length"]
    return measures["half_waist"] + share * (measures["half_hem"] - measures["half_waist"])


def outlines(measures: Measures) -> dict[str, Outline]:
    """Wanted outlines: back and front, or the unrolled cone of a sideways skirt with its hem at the left."""
    if skirt_of(measures.shape) == SIDEWAYS:
        return {"skirt": _unrolled(measures)}
    hem, rib, length = measures["half_hem"] / 2, measures["hem_rib"], measures["skirt_length"]
    side: list[Point] = [(0.0, 0.0), (hem, 0.0), *([(hem, rib)] if rib else [])]
    side += [(measures["half_hip"] / 2, length - measures["hip_level"]), (measures["half_waist"] / 2, length)]
    half = (*side, (0.0, length))
    return {name: Outline(name, half) for name in ("back", "front")}


def _unrolled(measures: Measures) -> Outline:
    half, waist, hem = measures["skirt_length"] / 2, 2 * measures["half_waist"], 2 * measures["half_hem"]
    top = (0.0, (waist + hem) / 2)
    return Outline("skirt", ((0.0, 0.0), (half, 0.0), (half, waist), top), ((0.0, 0.0), (half, 0.0), (half, hem), top))


BLOCK = Block(
    "skirt",
    ("body", "hem", "neckband"),
    ("half_hip", "hip"),
    points,
    usual,
    check,
    lambda _points, _shape: {},
    outlines,
)
