"""Yarn painted for an SVG: short pieces, far ones first, each a dark edge, a body, a lit side and a gleam.

In: pieces of centre lines in whole tenths of a px. Out: SVG elements, one group of strokes for each layer of depth and
yarn. Which piece lies in which layer is for the picture to say (`cloth`, `still_svg`).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from loopwright.draw.svg import element

Twist = Literal["S", "Z"]
Fine = tuple[int, int]  # x, y in whole tenths of a px

FINE = 10  # coordinates are whole tenths of a px
PIECE = 2  # segments of a centre line that are painted together
PLY_PITCH = 2  # segments of a centre line from one ply to the next

EDGE = (0x2B, 0x32, 0x35)
DEEP = (0x55, 0x5E, 0x60)  # yarn on the far side
NEAR = (0xA4, 0xAC, 0xAC)  # yarn on the near side
LIGHT = (0xF6, 0xF7, 0xF5)
LATER_YARN = 0.38  # how much darker each further yarn is


@dataclass(frozen=True, slots=True)
class Piece:
    """A short piece of yarn and all its likenesses in the picture: SVG path data of the yarn and of its plies."""

    depth: float
    line: str
    plies: str


def chain(piece: Sequence[Fine]) -> str:
    """Steps from point to point as path data."""
    return numbers([step for (x1, y1), (x2, y2) in pairwise(piece) for step in (x2 - x1, y2 - y1)])


def ply_marks(fine: Sequence[Fine], plies: Sequence[Fine], first: int, last: int) -> str:
    """The ply strokes of a piece, as a pen goes from one to the next from its first point on."""
    (x, y), marks = fine[first], ""
    for index in range(first, last):
        if index % PLY_PITCH == 0:
            (at_x, at_y), (across, along) = fine[index], plies[index]
            start_x, start_y = at_x - across // 2, at_y - along // 2
            marks += f"m{numbers([start_x - x, start_y - y])}l{numbers([across, along])}"
            x, y = start_x + across, start_y + along
    return marks


def ply_strokes(points: NDArray[np.float64], diameter: float, twist: Twist = "S") -> list[Fine]:
    """A short slanted stroke over the yarn at every point: the lie of the plies of a folded yarn."""
    along = np.gradient(points[:, :2] * [1.0, -1.0], axis=0)
    along /= np.maximum(np.hypot(along[:, 0], along[:, 1]), 1e-9)[:, None]
    across = np.column_stack([-along[:, 1], along[:, 0]])
    slant = -0.5 if twist == "S" else 0.5
    strokes = np.rint(diameter * (0.62 * across + slant * along)).astype(np.int64)
    return [(x, y) for x, y in strokes.tolist()]


def numbers(values: Sequence[int]) -> str:
    """Whole numbers as path data, with no space that is not needed."""
    return " ".join(map(str, values)).replace(" -", "-")


def layer(pieces: Sequence[Piece], diameter: float, near: float, yarn: int, key: str) -> str:
    """Yarn of one depth: dark edge, body, lit side, gleam, and the lie of its plies."""
    body = _mixed(_mixed(DEEP, NEAR, near), EDGE, 1 - (1 - LATER_YARN) ** yarn)
    lit = _mixed(body, LIGHT, 0.25 + 0.25 * near)
    gleam = _mixed(body, LIGHT, 0.45 + 0.35 * near)
    line = element("path", d="".join(piece.line for piece in pieces), id=key)
    strokes = [
        _stroke(key, 1.0, EDGE, diameter, 0.0),
        _stroke(key, 0.84, body, diameter, 0.0),
        _stroke(key, 0.5, lit, diameter, -0.1),
        _stroke(key, 0.2, gleam, diameter, -0.17),
    ]
    return element("defs", line) + "".join(strokes) + _ply_lines(pieces, diameter)


def plain_layer(pieces: Sequence[Piece], diameter: float, near: float, yarn: int, key: str) -> str:
    """Yarn of one depth that is seen small: edge, and a body whose light is `near`."""
    body = _mixed(_mixed(DEEP, LIGHT, near), EDGE, 1 - (1 - LATER_YARN) ** yarn)
    line = element("path", d="".join(piece.line for piece in pieces), id=key)
    strokes = _stroke(key, 1.0, EDGE, diameter, 0.0) + _stroke(key, 0.72, body, diameter, -0.05)
    return element("defs", line) + strokes


def _ply_lines(pieces: Sequence[Piece], diameter: float) -> str:
    marks = "".join(piece.plies for piece in pieces)
    return element("path", d=marks, stroke=_hex(EDGE), stroke_width=0.07 * diameter, stroke_opacity=0.42)


def _stroke(key: str, width: float, colour: tuple[int, int, int], diameter: float, shift: float) -> str:
    move = {"x": shift * diameter, "y": shift * diameter} if shift else {}
    return element("use", href=f"#{key}", stroke=_hex(colour), stroke_width=width * diameter, **move)


def _mixed(first: tuple[int, int, int], second: tuple[int, int, int], part: float) -> tuple[int, int, int]:
    red, green, blue = (round(a + (b - a) * part) for a, b in zip(first, second, strict=True))
    return red, green, blue


def _hex(colour: tuple[int, int, int]) -> str:
    return "#" + "".join(f"{value:02X}" for value in colour)
