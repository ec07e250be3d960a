"""Garments to scale: the silhouette of one size laid flat, and several beside each other on one base line.

In: `Measures`. Out: SVG text. Front and back are the wanted outlines of the block; the sleeve hangs from the armhole,
its length and cuff those of the measures, its angle chosen for the eye (a sleeve lies as it is laid).
Not covered: knit-downs (`panel`), seams (`makeup_map`).
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from loopwright.draw import theme
from loopwright.draw.svg import Attribute, line, path, picture, words
from loopwright.garment.blocks import block_of
from loopwright.garment.measures import Measures
from loopwright.garment.outline import BodyParts, Outline, Point, body_parts
from loopwright.garment.sleeves import sleeve_of

SLEEVE_ANGLE_DEG = 24.0  # of a hanging sleeve from the upright, chosen for the eye
GAP, LABEL, TOP, BAR = 30.0, 30.0, 10.0, 84.0
TALLEST = 190.0  # px of the tallest garment at most
BAR_CM = 50


@dataclass(frozen=True, slots=True)
class Silhouette:
    """Points of a garment laid flat, cm, x from the centre line, y up from the hem; right side, mirrored on the left.

    `front` is its outline, `sleeve` goes shoulder point, cuff outside, cuff inside, underarm (none: no points). `thin`
    are lines inside it (rib joins, back neck, a front opening); `seams` the edges of its seams by their names.
    """

    front: tuple[Point, ...]
    sleeve: tuple[Point, ...]
    thin: tuple[tuple[Point, ...], ...]
    seams: Mapping[str, tuple[Point, ...]]

    @property
    def half_width_cm(self) -> float:
        """From the centre line to the outermost point of the sleeve."""
        return max(x for x, _ in (*self.front, *self.sleeve))

    @property
    def height_cm(self) -> float:
        """From the lowest point, hem or cuff, to the high point of the shoulder."""
        return max(y for _, y in self.front) - self.lowest_cm

    @property
    def lowest_cm(self) -> float:
        """How far a cuff hangs below the hem (negative), or zero."""
        return min(0.0, *(y for _, y in (*self.front, *self.sleeve)))


def silhouette(measures: Measures, view: str = "front") -> Silhouette:
    """The flat garment of a size: an upper-body garment with its sleeves, a skirt, or what its first panel folds to.

    `view` "back" shows an upper-body garment from behind: its back neck, and no front opening.
    """
    if "skirt_length" in measures.by_name:
        return _skirt(measures)
    if "neck_width" not in measures.by_name:
        return _of_a_panel(next(iter(block_of(measures.shape).outlines(measures).values())), measures)
    parts, back = body_parts(measures, "front"), body_parts(measures, "back")
    kind = sleeve_of(measures.shape)
    underarm = parts.side[-1]
    top = (*parts.armhole, *parts.shoulder)[-1] if kind.is_raglan else parts.armhole[-1]
    sleeve = _sleeve(measures, top, underarm) if kind.is_there else ()
    rib = parts.foot[-1] if measures["hem_rib"] else parts.foot[1]
    thin: list[tuple[Point, ...]] = [((0.0, rib[1]), rib)]
    if view == "front":
        thin.append((back.half[-len(back.neck) - 1], *back.neck))
    if measures.shape.block == "cardigan" and view == "front":
        thin.append(((0.0, 0.0), parts.neck[-1]))
    if sleeve:
        thin.append(_cuff_join(measures, top, underarm))
    half = parts.half if view == "front" else back.half
    return Silhouette(half, sleeve, tuple(thin), _seams(measures, parts, sleeve))


def _skirt(measures: Measures) -> Silhouette:
    """A skirt by its waist, hip and hem, whichever way it is knitted."""
    length = measures["skirt_length"]
    hip = (measures["half_hip"] / 2, max(0.0, length - measures["hip_level"]))
    waist = (measures["half_waist"] / 2, length)
    sides = ((measures["half_hem"] / 2, 0.0), hip, waist)
    return Silhouette(
        ((0.0, 0.0), *sides, (0.0, length)), (), (), {"sides": sides, "waistband": (waist, (0.0, length))}
    )


def _of_a_panel(outline: Outline, measures: Measures) -> Silhouette:
    """A panel as the garment lies: a cap folded at its middle, a leg with its foot down, a rectangle as it is."""
    folded = 0.5 if "half_girth" in measures.by_name else 1.0
    top = max(y for _, y in outline.half)
    turned = "half_thigh" in measures.by_name
    half = tuple((folded * x, top - y if turned else y) for x, y in (outline.half[::-1] if turned else outline.half))
    sides = tuple(point for point in half if point[0] > 0)
    return Silhouette(half, (), (), {"sides": sides, "back seams": sides})


def _seams(measures: Measures, parts: BodyParts, sleeve: tuple[Point, ...]) -> dict[str, tuple[Point, ...]]:
    """Edges of the seams by the names that the knit-down gives them."""
    kind, underarm = sleeve_of(measures.shape), parts.side[-1]
    armhole = (underarm, *parts.armhole)
    corner = (*parts.armhole, *parts.shoulder)[-1]
    made: dict[str, tuple[Point, ...]] = {
        "sides": (parts.foot[1], *parts.foot[2:], *parts.side),
        "neckband": (corner, *parts.neck),
        "hood": (corner, *parts.neck),
        "armhole bands": armhole,
    }
    if measures.shape.block == "cardigan":
        made["front bands"] = ((0.0, 0.0), parts.neck[-1])
    if kind.is_raglan:
        made["raglans"] = armhole
    else:
        made |= {"armholes": armhole, "shoulders": (parts.armhole[-1], corner), "saddles": (parts.armhole[-1], corner)}
    if sleeve:
        made["underarms"] = (sleeve[3], sleeve[2])
    return made


def _axis(shoulder: Point, underarm: Point) -> tuple[Point, Point]:
    """(middle of the armhole, direction down the sleeve)."""
    angle = math.radians(SLEEVE_ANGLE_DEG)
    return ((shoulder[0] + underarm[0]) / 2, (shoulder[1] + underarm[1]) / 2), (math.sin(angle), -math.cos(angle))


def _sleeve(measures: Measures, shoulder: Point, underarm: Point) -> tuple[Point, ...]:
    """Shoulder point, cuff outside, cuff inside, underarm: underarm and cuff as long as measured, at a right angle."""
    _, (down_x, down_y) = _axis(shoulder, underarm)
    length, cuff = measures["sleeve_underarm"], measures["cuff"] / 2
    inside = (underarm[0] + down_x * length, underarm[1] + down_y * length)
    outside = (inside[0] - down_y * cuff, inside[1] + down_x * cuff)
    return (shoulder, outside, inside, underarm)


def _cuff_join(measures: Measures, shoulder: Point, underarm: Point) -> tuple[Point, Point]:
    """Where the cuff rib is joined, outside and inside."""
    top, outside, inside, under = _sleeve(measures, shoulder, underarm)
    share = measures["cuff_rib"] / measures["sleeve_underarm"]
    return _part(outside, top, share), _part(inside, under, share)


def _part(start: Point, end: Point, share: float) -> Point:
    return start[0] + (end[0] - start[0]) * share, start[1] + (end[1] - start[1]) * share


@dataclass(frozen=True, slots=True)
class Placed:
    """A silhouette on the sheet: x of its centre line, y of its lowest point, scale."""

    shape: Silhouette
    x: float
    base: float
    px_per_cm: float

    def points(self, points: Sequence[Point], side: int = 1) -> list[Point]:
        """Points of the sheet; `side` −1 is the left half."""
        low = self.shape.lowest_cm
        return [(self.x + side * x * self.px_per_cm, self.base - (y - low) * self.px_per_cm) for x, y in points]

    def outline(self) -> Iterator[str]:
        """Sleeves, body, neck and rib joins."""
        look: dict[str, Attribute] = {"fill": "#FFFFFF", "stroke": theme.INK, "stroke_width": theme.OUTLINE}
        thin: dict[str, Attribute] = {"fill": "none", "stroke": theme.INK_3, "stroke_width": 0.8}
        for side in (1, -1) if self.shape.sleeve else ():
            yield path(self.points(self.shape.sleeve, side), closed=True, stroke_linejoin="round", **look)
        body = [*self.points(self.shape.front), *reversed(self.points(self.shape.front, -1))]
        yield path(body, closed=True, stroke_linejoin="round", **look)
        for points in self.shape.thin:
            for side in (1, -1):
                yield path(self.points(points, side), closed=False, **thin)


def garments_at_one_scale(
    garments: Sequence[tuple[str, Measures]], *, width: float = 760.0, key: str = "garments"
) -> str:
    """Garments beside each other on one base line at one scale, with a bar of 50 cm."""
    shapes = [(label, silhouette(measures)) for label, measures in garments]
    across = sum(2 * shape.half_width_cm for _, shape in shapes)
    tallest = max((shape.height_cm for _, shape in shapes), default=BAR_CM)
    room = width - BAR - GAP * len(shapes)
    px = min(room / across if across else math.inf, TALLEST / max(tallest, BAR_CM))
    base = TOP + max(tallest, BAR_CM) * px
    parts, x = [line(0, base, width - BAR, base, stroke=theme.RULE)], 0.0
    for label, shape in shapes:
        half = shape.half_width_cm * px
        parts += Placed(shape, x + half, base, px).outline()
        parts.append(
            words(x + half, base + 20, label, size=13, anchor="middle", font_family=theme.SERIF, font_weight=600)
        )
        x += 2 * half + GAP
    parts += _bar(width - BAR + 24, base, px)
    names = ", ".join(label for label, _ in shapes)
    description = f"{names or 'No garment'}, laid flat at one scale on one base line."
    title = "Garments at one scale"
    return picture("".join(parts), width=width, height=base + LABEL, title=title, description=description, key=key)


def _bar(x: float, base: float, px: float) -> Iterator[str]:
    """Upright bar of 50 cm, ticks every 10."""
    yield line(x, base, x, base - BAR_CM * px)
    for cm in range(0, BAR_CM + 1, 10):
        yield line(x, base - cm * px, x + (8 if cm in (0, BAR_CM) else 4), base - cm * px)
    yield words(x + 13, base + 4, "0", size=12, fill=theme.INK_2)
    yield words(x + 13, base - BAR_CM * px + 4, f"{BAR_CM} cm", size=12, fill=theme.INK_2)
