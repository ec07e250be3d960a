"""Centre lines of the yarns of a structure: the form of its loops, to be drawn or relaxed.

In: `StitchGeometry`, yarn diameter (mm). Out: one `YarnPath` per feed over a repeat, points (n, 3) in mm: x along the
courses, y along the wales, z toward the viewer of the technical face, the middle of the thickness at z = 0.
The form is the starting curve of the loop mechanics: head and feet follow a sine round the wale, legs in front of the
head of the loop below for a face loop and behind it for a reverse loop; tucks hang behind the held loop, floats lie
straight. How far a loop reaches through the one below is chosen so that a plain loop has its loop length (within 1 %,
from 14 yarn diameters on; loops jam at 16.7).
Assumption: spacing of wales and courses as given by the geometry, every loop at rest in the middle of its place.
Not covered: relaxation. The form is indicative; loops held long or floats laid loose take the length that the drawing
needs, not the length they have. Source: loop mechanics reference, section 6 (working assumption).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from loopwright.fabric.geometry import StitchGeometry
from loopwright.fabric.wales import TAKES, Wale, feed_heights, knitted_off, wale_positions, wales_of
from loopwright.structure.notation import Notation, Stitch

Points = NDArray[np.float64]

HALF_DEPTH = 0.7  # of a loop's wave through the thickness, in yarn diameters
BED_OFFSET = 1.2  # how far the loops of each bed lie from the middle of a double fabric, in yarn diameters
BULGE = 0.22  # how far the head bulges, in widths of the loop
FLOAT_BEHIND = 0.9  # how far a float lies behind the loops that it passes, in yarn diameters
MOVED_BEFORE = (0.4, 0.4)  # how far a loop moved to the left and to the right lies before others, in yarn diameters
LEAST_REACH, MOST_REACH = 1.4, 4.0  # of a loop through the one below, in yarn diameters
WIDEST_LOOP = 1 / 3.6  # width of one loop over its length, at most; what is wider is a longer sinker
STEPS = 32  # points on a loop
TURN = np.linspace(-np.pi, np.pi, STEPS + 1)  # head at 0, sinkers at both ends
DIVES = 0.08, 0.63  # where a leg begins and ends its way through the cloth, in reaches from the head or foot


@dataclass(frozen=True, slots=True)
class StitchPlace:
    """One loop or tuck of a path: its wale, the index of its first point, and what it is."""

    wale: int
    first: int
    stitch: Stitch
    on_front: bool
    x_mm: float


@dataclass(frozen=True, slots=True)
class YarnPath:
    """The yarn of one feed over one repeat, points (n, 3) in mm; the next repeat goes on at `width_mm` to the right.

    `stitches` are its loops and tucks in order.
    """

    feed: int
    yarn: str
    points: Points
    stitches: tuple[StitchPlace, ...]


@dataclass(frozen=True, slots=True)
class LoopPaths:
    """All yarns of one repeat, with its size; the cloth is this repeat laid side by side in both directions."""

    paths: tuple[YarnPath, ...]
    width_mm: float
    height_mm: float
    diameter_mm: float
    wales: tuple[Wale, ...]

    @property
    def is_double(self) -> bool:
        """Whether front and back needles make wales of their own, so that the beds' loops lie behind each other."""
        return _is_double(self.wales)

    @property
    def depth_mm(self) -> float:
        """From the front-most to the back-most yarn surface."""
        z = np.concatenate([path.points[:, 2] for path in self.paths])
        return float(z.max() - z.min()) + self.diameter_mm


@dataclass(frozen=True, slots=True)
class _Form:
    """What all loops of a cloth share, mm: their width, the spacing of courses, the reach through the loop below.

    `moved`: how far loops moved to the left and to the right lie before others, in yarn diameters.
    """

    width: float
    course: float
    reach: float
    half_depth: float
    bed: float
    diameter: float
    moved: tuple[float, float]


@dataclass(frozen=True, slots=True)
class _Stitch:
    """One loop or tuck placed in the repeat: x, foot and head level, where its head is drawn to; mm and signs ±1."""

    wale: int
    x: float
    foot: float
    head: float
    lean: float
    is_tuck: bool
    own: float
    drawn: float
    on_front: bool


def loop_paths(geometry: StitchGeometry, diameter_mm: float) -> LoopPaths:
    """Centre lines of every feed of one repeat."""
    anatomy = geometry.structure.anatomy
    width = 10 * anatomy.visible_wales / geometry.wales_per_cm.value
    height = 10 * anatomy.visible_courses / geometry.courses_per_cm.value
    loop = geometry.loop_length_mm.value
    return paths_of(geometry.structure.notation, width, height, height / anatomy.visible_courses, loop, diameter_mm)


@lru_cache(maxsize=64)
def paths_of(
    notation: Notation,
    width: float,
    height: float,
    course: float,
    loop_mm: float,
    diameter: float,
    moved: tuple[float, float] = MOVED_BEFORE,
) -> LoopPaths:
    """Centre lines of a repeat of this width and height, courses `course` apart; all lengths in one unit.

    `moved`: how far loops moved to the left and to the right lie before others, in yarn diameters.
    """
    wales = wales_of(notation)
    form = _form(wales, width, course, loop_mm, diameter, moved)
    columns, levels = width * wale_positions(notation), height * feed_heights(notation)
    paths = []
    for index, feed in enumerate(notation.feeds):
        stitches = [
            _placed(notation, wales, columns, levels, (index, number), form, (width, height))
            for number, wale in enumerate(wales)
            if wale.stitch(feed)[0] in TAKES
        ]
        stitches.sort(key=lambda each: (each.x, not each.on_front))
        level = float(levels[index]) - (form.course + form.reach) / 2
        paths.append(_path(index, feed.yarn, stitches, wales, columns, level, width, form))
    return LoopPaths(tuple(paths), width, height, diameter, wales)


def _form(
    wales: Sequence[Wale],
    width: float,
    course: float,
    loop_mm: float,
    diameter: float,
    moved: tuple[float, float] = MOVED_BEFORE,
) -> _Form:
    front = sum(wale.on_front for wale in wales)
    back = sum(wale.on_back for wale in wales)
    loop_width = min(width / max(front, back), WIDEST_LOOP * loop_mm)
    reach = loop_reach_mm(loop_length_mm=loop_mm, width_mm=loop_width, course_mm=course, diameter_mm=diameter)
    bed = BED_OFFSET * diameter if _is_double(wales) else 0.0
    return _Form(loop_width, course, reach, HALF_DEPTH * diameter, bed, diameter, moved)


def _is_double(wales: Sequence[Wale]) -> bool:
    return len({wale.on_front for wale in wales if wale.on_front != wale.on_back}) == 2


def loop_reach_mm(*, loop_length_mm: float, width_mm: float, course_mm: float, diameter_mm: float) -> float:
    """How far a loop reaches through the one below so that a plain loop has its length (between two limits)."""
    reaches = np.linspace(LEAST_REACH, MOST_REACH, 25) * diameter_mm
    lengths = np.array([_plain_length(width_mm, course_mm, reach, diameter_mm) for reach in reaches])
    return float(np.interp(loop_length_mm, lengths, reaches))


def _plain_length(width: float, course: float, reach: float, diameter: float) -> float:
    x = width * TURN / (2 * np.pi) + BULGE * width * np.sin(2 * TURN)
    z = HALF_DEPTH * diameter * _depth(np.abs(TURN) / np.pi, _knit_depths(1.0, 1.0, 1.0), reach / (course + reach))
    steps = np.diff(np.column_stack([x, (course + reach) / 2 * np.cos(TURN), z]), axis=0)
    return float(np.sqrt((steps**2).sum(axis=1)).sum())


def _knit_depths(own: float, drawn: float, beside: float) -> list[float]:
    return [-drawn, -0.8 * drawn, drawn, (own + drawn) / 2, own, -0.8 * own, -(own + beside) / 2]


def _tuck_depths(own: float, beside: float) -> list[float]:
    return [-2.2 * own, -2.0 * own, -0.3 * own, -0.45 * own, -0.6 * own, -own, -(own + beside) / 2]


def _depth(at: Points, knots: Sequence[float], reach_share: float) -> Points:
    """Depth at parts of half a turn: eased from knot to knot, never past one.

    `reach_share` is the reach through the loop below over the height of this loop: a tall loop dives nearer its ends.
    """
    values = np.array(knots)
    first, second = (float(np.arccos(1 - 2 * min(dive * reach_share, 0.42))) / np.pi for dive in DIVES)
    place = np.interp(at, [0.0, first, second, 0.5, 1 - second, 1 - first, 1.0], np.arange(len(values)))
    index = np.minimum(place.astype(np.int64), len(values) - 2)
    part = place - index
    eased: Points = values[index] + (values[index + 1] - values[index]) * part**2 * (3 - 2 * part)
    return eased


def _placed(
    notation: Notation,
    wales: Sequence[Wale],
    columns: Points,
    levels: Points,
    at: tuple[int, int],
    form: _Form,
    size: tuple[float, float],
) -> _Stitch:
    """The loop that feed `at[0]` makes in wale `at[1]`, followed to the needle that knits it off."""
    feed, number = at
    wale = wales[number]
    stitch, on_front = wale.stitch(notation.feeds[feed])
    off = knitted_off(notation, feed, wale.place, on_front=on_front)
    width, height = size
    repeats, place = divmod(off.place, notation.needles)
    receiver = next(
        (
            index
            for index, each in enumerate(wales)
            if each.place == place and (each.on_front if off.on_front else each.on_back)
        ),
        number,
    )
    lean = float(columns[receiver] - columns[number]) + repeats * width
    middle = (form.course + form.reach) / 2
    return _Stitch(
        wale=number,
        x=float(columns[number]),
        foot=float(levels[feed]) - middle,
        head=float(levels[off.feed]) + off.repeats * height - middle + form.reach,
        lean=lean,
        is_tuck=stitch is Stitch.TUCK,
        own=1.0 if on_front else -1.0,
        drawn=1.0 if off.on_front else -1.0,
        on_front=on_front,
    )


def _path(
    feed: int,
    yarn: str,
    stitches: Sequence[_Stitch],
    wales: Sequence[Wale],
    columns: Points,
    level: float,
    width: float,
    form: _Form,
) -> YarnPath:
    if not stitches:
        return YarnPath(feed, yarn, np.array([[0.0, level, 0.0], [width, level, 0.0]]), ())
    parts: list[Points] = []
    places: list[StitchPlace] = []
    count = 0
    for index, stitch in enumerate(stitches):
        before, after = stitches[index - 1], stitches[(index + 1) % len(stitches)]
        left = stitch.x - before.x + (width if index == 0 else 0.0)
        right = after.x - stitch.x + (width if index == len(stitches) - 1 else 0.0)
        loop = _loop(stitch, (left, before.own), (right, after.own), form)
        kind = Stitch.TUCK if stitch.is_tuck else Stitch.KNIT
        places.append(StitchPlace(stitch.wale, count, kind, stitch.on_front, stitch.x))
        onward = _float(loop[-1], right, stitch, after, wales, columns, width, form)
        parts += [loop, onward] if len(onward) else [loop[:-1]]  # without a float the next loop begins where this ends
        count += len(loop) + len(onward) if len(onward) else STEPS
    parts.append(parts[0][:1] + np.array([width, 0.0, 0.0]))
    return YarnPath(feed, yarn, np.concatenate(parts), tuple(places))


def _loop(stitch: _Stitch, left: tuple[float, float], right: tuple[float, float], form: _Form) -> Points:
    """Points of one loop from its left to its right sinker middle, shape (STEPS + 1, 3)."""
    at = np.abs(TURN) / np.pi
    bulge = BULGE * form.width * (0.6 if stitch.is_tuck else 1.0)
    x = stitch.x + form.width * TURN / (2 * np.pi) + bulge * np.sin(2 * TURN)
    toward_sinker = np.clip((at - 0.7) / 0.3, 0.0, 1.0)
    eased = toward_sinker**2 * (3 - 2 * toward_sinker)
    y = (stitch.foot + stitch.head) / 2 + (stitch.head - stitch.foot) / 2 * np.cos(TURN)
    z, share = np.empty_like(x), form.reach / max(stitch.head - stitch.foot, form.reach)
    for side, (gap, beside) in ((TURN < 0, left), (TURN >= 0, right)):
        shorter = min(gap - form.width, 0.0) / 2
        x[side] += np.sign(TURN[side]) * shorter * eased[side]
        knots = _tuck_depths(stitch.own, beside) if stitch.is_tuck else _knit_depths(stitch.own, stitch.drawn, beside)
        bed = stitch.own + ((stitch.own + beside) / 2 - stitch.own) * eased[side]
        z[side] = form.half_depth * _depth(at[side], knots, share) + form.bed * bed
    x += stitch.lean * (1 + np.cos(TURN)) / 2
    if stitch.lean:
        z += stitch.own * form.moved[stitch.lean > 0] * form.diameter * np.sin(TURN) ** 2
    return np.column_stack([x, y, z])


def _float(
    end: Points,
    gap: float,
    stitch: _Stitch,
    after: _Stitch,
    wales: Sequence[Wale],
    columns: Points,
    width: float,
    form: _Form,
) -> Points:
    """Points between two loops that stand further apart than a loop is wide: a long sinker, or a float past needles."""
    length = gap - form.width
    if length <= form.width / STEPS:
        return np.empty((0, 3))
    passed = [
        wale
        for wale, x in zip(wales, columns, strict=True)
        for at in (x, x + width)
        if stitch.x + 1e-9 < at < stitch.x + gap - 1e-9
    ]
    depth = float(end[2])
    if passed and form.bed == 0.0 and stitch.own == after.own:
        depth = -stitch.own * (form.half_depth + FLOAT_BEHIND * form.diameter)
    elif passed and form.bed:
        depth = 0.0
    steps = max(int(np.ceil(STEPS / 3 * length / form.width)), 4)
    part = np.linspace(0.0, 1.0, steps + 1)[1:-1]
    rise = np.clip(np.minimum(part, 1 - part) * length / (0.5 * form.width), 0.0, 1.0)
    z = end[2] + (depth - end[2]) * rise**2 * (3 - 2 * rise)
    return np.column_stack([end[0] + length * part, np.full(len(part), end[1]), z])
