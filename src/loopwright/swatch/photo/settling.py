"""One stitch out of what repeats: the shortest step across at which the picture is like itself, and the lowest rise.

In: spectra of a picture, the size of a lattice found in them, what the person said of repeats. Out: `Settled`, the
ways to call the steps wale and course, cheapest first. A way costs as it leaves the usual shape and stance of a stitch,
as the picture is less like itself there than at the best step, and, where several wales or courses repeat, as it is
less like itself at single ones. Stripes, half wales and courses set half a wale aside are told from stitches so.
Assumed: wales about upright. The spreads of likeness are priors, set on rendered cloth.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import maximum_filter

from loopwright.swatch.photo.lattice import Measures, measures
from loopwright.swatch.photo.likemap import LikeMap, like_map
from loopwright.swatch.photo.orientation import MOST_ROTATION_DEG, MOST_SKEW_DEG, stance_cost
from loopwright.swatch.photo.spectrum import BINS, Spectra

Array = NDArray[np.float64]

MOST_DIRECTIONS = 3
APART_DEG = 5.0
LEAST_STEP_PX = 3.0
LEAST_LIKE = 0.8  # of the best level step: as like as half a wale at least
LEAST_ROW = 0.6  # of the best row: courses of two tones in turn are less like one on than two on
WALE_SD, COURSE_SD, NOISE = 0.04, 0.25, 0.004  # how far likeness falls short at a true step
COARSER = 6.0  # cost of each doubling of the cell: that what repeats in half of it should do so by chance
SINGLE = 20.0  # cost of no likeness at single stitches of a repeat
SAME_AREA = 0.1
MOST_ROWS = 4
LOWEST_ROW = 0.3  # course over wale
SIDE_STEPS = 24


@dataclass(frozen=True, slots=True)
class Settled:
    """One way to call the steps: repeat steps (px of the picture, columns wale and course), one stitch, costs.

    `like` is the least likeness of the picture with itself one repeat on: across, up and both slanting ways; `singles`
    how like single wales and courses of a repeat are to each other, 1 when each stitch repeats.
    """

    steps: Array
    stitch: Measures
    stance: float
    like: float
    singles: float
    cost: float
    stripe_repeat: int

    @property
    def area_px(self) -> float:
        """Area of one repeat."""
        return abs(float(np.linalg.det(self.steps)))


@dataclass(frozen=True, slots=True)
class Across:
    """A repeat across: step in pixels of the copy, its likeness, the map beside its direction, cost of likeness."""

    step: Array
    like: float
    beside: LikeMap
    cost: float


def settled(spectra: Spectra, repeat: tuple[int, int]) -> list[Settled]:
    """All ways to call what repeats in one copy, cheapest first, each once."""
    plain = like_map(spectra)
    found = [
        way
        for direction in directions(plain)
        for across in repeats_across(spectra, direction)
        for way in ways_up(plain, across, repeat, spectra.factor)
    ]
    kept: list[Settled] = []
    for way in sorted((with_singles(way, found) for way in found), key=lambda each: each.cost):
        if not any(is_same(way, other) for other in kept):
            kept.append(way)
    return kept


def with_singles(way: Settled, others: list[Settled]) -> Settled:
    """A way with the cost of its single stitches, against the other ways to cut the same lattice."""
    best = max(each.singles for each in others if abs(math.log(each.area_px / way.area_px)) < SAME_AREA)
    return replace(way, cost=way.cost + SINGLE * (best - way.singles))


def is_same(first: Settled, second: Settled) -> bool:
    """Whether two ways name the same steps."""
    size = np.linalg.norm(second.steps, axis=0)
    return bool((np.linalg.norm(first.steps - second.steps, axis=0) < 0.05 * size).all())


def directions(plain: LikeMap) -> list[Array]:
    """Steps about level to which the picture is like itself, one for each direction, the shortest first."""
    likeness = plain.grid()
    rows, columns = np.nonzero(maximum_filter(likeness, 5) == likeness)
    steps = np.stack([columns, rows], axis=1).astype(float) - BINS // 2
    length = np.hypot(steps[:, 0], steps[:, 1])
    heading = np.degrees(np.arctan2(steps[:, 1], steps[:, 0]))
    values = likeness[rows, columns]
    level = (np.abs(heading) <= MOST_ROTATION_DEG) & (length > LEAST_STEP_PX) & (length < plain.reach_px) & (values > 0)
    if not level.any():
        return []
    good = level & (values >= LEAST_LIKE * values[level].max())
    found: list[Array] = []
    for index in np.nonzero(good)[0][np.argsort(length[good])]:
        step = drawn_out(plain, steps[index])
        is_slope = math.hypot(*step) < LEAST_STEP_PX  # of the likeness at no step
        if is_slope or abs(step[1]) > step[0] * math.tan(math.radians(MOST_ROTATION_DEG)):
            continue
        if all(turn_deg(step, other) > APART_DEG for other in found):
            found.append(step)
        if len(found) == MOST_DIRECTIONS:
            break
    return found


def turn_deg(first: Array, second: Array) -> float:
    """Angle between two steps."""
    return abs(math.degrees(math.atan2(first[1], first[0]) - math.atan2(second[1], second[0])))


def drawn_out(plain: LikeMap, step: Array) -> Array:
    """A step made exact by its doubles, as long as the picture is as like itself there."""
    exact, like = plain.climbed(step)
    times = 2
    while LEAST_STEP_PX < times * math.hypot(*exact) < 0.8 * plain.reach_px:
        longer, value = plain.climbed(times * exact)
        if value < 0.7 * like or math.hypot(*(longer / times - exact)) > 0.1 * math.hypot(*exact):
            break
        exact = longer / times
        times *= 2
    return exact


def repeats_across(spectra: Spectra, direction: Array) -> Iterator[Across]:
    """The steps along a direction that may be the repeat across: up to the shortest that is as good as any."""
    beside = like_map(spectra, direction)
    along = direction / math.hypot(*direction)
    places = np.arange(LEAST_STEP_PX, beside.reach_px, 0.25)
    line = beside.at(places[:, None] * along)
    tops = np.nonzero((line[1:-1] >= line[:-2]) & (line[1:-1] > line[2:]))[0] + 1
    if len(tops) == 0 or line[tops].max() <= 0:
        return
    best = float(line[tops].max())
    spread = WALE_SD + NOISE / best
    for index in tops[line[tops] >= LEAST_LIKE * best]:
        step, like = beside.climbed(places[index] * along)
        if (
            math.hypot(*step) < LEAST_STEP_PX
            or turn_deg(step, direction) > APART_DEG
            or abs(math.hypot(*step) - places[index]) > 2
        ):
            continue
        yield Across(step, like, beside, (max(0.0, 1 - like / best) / spread) ** 2)
        if like >= (1 - spread) * best:
            return


def ways_up(plain: LikeMap, across: Across, repeat: tuple[int, int], factor: float) -> Iterator[Settled]:
    """The ways to go up from a repeat across: the lowest rows that have the stance of a wale."""
    rows = rows_above(across, repeat)
    if not rows:
        return
    best = max(like for _, like in rows)
    least = LEAST_ROW if repeat[1] == 1 else 1 - COURSE_SD / 2
    taken = 0
    for row, like in rows:
        if like < least * best or taken == MOST_ROWS:
            continue
        standing = [up for up in (row + aside * across.step for aside in (-1, 0, 1)) if stands(across.step, up, repeat)]
        taken += bool(standing)
        for up in standing:
            stitch = measures(across.step / repeat[0] * factor, up / repeat[1] * factor)
            steps = np.stack([across.step, up], axis=1) * factor
            stance = stance_cost(stitch)
            cost = stance + across.cost + (max(0.0, 1 - like / best) / COURSE_SD) ** 2
            cost += COARSER * math.log2(abs(float(np.linalg.det(steps))))
            stripes = stripe_repeat(plain, up) if repeat[1] == 1 else 1
            around = np.array([across.step, up, up + across.step, up - across.step])
            like_around = float(plain.at(around).min())
            yield Settled(steps, stitch, stance, like_around, singles(plain, across.step, up, repeat), cost, stripes)


def stands(across: Array, up: Array, repeat: tuple[int, int]) -> bool:
    """Whether a step leads up as a wale may."""
    return abs(measures(across / repeat[0], up / repeat[1]).skew_deg) <= MOST_SKEW_DEG


def rise(step: Array, across: Array) -> float:
    """How far a step leads up from the courses."""
    return float(step[0] * across[1] - step[1] * across[0]) / math.hypot(*across)


def rows_above(across: Across, repeat: tuple[int, int]) -> list[tuple[Array, float]]:
    """Steps to the rows above, lowest first, each where it is most like, with its likeness."""
    length = math.hypot(*across.step)
    along = across.step / length
    up = np.array([along[1], -along[0]])
    wale = length / repeat[0]
    highest = min(across.beside.reach_px, 3.2 * wale * repeat[1], 100.0)
    rises = np.arange(max(2.0, LOWEST_ROW * wale * repeat[1]), highest, 0.5)
    sides = np.arange(-0.5, 0.5, 1 / (SIDE_STEPS * repeat[0])) * length
    if len(rises) < 3:
        return []
    likeness = across.beside.at(rises[:, None, None] * up + sides[None, :, None] * along)
    row = likeness.max(axis=1)
    tops = np.nonzero((row[1:-1] >= row[:-2]) & (row[1:-1] > row[2:]))[0] + 1
    found: list[tuple[Array, float]] = []
    for index in tops:
        step, like = across.beside.climbed(rises[index] * up + sides[int(likeness[index].argmax())] * along)
        height = rise(step, across.step)
        if like <= 0 or abs(height - rises[index]) > 2 or height < rises[0]:
            continue
        if all(abs(rise(other, across.step) - height) > 1 for other, _ in found):
            found.append((step, like))
    return found


def singles(plain: LikeMap, across: Array, up: Array, repeat: tuple[int, int]) -> float:
    """Likeness at single wales and courses of a repeat, of that at the whole repeat; 1 when each stitch repeats."""
    parts = [across * index / repeat[0] for index in range(1, repeat[0])]
    parts += [up * index / repeat[1] for index in range(1, repeat[1])]
    if not parts:
        return 1.0
    return float(plain.at(np.array(parts)).mean()) / max(float(plain.at(np.array([across]))[0]), 1e-3)


def stripe_repeat(plain: LikeMap, up: Array) -> int:
    """Courses in one repeat of colour stripes; 1 when the next course is as like as any."""
    most = int(min(8, plain.reach_px / math.hypot(*up)))
    likeness = plain.at(np.arange(1, most + 1)[:, None] * up) if most > 0 else np.ones(1)
    first = int(np.argmax(likeness >= 0.95 * likeness.max()))
    return first + 1 if likeness[0] < 0.9 * likeness[first] else 1
