"""A cut across the wales: where front and back loops lie, and how thick the cloth is.

In: a `Fabric`. Out: one SVG at one scale in both directions, face above. The yarn of the first feed is drawn as thick
as it is, that of the second as a dashed line; the two faint lines are the faces of the cloth at the thickness of the
study. Loops are flattened into the plane of the cut; the form is indicative.
Not covered: loops in plan (`cloth`). Source: `fabric.loop_path`.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise

from loopwright.draw import theme
from loopwright.draw.svg import element, line, number, picture, words
from loopwright.fabric.fabric import Fabric
from loopwright.fabric.loop_path import (
    BED_OFFSET,
    FLOAT_BEHIND,
    HALF_DEPTH,
    LoopPaths,
    StitchPlace,
    YarnPath,
    loop_paths,
)
from loopwright.figure import plain
from loopwright.structure.notation import Stitch

WALES_SHOWN = 6.0  # wales of both beds in the picture
ROUND = 0.3  # how far the yarn rounds where it turns, over the depth that it crosses
LEG = 0.27  # half the distance of a loop's legs, in widths of its place
TUCK_LEG = 0.1  # a tuck lies nearer the middle than a loop of its bed, in half depths
TOP, SIDE, FOOT = 26.0, 62.0, 42.0
FURTHEST = 0.45  # the picture is at most so high over its width

Crossing = tuple[float, float, bool]  # x, z (mm), whether a leg


def cross_section_picture(fabric: Fabric, *, width: float = 248.0, key: str = "section") -> str:
    """The cloth cut across its wales, face above."""
    paths = loop_paths(fabric.geometry, fabric.yarn.diameter_mm.value)
    thick = fabric.thickness.value
    room = width - SIDE
    shown_mm = WALES_SHOWN * paths.width_mm / len(paths.wales)
    px = min(room / shown_mm, FURTHEST * width / thick)
    middle = TOP + thick * px / 2
    bottom = TOP + thick * px
    tube = paths.diameter_mm * px
    clip = element("clipPath", element("rect", width=room, height=bottom + 20), id=f"{key}-clip")
    yarns = "".join(_yarns(paths, px, middle, room, tube))
    parts = [
        element("defs", clip),
        *(line(0, y, room + 14, y, stroke=theme.RULE) for y in (TOP, bottom)),
        element("g", yarns, clip_path=f"url(#{key}-clip)"),
        *_dimension(room + 10, bottom, f"{plain(thick, 1)} mm", theme.EVIDENCE_DASH[fabric.thickness.basis.value]),
        words(0, TOP - 8, "face", size=12, fill=theme.INK_2),
        words(0, bottom + 16, "back", size=12, fill=theme.INK_2),
        words(0, bottom + 34, _caption(paths), size=12, fill=theme.INK_2),
    ]
    description = (
        f"{fabric.structure.name} cut across its wales, {plain(room / px, 1)} mm of it; thickness at 1 kPa "
        f"{fabric.thickness.text()}. The form is indicative."
    )
    title = f"{fabric.structure.name}, cut across the wales"
    return picture("".join(parts), width=width, height=bottom + FOOT, title=title, description=description, key=key)


def _caption(paths: LoopPaths) -> str:
    feeds = len(paths.paths)
    if feeds == 1:
        return "form indicative"
    return "solid: feed 1, dashed: feed 2" + (f" of {feeds}" if feeds > 2 else "")


def _yarns(paths: LoopPaths, px: float, middle: float, room: float, tube: float) -> Iterator[str]:
    lines = [_line(path, paths, px, middle, room) for path in paths.paths[:2]]
    yield element("path", d=lines[0], fill="none", stroke=theme.INK, stroke_width=tube, class_="feed-1")
    yield element("path", d=lines[0], fill="none", stroke=theme.TONE_2, stroke_width=max(tube - 2.4, 0.5))
    for text in lines[1:]:
        yield element(
            "path", d=text, fill="none", stroke=theme.INK, stroke_width=1.4, stroke_dasharray="4 3", class_="feed-2"
        )


def _line(path: YarnPath, paths: LoopPaths, px: float, middle: float, room: float) -> str:
    """The yarn as a smooth wave through its crossings, level at each."""
    once = crossings(path, paths)
    count = int(room / px / paths.width_mm) + 3
    points = [((x + repeat * paths.width_mm) * px, middle - z * px) for repeat in range(-1, count) for x, z, _ in once]
    text = f"M{number(points[0][0])} {number(points[0][1])}"
    for (x1, y1), (x2, y2) in pairwise(points):
        bow = max((x2 - x1) / 2, ROUND * abs(y2 - y1))
        text += f"C{number(x1 + bow)} {number(y1)} {number(x2 - bow)} {number(y2)} {number(x2)} {number(y2)}"
    return text


def crossings(path: YarnPath, paths: LoopPaths) -> list[Crossing]:
    """Where the yarn of a feed stands in the thickness, (x, z, whether a leg) in mm, as it runs over one repeat."""
    if not path.stitches:
        return [(0.0, 0.0, False), (paths.width_mm / 2, 0.0, False)]
    depth, bed = HALF_DEPTH * paths.diameter_mm, BED_OFFSET * paths.diameter_mm * paths.is_double
    place = paths.width_mm / max(sum(each.on_front for each in paths.wales), sum(each.on_back for each in paths.wales))
    gaps = _gaps(path, paths.width_mm)
    found: list[Crossing] = []
    for index, stitch in enumerate(path.stitches):
        own, beside = _sign(stitch), _sign(path.stitches[(index + 1) % len(path.stitches)])
        left, right = (LEG * min(place, max(gap, 0.4 * place)) for gap in (gaps[index - 1], gaps[index]))
        leg = own * (bed + depth * (TUCK_LEG if stitch.stitch is Stitch.TUCK else 1.0))
        found += [(stitch.x_mm - left, leg, True), (stitch.x_mm + right, leg, True)]
        if own == beside:
            found += _between(stitch.x_mm, gaps[index], place, own, bed, depth, paths.diameter_mm)
    return found


def _sign(stitch: StitchPlace) -> float:
    return 1.0 if stitch.on_front else -1.0


def _gaps(path: YarnPath, width_mm: float) -> list[float]:
    """From each loop of a feed to the next, round the repeat."""
    places = [stitch.x_mm for stitch in path.stitches]
    return [after - x for x, after in zip(places, [*places[1:], places[0] + width_mm], strict=True)]


def _between(
    x: float, gap: float, place: float, own: float, bed: float, depth: float, diameter: float
) -> Sequence[Crossing]:
    """The sinker between two loops of one bed, or the float past needles that miss."""
    sinker = own * (bed - depth)
    if gap <= 1.5 * place:
        return [(x + gap / 2, sinker, False)]
    low = 0.0 if bed else sinker - own * FLOAT_BEHIND * diameter
    return [(x + 0.6 * place, low, False), (x + gap - 0.6 * place, low, False)]


def _dimension(x: float, bottom: float, text: str, dash: str) -> Iterator[str]:
    """Thickness between the two faces, its line as solid as it is known."""
    extra = {"stroke_dasharray": dash} if dash else {}
    yield element("line", x1=x, y1=TOP, x2=x, y2=bottom, stroke=theme.INK, stroke_width=theme.DIMENSION, **extra)
    for y in (TOP, bottom):
        yield line(x - 3, y + 2.5, x + 3, y - 2.5, width=theme.DIMENSION)
    yield words(x + 7, (TOP + bottom) / 2 + 4, text, size=12)
