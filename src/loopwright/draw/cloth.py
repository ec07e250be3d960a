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
from loopwright.draw.painted import FINE, PIECE, Fine, Piece, chain, layer, ply_marks, ply_strokes
from loopwright.draw.svg import element, picture, words
from loopwright.fabric.fabric import Fabric
from loopwright.fabric.loop_path import LoopPaths, YarnPath, loop_paths
from loopwright.figure import plain

Side = Literal["face", "back"]

MOST_WALES, MOST_POINTS = 7.5, 1650  # shown at most: wales, and points of centre lines (a picture stays small)
HEIGHT_OVER_WIDTH = 0.76
CAPTION = 38.0  # px under the cloth
LAYERS, LEAST_LAYERS = 16, 10  # steps of depth in which the yarn is painted, fewer where yarns are many


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
    layers: dict[tuple[int, int], list[Piece]] = {}
    letters = sorted({path.yarn for path in paths.paths})
    low, span = _depths(paths, view)
    steps = max(LAYERS - 2 * (len(letters) - 1), LEAST_LAYERS)
    for path in paths.paths:
        for piece in _pieces(path, paths, view):
            level = min(int((piece.depth - low) / span * steps), steps - 1)
            layers.setdefault((level, letters.index(path.yarn)), []).append(piece)
    diameter = paths.diameter_mm * view.px_per_mm * FINE
    for number, ((level, yarn), pieces) in enumerate(sorted(layers.items(), key=lambda each: each[0])):
        yield layer(pieces, diameter, level / (steps - 1), yarn, f"{key}-{number}")


def _depths(paths: LoopPaths, view: _View) -> tuple[float, float]:
    z = np.concatenate([path.points[:, 2] for path in paths.paths]) * (-1 if view.from_back else 1)
    return float(z.min()), max(float(np.ptp(z)), 1e-9)


def _pieces(path: YarnPath, paths: LoopPaths, view: _View) -> Iterator[Piece]:
    points = _with_neighbours(path.points, paths.width_mm) * ([-1.0, 1.0, -1.0] if view.from_back else [1.0, 1.0, 1.0])
    unit = view.px_per_mm * FINE
    fine = [(x, y) for x, y in np.rint(points[:, :2] * [unit, -unit]).astype(np.int64).tolist()]
    plies = ply_strokes(points, paths.diameter_mm * unit)
    depths = points[:, 2].tolist()
    for first in range(1, len(points) - 2, PIECE):
        last = min(first + PIECE, len(points) - 2)
        piece = fine[first : last + 2]  # one segment on, so that no joint shows
        starts = [f"M{x} {y}" for x, y in _copies(piece, paths, view)]
        if starts:
            text, marks = "l" + chain(piece), ply_marks(fine, plies, first, last)
            depth = sum(depths[first : last + 1]) / (last + 1 - first)
            line, lie = ("".join(start + each for start in starts) if each else "" for each in (text, marks))
            yield Piece(depth, line, lie)


def _with_neighbours(points: NDArray[np.float64], width_mm: float) -> NDArray[np.float64]:
    """The centre line of a repeat with one point of the repeats before and after it."""
    on = np.array([width_mm, 0.0, 0.0])
    return np.concatenate([points[-2:-1] - on, points, points[1:2] + on])


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
