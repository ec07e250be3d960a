"""The beanie: a close cap in one flat piece with a seam at the back, a brim of rib that turns up, a crown of darts.

In: body, points of measure. Out: usual points, checks, wanted outline. Main assumption: the girth is 0.85 to 0.92 of
the head, so ease on the chest is not asked; the crown is as high as a flat disc on its girth (0.16 of it).
Not covered: needles and darts (`shaping.blocks.beanie`). Source: production reference 2.
"""

from __future__ import annotations

from itertools import pairwise

from loopwright.garment.blocks.block import Asked, Block, Usual
from loopwright.garment.bodies import Body
from loopwright.garment.measures import Measures, Points
from loopwright.garment.outline import Outline
from loopwright.garment.shape import Shape
from loopwright.garment.taken import Taken, parts_of
from loopwright.problems import Problem
from loopwright.sources.table import table

POINTS = frozenset(("half_girth", "brim_stretched", "cap_depth", "turn_up", "brim_rib"))


def head_cm(body: Body) -> float:
    """Girth of the head: of the survey, or of a child by its chest.

    >>> from loopwright.garment.bodies import woman
    >>> round(head_cm(woman(92)), 1)    # the survey's bin of bust 92
    56.2
    """
    if body.population != "children":
        return body["head"]
    rows = table("loopwright.garment", "heads").rows
    at = body["chest"]
    pairs = list(pairwise(rows))
    low, high = next((pair for pair in pairs if at <= pair[1]["chest_cm"]), pairs[-1])
    slope = (high["head_cm"] - low["head_cm"]) / (high["chest_cm"] - low["chest_cm"])
    return low["head_cm"] + slope * (at - low["chest_cm"])


def usual(asked: Asked) -> Usual:
    """Every point as (cm, words); typed ones are kept and others follow from them."""
    taken, parts, head = Taken(asked.typed), parts_of(asked.body.population), head_cm(asked.body)
    share = parts["girth_over_head"]
    taken.take("half_girth", share * head / 2, f"{share:g} of the head of {head:.1f} cm, half")
    taken.take("brim_stretched", head, "head of the body")
    taken.take("cap_depth", parts["depth_over_head"] * head, f"{parts['depth_over_head']:g} of the head")
    turned = taken.take("turn_up", parts["turn_up"], "usual")
    taken.take("brim_rib", 2 * turned, "twice the turn-up, so that rib lies on rib")
    return taken.points


def crown_cm(points: Points) -> float:
    """Height of the crown: the radius of a flat disc on the girth of the cap, 0.16 of it.

    >>> round(crown_cm({"half_girth": 25.0}), 1)    # a disc 50 cm round has a radius of 7.96
    8.0
    """
    return parts_of("women")["crown_over_girth"] * 2 * points["half_girth"]


def check(points: Points, shape: Shape, size: str) -> None:
    """Refuse measures that cannot be one cap.

    Raises:
        Problem: brim and crown fill its depth, or the turn-up is deeper than the cap.
    """
    del shape
    where, turned, depth = f"measures, size {size}", points["turn_up"], points["cap_depth"]
    if turned >= depth:
        what = f"a turn-up of {turned:.1f} cm covers the depth of {depth:.1f} cm."
        raise Problem(where, what, tries=["a lower turn-up", "a deeper cap"])
    whole, taken = depth + turned, points["brim_rib"] + crown_cm(points)
    if taken >= whole:
        what = (
            f"rib {points['brim_rib']:.1f} cm and crown {crown_cm(points):.1f} cm fill the {whole:.1f} cm of depth "
            "and turn-up."
        )
        raise Problem(where, what, tries=["a lower rib", "a deeper cap", "a smaller girth"])


def outlines(measures: Measures) -> dict[str, Outline]:
    """Wanted outline of the flat piece with its turn-up let down; its crown drawn as if its seam took all darts."""
    half, whole = measures["half_girth"], measures["cap_depth"] + measures["turn_up"]
    left = parts_of("women")["crown_left"] * half
    rib, foot = measures["brim_rib"], whole - crown_cm(measures.by_name)
    sides = [(0.0, 0.0), (half, 0.0), *([(half, rib)] if rib else []), (half, foot), (left, whole), (0.0, whole)]
    return {"beanie": Outline("beanie", tuple(sides))}


BLOCK = Block(
    "beanie", ("body", "hem"), ("", ""), lambda _shape: POINTS, usual, check, lambda _points, _shape: {}, outlines
)
