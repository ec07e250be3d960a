"""From which side a cloth is looked at, and its yarns placed on the picture, in px.

In: a `ClothForm` and a side: the face, the back, a cut seen along the wales, or a free piece as it will lie. Out: a
`Scene`: lines in px of the picture, x right, y up, z toward the viewer, about the middle of the picture.
Everything is seen from far away (no perspective), so one scale holds for the whole picture.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np

from loopwright.draw.lie import Lie, lying
from loopwright.draw.yarn_lines import Points, YarnLine, covering, patch
from loopwright.figure import plain
from loopwright.mechanics.form import ClothForm

Side = Literal["face", "back", "section", "lying"]

WALES_SHOWN, HEIGHT_OVER_WIDTH = 7.5, 0.76  # of the face and the back, as in `cloth`
FACE_YARN = 2300.0  # d of yarn in a picture of the face, at most
LYING_WALES, LYING_COURSES, MOST_YARN = 28.0, 34.0, 14500.0  # of a piece that lies; the last in d, less cloth then
SECTION_MARGIN, LEVELS = 0.7, 60  # room above and below the section, in d; levels at which a cut is tried
LYING_MARGIN = 0.04  # about the piece, in widths of the picture
TILT_DEG, SWING_DEG = 42.0, 20.0  # of the view of a piece that lies: up from the cloth's edge, and from the right
FROM_THE_LIGHT = np.array([-0.55, 0.45, 1.0])  # toward the lamp, seen from the table, per unit of height


@dataclass(frozen=True, slots=True, eq=False)
class Scene:
    """Yarns in px, the size of the picture in px, px per d, how much is shown; where the yarn is cut (z in
    px), how far behind the cut there is anything new to see; and, for a piece that lies, where its points
    throw their shadow on the table (n, 2)."""

    lines: tuple[YarnLine, ...]
    width: float
    height: float
    px: float
    shown: str
    cut: float | None = None
    far: float = -math.inf
    shadow: Points | None = None


def scene_of(form: ClothForm, side: Side, *, diameter_mm: float, width: float = 520.0, lie: Lie | None = None) -> Scene:
    """The cloth from one side; `lie` is needed for a piece that lies."""
    if side == "lying":
        return _lying(form, lie or Lie(), width, diameter_mm)
    if side == "section":
        return _section(form, width, diameter_mm)
    shown = _window(form)
    px = width / shown
    turned = px * (np.diag([-1.0, 1.0, -1.0]) if side == "back" else np.eye(3))
    lines = tuple(_turned(line, turned, px) for line in covering(form, shown, shown * HEIGHT_OVER_WIDTH))
    words = _size(shown * diameter_mm, shown * HEIGHT_OVER_WIDTH * diameter_mm)
    return Scene(lines, width, width * HEIGHT_OVER_WIDTH, px, words)


def _window(form: ClothForm) -> float:
    """Width (d) of the cloth that the face shows: a usual number of wales, less where yarn is much."""
    yarn = sum(line.length for line in patch(form, 1, 1)) / (form.width * form.height)
    return min(WALES_SHOWN * form.wale_spacing, math.sqrt(FACE_YARN / yarn / HEIGHT_OVER_WIDTH))


def _section(form: ClothForm, width: float, diameter_mm: float) -> Scene:
    """Cut where it meets the least yarn, the face above; behind the cut at least one repeat of courses."""
    shown = WALES_SHOWN * form.wale_spacing
    px = width / shown
    height = px * (form.depth + 2 * SECTION_MARGIN)
    seen = tuple(covering(form, shown, 2 * form.height + 2.0))
    z = np.concatenate([line.points[:, 2] for line in seen])
    turned = px * np.array([[1.0, 0.0, 0.0], [0.0, 0.0, 1.0], [0.0, -1.0, 0.0]])
    middle = px * np.array([0.0, (z.min() + z.max()) / 2, -_least_yarn(form)])
    lines = tuple(_turned(line, turned, px, middle) for line in seen)
    words = f"{plain(shown * diameter_mm, 1)} mm of cloth, {plain(form.depth * diameter_mm, 2)} mm thick"
    return Scene(lines, width, height, px, words, cut=0.0, far=-px * (form.height + 2.0))


def _least_yarn(form: ClothForm) -> float:
    """Height y (d), within one repeat about its middle, at which a cut meets the least yarn: the legs of the loops."""
    y = np.concatenate([line.points[:, 1] for line in patch(form, 1, 1)])
    levels = np.linspace(-form.height / 2, form.height / 2, LEVELS, endpoint=False)
    apart = np.abs((y[None] - levels[:, None] + form.height / 2) % form.height - form.height / 2)
    return float(levels[np.argmin((apart < 0.5).sum(axis=1))])


def _lying(form: ClothForm, lie: Lie, width: float, diameter_mm: float) -> Scene:
    across, along = lying_repeats(form)
    lines = lying(form, lie, across, along)
    turn = _oblique()
    points = np.concatenate([line.points for line in lines])
    table = _on_the_table(points)
    seen = np.concatenate([points, table]) @ turn.T
    low, high = seen.min(axis=0) - 0.5, seen.max(axis=0) + 0.5
    margin = LYING_MARGIN * width
    px = (width - 2 * margin) / float(high[0] - low[0])
    height = float(high[1] - low[1]) * px + 2 * margin
    middle = px * (low + high) / 2
    size = _size(
        across * form.width * (1 + lie.strain_width) * diameter_mm,
        along * form.height * (1 + lie.strain_length) * diameter_mm,
    )
    seen_lines = tuple(_turned(line, px * turn, px, middle) for line in lines)
    return Scene(seen_lines, width, height, px, size, shadow=(table @ (px * turn).T - middle)[:, :2])


def _on_the_table(points: Points) -> Points:
    """Points of a piece carried by the light down to the level of its lowest yarn."""
    drop = points[:, 2:] - (points[:, 2].min() - 0.5)
    down: Points = points - drop * FROM_THE_LIGHT
    return down


def lying_repeats(form: ClothForm) -> tuple[int, int]:
    """Repeats (across, along) of a free piece: a usual number of wales and courses, less where yarn is much."""
    yarn = sum(line.length for line in patch(form, 1, 1)) / (form.wales * form.courses)
    part = min(math.sqrt(MOST_YARN / (yarn * LYING_WALES * LYING_COURSES)), 1.0)
    return max(round(part * LYING_WALES / form.wales), 1), max(round(part * LYING_COURSES / form.courses), 1)


def _oblique() -> Points:
    """Turn from the axes of the cloth to those of a viewer who stands at its lower edge, a little to the right."""
    tilt, swing = math.radians(90 - TILT_DEG), math.radians(SWING_DEG)
    about_z = np.array([[math.cos(swing), math.sin(swing), 0], [-math.sin(swing), math.cos(swing), 0], [0, 0, 1.0]])
    about_x = np.array([[1.0, 0, 0], [0, math.cos(tilt), math.sin(tilt)], [0, -math.sin(tilt), math.cos(tilt)]])
    turn: Points = about_x @ about_z
    return turn


def _turned(line: YarnLine, turn: Points, px: float, middle: Points | None = None) -> YarnLine:
    points = line.points @ turn.T
    return YarnLine(line.yarn, line.diameter * px, points if middle is None else points - middle)


def _size(width_mm: float, height_mm: float) -> str:
    return f"{plain(width_mm, 1)} by {plain(height_mm, 1)} mm of cloth"
