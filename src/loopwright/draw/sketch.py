"""The garment laid flat with its points of measure: front and back, each point where it is measured, by its letter.

In: `Measures`, the points to show. Out: SVG text and the letters that found a place. A point whose place cannot be
drawn on a silhouette (a hood, a stretched edge) is left to the words of the size specification.
Not covered: seams (`makeup_map`), panels (`panel`).
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from loopwright.draw import theme
from loopwright.draw.garment import Placed, silhouette
from loopwright.draw.svg import line, picture, words
from loopwright.garment.measures import Measures, letter_of_point
from loopwright.garment.outline import CHEST_BELOW_UNDERARM_CM, Point

ASIDE_CM = 3.0  # a line that lies along an edge stands so far from it
TICK, LETTER = 3.0, 13.0
SIDE, TOP, BETWEEN, FOOT = 24.0, 26.0, 20.0, 30.0  # px around and between the two views


@dataclass(frozen=True, slots=True)
class Mark:
    """A point of measure on the garment: its line in cm from centre line and hem, and the view that shows it."""

    name: str
    start: Point
    end: Point
    view: str = "front"
    letter_at: float = 0.5  # share of the line
    beside: int = 1  # a line too short for a gap has its letter to the right, or (−1) to the left


def marks_of(measures: Measures) -> tuple[Mark, ...]:
    """Where every point of a garment is measured, as far as it can be drawn on its silhouette."""
    has = measures.by_name
    marks = {"neck_width": _upper, "skirt_length": _skirt, "cap_depth": _cap}
    found = next((draw(measures) for name, draw in marks.items() if name in has), iter(()))
    return tuple(mark for mark in found if mark.name in has and has[mark.name] > 0)


def _upper(measures: Measures) -> Iterator[Mark]:
    has = measures.by_name
    top, half_neck = has["length"], has["neck_width"] / 2
    underarm = top - has["armhole_depth"]
    hem = has["half_hem"] / 2
    level = {"half_chest": underarm - CHEST_BELOW_UNDERARM_CM}
    if "waist_level" in has:
        level["half_waist"] = top - has["waist_level"]
        level["half_hip"] = level["half_waist"] - has.get("hip_level", 0.0)
    yield Mark("length", (-half_neck, 0.0), (-half_neck, top))
    for name, y in level.items():
        if name in has:
            yield Mark(name, (-has[name] / 2, y), (has[name] / 2, y))
    yield Mark("half_hem", (-hem, -ASIDE_CM), (hem, -ASIDE_CM))
    yield Mark("neck_width", (-half_neck, top + ASIDE_CM), (half_neck, top + ASIDE_CM))
    if "front_neck_drop" in has:
        yield Mark("front_neck_drop", (0.0, top), (0.0, top - has["front_neck_drop"]))
    if "hem_rib" in has:
        yield Mark("hem_rib", (hem * 0.6, 0.0), (hem * 0.6, has["hem_rib"]))
    if "waist_level" in has:
        yield Mark("waist_level", (-half_neck * 0.5, top), (-half_neck * 0.5, level["half_waist"]), "back")
    drop = has.get("shoulder_drop", 0.0)
    if "across_shoulder" in has:
        half = has["across_shoulder"] / 2
        yield Mark("across_shoulder", (-half, top - drop), (half, top - drop), "back", 0.2)
        aside = half - 2 * ASIDE_CM
        yield Mark("armhole_straight", (aside, top - drop), (aside, underarm), "back")
        yield Mark("shoulder_drop", (half + ASIDE_CM, top), (half + ASIDE_CM, top - drop), "back")
    if "raglan_depth" in has:
        yield Mark("raglan_depth", (-half_neck, top), (-half_neck, top - has["raglan_depth"]), "back")
    if "back_neck_drop" in has:
        yield Mark("back_neck_drop", (0.0, top), (0.0, top - has["back_neck_drop"]), "back")
    yield from _sleeve(measures)


def _sleeve(measures: Measures) -> Iterator[Mark]:
    """Along and across the right sleeve, as it hangs on the silhouette."""
    sleeve = silhouette(measures).sleeve
    if not sleeve:
        return
    shoulder, outside, inside, underarm = sleeve
    length = math.dist(inside, underarm)
    down = ((inside[0] - underarm[0]) / length, (inside[1] - underarm[1]) / length)
    cuff = math.dist(outside, inside)
    across = ((outside[0] - inside[0]) / cuff, (outside[1] - inside[1]) / cuff)

    def beside(point: Point) -> Point:
        return point[0] + across[0] * ASIDE_CM, point[1] + across[1] * ASIDE_CM

    def edge_to_edge(inner: Point) -> tuple[Point, Point]:
        """From a place on the inner edge square across to the outer edge."""
        along = (inner[0] - inside[0]) * down[0] + (inner[1] - inside[1]) * down[1]  # from the cuff, upward negative
        outer = (outside[0] - shoulder[0], outside[1] - shoulder[1])
        share = along / (outer[0] * down[0] + outer[1] * down[1])
        return inner, (outside[0] + outer[0] * share, outside[1] + outer[1] * share)

    has = measures.by_name
    yield Mark("sleeve_from_shoulder", beside(shoulder), beside(outside))
    start = (underarm[0] + down[0] * CHEST_BELOW_UNDERARM_CM, underarm[1] + down[1] * CHEST_BELOW_UNDERARM_CM)
    yield Mark("half_upper_arm", *edge_to_edge(start))
    rib = has.get("cuff_rib", 0.0)
    join = (inside[0] - down[0] * rib, inside[1] - down[1] * rib)
    yield Mark("half_cuff", *edge_to_edge(join))
    if rib:
        aside = (inside[0] - across[0] * ASIDE_CM, inside[1] - across[1] * ASIDE_CM)
        yield Mark("cuff_rib", aside, (aside[0] - down[0] * rib, aside[1] - down[1] * rib), beside=-1)


def _skirt(measures: Measures) -> Iterator[Mark]:
    has = measures.by_name
    hem, length = has.get("half_hem", has.get("half_hip", 0.0)) / 2, has["skirt_length"]
    yield Mark("skirt_length", (hem + ASIDE_CM, 0.0), (hem + ASIDE_CM, length))
    yield Mark("half_hem", (-hem, -ASIDE_CM), (hem, -ASIDE_CM))
    if "half_waist" in has:
        yield Mark("half_waist", (-has["half_waist"] / 2, length), (has["half_waist"] / 2, length))
    if "half_hip" in has and "hip_level" in has:
        y = length - has["hip_level"]
        yield Mark("half_hip", (-has["half_hip"] / 2, y), (has["half_hip"] / 2, y))


def _cap(measures: Measures) -> Iterator[Mark]:
    """A cap with its turn-up let down."""
    has = measures.by_name
    half, turned, rib = has["half_girth"] / 2, has["turn_up"], has["brim_rib"]
    yield Mark("half_girth", (-half, rib + ASIDE_CM), (half, rib + ASIDE_CM))
    yield Mark("cap_depth", (half + ASIDE_CM, turned), (half + ASIDE_CM, turned + has["cap_depth"]))
    yield Mark("turn_up", (-half - ASIDE_CM, 0.0), (-half - ASIDE_CM, turned))
    yield Mark("brim_rib", (half * 0.6, 0.0), (half * 0.6, rib))


def sketch_picture(
    measures: Measures, shown: Sequence[str], *, width: float = 640.0, key: str = "sketch"
) -> tuple[str, frozenset[str]]:
    """Front and back side by side at one scale, with the points among `shown`; and the names of those drawn."""
    marks = [mark for mark in marks_of(measures) if mark.name in shown]
    views = ["front", *(["back"] if any(mark.view == "back" for mark in marks) else [])]
    shapes = {view: silhouette(measures, view) for view in views}
    shape = shapes["front"]
    room = (width - 2 * SIDE - BETWEEN * (len(views) - 1)) / len(views)
    px = room / (2 * (shape.half_width_cm + ASIDE_CM))
    base = TOP + (shape.height_cm + 2 * ASIDE_CM) * px
    parts: list[str] = []
    for place, view in enumerate(views):
        middle = SIDE + room / 2 + place * (room + BETWEEN)
        placed = Placed(shapes[view], middle, base, px)
        parts += placed.outline()
        parts += [_drawn(placed, mark) for mark in marks if mark.view == view]
        parts.append(words(middle, base + ASIDE_CM * px + FOOT, view, size=12, anchor="middle", fill=theme.INK_2))
    letters = ", ".join(letter_of_point(mark.name) for mark in marks)
    description = f"The garment laid flat, {' and '.join(views)}, with the points {letters}." if marks else "Laid flat."
    height = base + ASIDE_CM * px + FOOT + 10
    svg = picture(
        "".join(parts), width=width, height=height, title="Points of measure", description=description, key=key
    )
    return svg, frozenset(mark.name for mark in marks)


def _drawn(placed: Placed, mark: Mark) -> str:
    """A line with slanted ticks and its letter in a clear gap."""
    (x1, y1), (x2, y2) = placed.points([mark.start, mark.end])
    at_x, at_y = x1 + (x2 - x1) * mark.letter_at, y1 + (y2 - y1) * mark.letter_at
    length = math.dist((x1, y1), (x2, y2))
    ticks = "".join(
        line(x - TICK, y + TICK, x + TICK, y - TICK, width=theme.DIMENSION) for x, y in ((x1, y1), (x2, y2))
    )
    letter = letter_of_point(mark.name)
    half = 4.5 + 3.6 * len(letter)
    if length < 2 * half + 6:  # too short for a gap: the letter stands beside it
        side = (max if mark.beside > 0 else min)(x1, x2) + mark.beside * (half + 2)
        return line(x1, y1, x2, y2, width=theme.DIMENSION) + ticks + _letter(side, at_y + 4, letter)
    dx, dy = (x2 - x1) / length, (y2 - y1) / length
    ends = ((x1, y1, at_x - dx * half, at_y - dy * half), (at_x + dx * half, at_y + dy * half, x2, y2))
    halves = "".join(line(*each, width=theme.DIMENSION) for each in ends)
    return halves + ticks + _letter(at_x, at_y + 4.5, letter)


def _letter(x: float, y: float, letter: str) -> str:
    return words(x, y, letter, size=LETTER, anchor="middle", font_family=theme.SERIF, font_weight=600)
