"""Cloth at yarn level: undyed grey yarn on white, seen from the face or the back, light from the upper left.

In: a `Fabric`. Out: one SVG. The yarns are the centre lines of `fabric.loop_path`, cut into short pieces and painted
from the far side to the near one, so that over and under are those of the centre lines. Every yarn has its own grey.
The picture says how much cloth it shows and that the form is indicative: no loop has been relaxed.
Not covered: the section (`section`), curl (`curl`).
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from loopwright.draw import theme
from loopwright.draw.svg import element, picture, words
from loopwright.fabric.fabric import Fabric
from loopwright.fabric.loop_path import LoopPaths, YarnPath, loop_paths
from loopwright.figure import plain

Side = Literal["face", "back"]
Fine = tuple[int, int]  # x, y in whole tenths of a px

MOST_WALES, MOST_POINTS = 7.5, 1650  # shown at most: wales, and points of centre lines (a picture stays small)
HEIGHT_OVER_WIDTH = 0.76
CAPTION = 38.0  # px under the cloth
LAYERS, LEAST_LAYERS = 16, 10  # steps of depth in which the yarn is painted, fewer where yarns are many
PIECE = 2  # segments of a centre line that are painted together
FINE = 10  # coordinates are whole tenths of a px
PLY_PITCH = 2  # segments of a centre line from one ply to the next

EDGE = (0x2B, 0x32, 0x35)
DEEP = (0x55, 0x5E, 0x60)  # yarn on the far side
NEAR = (0xA4, 0xAC, 0xAC)  # yarn on the near side
LIGHT = (0xF6, 0xF7, 0xF5)
LATER_YARN = 0.38  # how much darker each further yarn is


@dataclass(frozen=True, slots=True)
class _View:
    """The part of the cloth that is seen: size in mm, px per mm, and whether from the back."""

    width_mm: float
    height_mm: float
    px_per_mm: float
    from_back: bool


def cloth_picture(fabric: Fabric, side: Side = "face", *, width: float = 248.0, key: str = "cloth") -> str:
    """A piece of the cloth as it lies, from the technical face or the technical back."""
    paths = loop_paths(fabric.geometry, fabric.yarn.diameter_mm.value)
    view = _view(fabric, paths, width, side)
    height = width * HEIGHT_OVER_WIDTH
    frame = element("clipPath", element("rect", width=width, height=height), id=f"{key}-clip")
    ground = element("rect", width=width, height=height, fill="#FFFFFF")
    cloth = element(
        "g", "".join(_painted(paths, view, key)), transform=f"scale({1 / FINE:g})", fill="none", stroke_linejoin="round"
    )
    shown = f"{plain(view.width_mm, 1)} by {plain(view.height_mm, 1)} mm of cloth"
    content = (
        element("defs", frame)
        + ground
        + element("g", cloth, clip_path=f"url(#{key}-clip)")
        + words(0, height + 16, f"{side.capitalize()}: {shown}", size=12, fill=theme.INK_2)
        + words(0, height + 32, "form indicative, not relaxed", size=12, fill=theme.INK_2)
    )
    description = (
        f"Technical {side} of {fabric.structure.name}, {shown}, loops of "
        f"{plain(fabric.geometry.loop_length_mm.value, 2)} mm in yarn {plain(paths.diameter_mm, 2)} mm thick. "
        "The form is indicative: loops are placed by wales, courses and loop length, and not relaxed."
    )
    title = f"{fabric.structure.name}, technical {side}"
    return picture(content, width=width, height=height + CAPTION, title=title, description=description, key=key)


def _view(fabric: Fabric, paths: LoopPaths, width: float, side: Side) -> _View:
    """So much of the cloth that a usual number of its wales stands in the picture, less where loops are many."""
    yarns = len({path.yarn for path in paths.paths})
    points_per_mm2 = (
        (1 + 0.15 * (yarns - 1)) * sum(len(path.points) for path in paths.paths) / (paths.width_mm * paths.height_mm)
    )
    most = math.sqrt(MOST_POINTS / points_per_mm2 / HEIGHT_OVER_WIDTH)
    shown = min(MOST_WALES * 10 / fabric.geometry.wales_per_cm.value, most)
    return _View(shown, shown * HEIGHT_OVER_WIDTH, width / shown, side == "back")


def _painted(paths: LoopPaths, view: _View, key: str) -> Iterator[str]:
    """Layers of yarn, far ones first; within a layer one yarn after the other."""
    layers: dict[tuple[int, int], list[_Piece]] = {}
    letters = sorted({path.yarn for path in paths.paths})
    low, span = _depths(paths, view)
    steps = max(LAYERS - 2 * (len(letters) - 1), LEAST_LAYERS)
    for path in paths.paths:
        for piece in _pieces(path, paths, view):
            layer = min(int((piece.depth - low) / span * steps), steps - 1)
            layers.setdefault((layer, letters.index(path.yarn)), []).append(piece)
    diameter = paths.diameter_mm * view.px_per_mm * FINE
    for number, ((layer, yarn), pieces) in enumerate(sorted(layers.items(), key=lambda each: each[0])):
        yield _layer(pieces, diameter, layer / (steps - 1), yarn, f"{key}-{number}")


def _depths(paths: LoopPaths, view: _View) -> tuple[float, float]:
    z = np.concatenate([path.points[:, 2] for path in paths.paths]) * (-1 if view.from_back else 1)
    return float(z.min()), max(float(np.ptp(z)), 1e-9)


@dataclass(frozen=True, slots=True)
class _Piece:
    """A short piece of yarn and all its likenesses in the picture: SVG path data of the yarn and of its plies."""

    depth: float
    line: str
    plies: str


def _pieces(path: YarnPath, paths: LoopPaths, view: _View) -> Iterator[_Piece]:
    points = _with_neighbours(path.points, paths.width_mm) * ([-1.0, 1.0, -1.0] if view.from_back else [1.0, 1.0, 1.0])
    unit = view.px_per_mm * FINE
    fine = [(x, y) for x, y in np.rint(points[:, :2] * [unit, -unit]).astype(np.int64).tolist()]
    plies = _plies(points, paths.diameter_mm * unit)
    depths = points[:, 2].tolist()
    for first in range(1, len(points) - 2, PIECE):
        last = min(first + PIECE, len(points) - 2)
        piece = fine[first : last + 2]  # one segment on, so that no joint shows
        starts = [f"M{x} {y}" for x, y in _copies(piece, paths, view)]
        if starts:
            text, marks = "l" + _chain(piece), _ply_marks(fine, plies, first, last)
            depth = sum(depths[first : last + 1]) / (last + 1 - first)
            line, lie = ("".join(start + each for start in starts) if each else "" for each in (text, marks))
            yield _Piece(depth, line, lie)


def _chain(piece: Sequence[Fine]) -> str:
    """Steps from point to point as path data."""
    return _numbers([step for (x1, y1), (x2, y2) in pairwise(piece) for step in (x2 - x1, y2 - y1)])


def _ply_marks(fine: Sequence[Fine], plies: Sequence[Fine], first: int, last: int) -> str:
    """The ply strokes of a piece, as a pen goes from one to the next from its first point on."""
    (x, y), marks = fine[first], ""
    for index in range(first, last):
        if index % PLY_PITCH == 0:
            (at_x, at_y), (across, along) = fine[index], plies[index]
            start_x, start_y = at_x - across // 2, at_y - along // 2
            marks += f"m{_numbers([start_x - x, start_y - y])}l{_numbers([across, along])}"
            x, y = start_x + across, start_y + along
    return marks


def _with_neighbours(points: NDArray[np.float64], width_mm: float) -> NDArray[np.float64]:
    """The centre line of a repeat with one point of the repeats before and after it."""
    on = np.array([width_mm, 0.0, 0.0])
    return np.concatenate([points[-2:-1] - on, points, points[1:2] + on])


def _plies(points: NDArray[np.float64], diameter: float) -> list[Fine]:
    """A short slanted stroke over the yarn at every point: the lie of a Z-folded yarn."""
    along = np.gradient(points[:, :2] * [1.0, -1.0], axis=0)
    along /= np.maximum(np.hypot(along[:, 0], along[:, 1]), 1e-9)[:, None]
    across = np.column_stack([-along[:, 1], along[:, 0]])
    strokes = np.rint(diameter * (0.62 * across - 0.5 * along)).astype(np.int64)
    return [(x, y) for x, y in strokes.tolist()]


def _copies(piece: Sequence[Fine], paths: LoopPaths, view: _View) -> Iterator[Fine]:
    """Where a piece starts in every repeat in which it is in the picture."""
    unit = view.px_per_mm * FINE
    margin = paths.diameter_mm * unit
    (x, y), width, height = piece[0], paths.width_mm * unit, paths.height_mm * unit
    xs, ys = [each[0] for each in piece], [each[1] for each in piece]
    across = range(
        math.ceil((-margin - max(xs)) / width), math.floor((view.width_mm * unit + margin - min(xs)) / width) + 1
    )
    along = range(
        math.ceil((-margin - max(ys)) / height), math.floor((view.height_mm * unit + margin - min(ys)) / height) + 1
    )
    for row in along:
        for column in across:
            yield x + round(column * width), y + round(row * height)


def _numbers(values: Sequence[int]) -> str:
    """Whole numbers as path data, with no space that is not needed."""
    return " ".join(map(str, values)).replace(" -", "-")


def _layer(pieces: Sequence[_Piece], diameter: float, near: float, yarn: int, key: str) -> str:
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
    plies = element(
        "path",
        d="".join(piece.plies for piece in pieces),
        stroke=_hex(EDGE),
        stroke_width=0.07 * diameter,
        stroke_opacity=0.42,
    )
    return element("defs", line) + "".join(strokes) + plies


def _stroke(key: str, width: float, colour: tuple[int, int, int], diameter: float, shift: float) -> str:
    move = {"x": shift * diameter, "y": shift * diameter} if shift else {}
    return element("use", href=f"#{key}", stroke=_hex(colour), stroke_width=width * diameter, **move)


def _mixed(first: tuple[int, int, int], second: tuple[int, int, int], part: float) -> tuple[int, int, int]:
    red, green, blue = (round(a + (b - a) * part) for a, b in zip(first, second, strict=True))
    return red, green, blue


def _hex(colour: tuple[int, int, int]) -> str:
    return "#" + "".join(f"{value:02X}" for value in colour)
