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
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from loopwright.draw import theme
from loopwright.draw.svg import element, picture, words
from loopwright.fabric.fabric import Fabric
from loopwright.fabric.loop_path import LoopPaths, YarnPath, loop_paths
from loopwright.figure import plain

Side = Literal["face", "back"]
Whole = NDArray[np.int64]

MOST_WALES, MOST_POINTS = 7.5, 1650  # shown at most: wales, and points of centre lines (a picture stays small)
HEIGHT_OVER_WIDTH = 0.76
CAPTION = 38.0  # px under the cloth
LAYERS = 16  # steps of depth in which the yarn is painted, fewer where yarns are many
PIECE = 4  # segments of a centre line that are painted together
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
    steps = LAYERS - 2 * len(letters) if len(letters) < LAYERS // 4 else LAYERS // 2
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
    fine = np.rint(points[:, :2] * [1.0, -1.0] * view.px_per_mm * FINE).astype(np.int64)
    plies = _plies(points, paths.diameter_mm * view.px_per_mm * FINE)
    for first in range(1, len(points) - 2, PIECE):
        last = min(first + PIECE, len(points) - 2)
        piece = fine[first - 1 : last + 2]  # one segment on at both ends, so that no joint shows
        copies = _copies(piece, paths, view)
        if not len(copies):
            continue
        text = "l" + _numbers(np.diff(piece, axis=0))
        marks = "".join(
            f"m{_numbers(at - before)}l{_numbers(stroke)}"
            for at, before, stroke in _chain(fine, plies, piece[0], first, last)
        )
        starts = [f"M{x} {y}" for x, y in (copies + piece[0]).tolist()]
        depth = float(points[first : last + 1, 2].mean())
        yield _Piece(depth, "".join(start + text for start in starts), "".join(start + marks for start in starts))


def _with_neighbours(points: NDArray[np.float64], width_mm: float) -> NDArray[np.float64]:
    """The centre line of a repeat with one point of the repeats before and after it."""
    on = np.array([width_mm, 0.0, 0.0])
    return np.concatenate([points[-2:-1] - on, points, points[1:2] + on])


def _plies(points: NDArray[np.float64], diameter: float) -> Whole:
    """A short slanted stroke over the yarn at every point: the lie of a Z-folded yarn, shape (n, 2)."""
    along = np.gradient(points[:, :2] * [1.0, -1.0], axis=0)
    along /= np.maximum(np.hypot(along[:, 0], along[:, 1]), 1e-9)[:, None]
    across = np.column_stack([-along[:, 1], along[:, 0]])
    strokes: Whole = np.rint(diameter * (0.62 * across - 0.5 * along)).astype(np.int64)
    return strokes


def _chain(fine: Whole, plies: Whole, start: Whole, first: int, last: int) -> Iterator[tuple[Whole, Whole, Whole]]:
    """(place, place before, stroke) of each ply of a piece, as a pen goes from one to the next."""
    before = start
    for index in range(first, last):
        if index % PLY_PITCH == 0:
            at = fine[index] - plies[index] // 2
            yield at, before, plies[index]
            before = at + plies[index]


def _copies(piece: Whole, paths: LoopPaths, view: _View) -> Whole:
    """Shifts by whole repeats that bring a piece into the picture, shape (n, 2) in fine units."""
    unit = view.px_per_mm * FINE
    margin = paths.diameter_mm * unit
    size = np.array([view.width_mm, view.height_mm]) * unit
    repeat = np.array([paths.width_mm, paths.height_mm]) * unit
    low = np.ceil((-margin - piece.max(axis=0)) / repeat).astype(int)
    high = np.floor((size + margin - piece.min(axis=0)) / repeat).astype(int)
    across, along = np.meshgrid(np.arange(low[0], high[0] + 1), np.arange(low[1], high[1] + 1))
    shifts: Whole = np.rint(np.column_stack([across.ravel(), along.ravel()]) * repeat).astype(np.int64)
    return shifts


def _numbers(values: Whole) -> str:
    """Whole numbers as path data, with no sign or space that is not needed."""
    return " ".join(map(str, values.ravel().tolist())).replace(" -", "-")


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
