"""What the free edges of the cloth do when it is cut and laid down: a rank, not a radius.

In: a `Fabric`. Out: one SVG: a side edge and an end edge, each cut through, with the roll that its rank stands for: a
flat edge for 0, a full roll for 5, in even steps between. The technical face is up. The picture says that the rolls are
signs for ranks; how tight an edge really rolls needs the loop mechanics or a swatch.
Which way an edge goes follows the surplus of face loops: with it the sides go to the back and the ends to the face; a
cloth of one bed has its technical face on the side of its face loops.
Not covered: radius of curl, curl of a corner. Source: `fabric.behaviour`.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from loopwright.draw import theme
from loopwright.draw.svg import Attribute, element, line, path, picture, words
from loopwright.fabric.fabric import Fabric
from loopwright.figure import Figure, plain

FULL_RANK = 5.0
FULL_TURNS = 1.5  # a sign: drawn for rank 5
FLAT_PX, ROLL_PX, TIGHTEN = 120.0, 13.0, 0.3  # flat part, radius of the roll, and how much it draws in over a turn
CLOTH_PX = 5.0
TOP, PITCH, FOOT = 62.0, 104.0, 34.0
STEPS = 48


def curl_picture(fabric: Fabric, *, width: float = 300.0, key: str = "curl") -> str:
    """Side and end edge of a piece that is cut and laid down, face up."""
    sides_way, ends_way = _ways(fabric)
    edges = (
        ("Side edge", fabric.curl.sides, sides_way),
        ("Top and bottom edge", fabric.curl.ends, ends_way),
    )
    parts = [
        part for row, (name, rank, way) in enumerate(edges) for part in _edge(name, rank, way, TOP + PITCH * row, width)
    ]
    height = TOP + PITCH + 30 + FOOT
    note = "signs for ranks of 5, not radii; technical face up"
    parts.append(words(0, height - 14, note, size=12, fill=theme.INK_2))
    sides, ends = (plain(rank.value, 1) for _, rank, _ in edges)
    description = f"{fabric.curl.words}. Rank of the sides {sides} of 5, of the ends {ends} of 5; ranks, not radii."
    title = f"{fabric.structure.name}, cut and laid down"
    return picture("".join(parts), width=width, height=height, title=title, description=description, key=key)


def _ways(fabric: Fabric) -> tuple[float, float]:
    """Way of the side edges and of the ends, 1 to the face and −1 to the back; ends go the other way."""
    anatomy = fabric.structure.anatomy
    if anatomy.beds == 1:
        return -1.0, 1.0  # the technical face is the side of the face loops, whichever bed knitted them
    return (
        -1.0 if anatomy.walewise_balance > 0 else 1.0,
        1.0 if anatomy.coursewise_balance > 0 else -1.0,
    )


def _edge(name: str, rank: Figure, way: float, y: float, width: float) -> Iterator[str]:
    toward = "lies flat" if rank.value == 0 else f"rolls to the {'face' if way > 0 else 'back'}"
    band = "" if rank.low == rank.high else f" ({plain(rank.low, 1)} to {plain(rank.high, 1)})"
    points = edge_line(rank.value, way)
    yield line(0, y, width, y, stroke=theme.HAIR)
    yield element("g", _cloth([(8 + px, y - py) for px, py in points]), class_="edge")
    yield words(0, y - 48, f"{name} {toward}", size=13)
    yield words(0, y - 33, f"rank {plain(rank.value, 1)}{band} of 5", size=12, fill=theme.INK_2)


def edge_line(rank: float, way: float) -> list[tuple[float, float]]:
    """The cut cloth from its inner part to its free edge, px, y up; `way` 1 rolls up to the face, −1 to the back."""
    flat = [(0.0, 0.0), (FLAT_PX, 0.0)]
    turns = FULL_TURNS * min(rank, FULL_RANK) / FULL_RANK
    if turns == 0:
        return [*flat, (FLAT_PX + 2 * math.pi * ROLL_PX * FULL_TURNS * 0.6, 0.0)]
    roll, x, y = [], FLAT_PX, 0.0
    for step in range(math.ceil(STEPS * turns)):
        angle = 2 * math.pi * (step + 0.5) / STEPS
        radius = ROLL_PX * (1 - TIGHTEN * step / STEPS)
        x, y = x + 2 * math.pi * radius / STEPS * math.cos(angle), y + 2 * math.pi * radius / STEPS * math.sin(angle)
        roll.append((x, way * y))
    return [*flat, *roll]


def _cloth(points: list[tuple[float, float]]) -> str:
    """Cloth cut through: ink edges, tone within."""
    shape: dict[str, Attribute] = {"fill": "none", "stroke_linejoin": "round"}
    return path(points, closed=False, stroke=theme.INK, stroke_width=CLOTH_PX, **shape) + path(
        points, closed=False, stroke=theme.TONE_2, stroke_width=CLOTH_PX - 2.2, **shape
    )
