"""Where the seams lie: the sewn garment from the front, to scale, each seam drawn as it is joined.

In: `Measures`, the seams of the size in the order of work. Out: one SVG. Loop to loop is a row of dots, along a wale
long dashes, sewn a solid line with cross ticks. Numbers in rings follow the order of work; a seam whose edge this
block does not know gets its number under the garment.
Not covered: minutes (`makeup`). Seams of equal pieces are numbered on both sides once.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import pairwise

from loopwright.draw import theme
from loopwright.draw.garment import Placed, silhouette
from loopwright.draw.svg import Attribute, element, line, path, picture, words
from loopwright.garment.measures import Measures
from loopwright.garment.outline import Point
from loopwright.makeup.seams import Seam

LOOP_TO_LOOP, ALONG_A_WALE = "loop to loop", "along a wale"
SIDE, TOP, FOOT, LINE = 14.0, 30.0, 30.0, 20.0
RING = 8.5
SEAM_PX, DOTS_PX = 2.6, 3.0

OUTWARD: dict[str, Point] = {  # where the ring stands from the middle of the seam, px
    "shoulders": (4, -17),
    "neckband": (0, 18),
    "armholes": (-17, 0),
    "sides": (-17, 0),
    "underarms": (3, 18),
    "raglans": (-17, 0),
    "saddles": (4, -17),
    "armhole bands": (-17, 0),
    "front bands": (17, 0),
    "hood": (0, 18),
    "waistband": (0, -17),
}
AROUND = ("neckband", "hood", "waistband")  # seams that run round both sides at once


def makeup_map(measures: Measures, seams: Sequence[Seam], *, width: float = 300.0, key: str = "makeup") -> str:
    """The garment with its seams, numbered in the order of work."""
    shape = silhouette(measures)
    px = (width - 2 * SIDE) / (2 * shape.half_width_cm)
    base = TOP + shape.height_cm * px
    placed = Placed(shape, width / 2, base, px)
    known = [(number, seam) for number, seam in enumerate(seams, start=1) if seam.name in shape.seams]
    others = [(number, seam) for number, seam in enumerate(seams, start=1) if seam.name not in shape.seams]
    parts = [*placed.outline()]
    parts += [mark for number, seam in known for mark in _seam(placed, seam, number)]
    y = base + 24
    for number, seam in others:
        parts += [_ring(SIDE + RING, y - 4, number), words(SIDE + 2 * RING + 8, y, seam.name, size=12)]
        y += LINE
    parts += _legend(y, {seam.method for seam in seams})
    told = "; ".join(f"{number} {seam.name}, {seam.method}" for number, seam in enumerate(seams, start=1))
    description = f"Seams: {told}."
    title = "Seams in the order of work"
    return picture("".join(parts), width=width, height=y + FOOT, title=title, description=description, key=key)


def _seam(placed: Placed, seam: Seam, number: int) -> Iterator[str]:
    edge = placed.shape.seams[seam.name]
    both = [placed.points(edge), placed.points(edge, -1)]
    if seam.name in AROUND:
        yield _stroke([*both[1], *reversed(both[0])][::-1], seam.method)
        middle = both[0][-1]
        if "front bands" in placed.shape.seams:  # the front opens below the neck: its number stands inside the edge
            middle = (_middle(both[0])[0] - 21, _middle(both[0])[1] - 18)
    else:
        for points in both:
            yield _stroke(points, seam.method)
        middle = _middle(both[0])
    across, down = OUTWARD.get(seam.name, (-17.0, 0.0))
    yield _ring(middle[0] + across, middle[1] + down, number)


def _stroke(points: Sequence[Point], method: str) -> str:
    """A seam as it is joined."""
    look: dict[str, Attribute] = {"fill": "none", "stroke": theme.INK, "class_": f"seam {method.replace(' ', '-')}"}
    if method == LOOP_TO_LOOP:
        return path(points, closed=False, stroke_width=DOTS_PX, stroke_dasharray="0 5", stroke_linecap="round", **look)
    if method == ALONG_A_WALE:
        return path(points, closed=False, stroke_width=SEAM_PX, stroke_dasharray="9 4", **look)
    ticks = "".join(line(x - ny, y + nx, x + ny, y - nx, width=1) for x, y, nx, ny in _ticks(points))
    return element("g", path(points, fill="none", stroke=theme.INK, stroke_width=SEAM_PX) + ticks, class_="seam sewn")


def _ticks(
    points: Sequence[Point], every: float = 9.0, half: float = 4.0
) -> Iterator[tuple[float, float, float, float]]:
    """Places along a line, and half a tick along it: (x, y, dx, dy)."""
    left = every / 2
    for (x1, y1), (x2, y2) in pairwise(points):
        length = math.dist((x1, y1), (x2, y2))
        at = left
        while at < length:
            share = at / length
            yield x1 + (x2 - x1) * share, y1 + (y2 - y1) * share, half * (x2 - x1) / length, half * (y2 - y1) / length
            at += every
        left = at - length


def _middle(points: Sequence[Point]) -> Point:
    """The point halfway along a line."""
    lengths = [math.dist(first, second) for first, second in pairwise(points)]
    left = sum(lengths) / 2
    for (first, second), length in zip(pairwise(points), lengths, strict=True):
        if left <= length and length > 0:
            share = left / length
            return first[0] + (second[0] - first[0]) * share, first[1] + (second[1] - first[1]) * share
        left -= length
    return points[-1]


def _ring(x: float, y: float, number: int) -> str:
    ring = element("circle", cx=x, cy=y, r=RING, fill="#FFFFFF", stroke=theme.INK, stroke_width=1)
    return element("g", ring + words(x, y + 4, str(number), size=12, anchor="middle"), class_="ring")


def _legend(y: float, methods: set[str]) -> Iterator[str]:
    """The kinds of seam that occur, each with its line."""
    kinds = [method for method in (LOOP_TO_LOOP, ALONG_A_WALE) if method in methods]
    kinds += ["sewn"] if methods - {LOOP_TO_LOOP, ALONG_A_WALE} else []
    x = 0.0
    for kind in kinds:
        yield _stroke([(x + 2, y + 10), (x + 28, y + 10)], kind)
        yield words(x + 34, y + 14, kind, size=12, fill=theme.INK_2)
        x += 44 + 6.2 * len(kind)
