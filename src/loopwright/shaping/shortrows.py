"""Short rows: courses that only a part of the needles knits while the others hold, planned from the geometry wanted.

In: extra length wanted across a panel, in cm over the needles. Out: `Insert`: pairs of courses, each with the needles
that knit it. Where the wanted length is largest in one place and falls away from it, its level sets are runs of
needles, so rounding the length of every needle to whole pairs is exact to half a pair.
Assumption: two courses at a time, so that the carriage returns; a wrapped or tucked turning needle closes the hole.
Not covered: shoulders and necks (they never come back to the full width: `edges`). Source: production reference 3.4.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from loopwright.garment.measures import Measures
from loopwright.garment.shape import Shape
from loopwright.problems import Problem
from loopwright.shaping.edges import Edge, Insert
from loopwright.shaping.needles import nearest_even
from loopwright.shaping.panel import Fold, PanelGauge
from loopwright.shaping.rules import rule_row

Pairs = tuple[tuple[int, int], ...]


def pairs_for_length(length_cm: float, courses_per_cm: float) -> int:
    """Pairs of courses for an extra length: par(ΔL·c)/2.

    >>> pairs_for_length(68 / 7, 7.0)    # P-23: 68 extra courses are 34 pairs
    34
    """
    return nearest_even(length_cm * courses_per_cm) // 2


def pairs_of_profile(extra_pairs: Sequence[float]) -> tuple[tuple[int, int], ...]:
    """Runs of needles, first and one past the last, of every pair of courses, from the longest run to the shortest.

    `extra_pairs` are the pairs wanted at each needle, rising to one top and falling from it. Needle i gets as many
    pairs as its wanted number rounds to.

    >>> pairs_of_profile([0, 1, 2, 2, 1, 0])
    ((1, 5), (2, 4))

    Raises:
        ValueError: a profile with two tops.
    """
    whole = [math.floor(each + 0.5) for each in extra_pairs]
    runs = []
    for level in range(1, max(whole, default=0) + 1):
        inside = [index for index, each in enumerate(whole) if each >= level]
        if inside[-1] - inside[0] + 1 != len(inside):
            raise ValueError("a profile of short rows has one top")
        runs.append((inside[0], inside[-1] + 1))
    return tuple(runs)


def wedge(needles: int, pairs: int) -> tuple[int, ...]:
    """Needles that knit each of `pairs` pairs of a wedge over `needles`, narrowest last: pairs + 1 equal segments.

    The larger segments are spread among the smaller so that the wedge holds half the loops of its rectangle.

    >>> knits = wedge(300, 34)    # P-23: 35 segments, 20 of 9 needles and 15 of 8
    >>> segments = [before - after for before, after in zip((300, *knits), (*knits, 0))]
    >>> segments.count(9), segments.count(8), 2 * sum(knits)    # 34 pairs on 300 needles: half of 68 · 300
    (20, 15, 10200)
    """
    parts = 2 * (pairs + 1)
    return tuple(needles - (2 * step * needles + pairs + 1) // parts for step in range(1, pairs + 1))


def symmetrical(half_needles: int, pairs: int, *, flat_share: float = 0.0) -> Pairs:
    """Pairs that grow from the sides to the centre of a panel of 2 × `half_needles`, a share at the centre flat."""
    flat = round(flat_share * half_needles)
    return tuple((flat + each, flat + each) for each in wedge(half_needles - flat, pairs))


def hem_rows(name: str, shape: Shape, *, needles: int, gauge: PanelGauge) -> tuple[Insert, ...]:
    """Short rows above the rib that drop the back of a hem straight, or round it in back and front."""
    if shape.hem == "straight" or not shape.hem_drop_cm or (shape.hem == "dropped back" and name != "back"):
        return ()
    pairs = pairs_for_length(shape.hem_drop_cm, gauge.courses_per_cm)
    if shape.hem == "dropped back":
        rows = symmetrical(needles, pairs, flat_share=rule_row("dropped_hem_flat_share")["value"])
    else:
        across = [math.sqrt(max(0.0, 1 - ((index + 0.5) / needles) ** 2)) for index in range(needles)]
        runs = pairs_of_profile([pairs * each for each in across])
        rows = tuple((end, end) for _, end in runs)
    return (Insert(f"{shape.hem} hem", 0, rows),) if rows else ()


def folds(shape: Shape, *, courses: int, gauge: PanelGauge) -> tuple[Fold, ...]:
    """Folds of ruching above the rib of a front: (g − 1) courses more for each course, a fold every so many courses.

    Raises:
        Problem: a ratio that no cloth gathers to, or a height above that of the body.
    """
    if not shape.ruching_cm or shape.ruching_ratio == 1.0:
        return ()
    row, height = rule_row("ruching_ratio"), nearest_even(shape.ruching_cm * gauge.courses_per_cm)
    if not row["value_low"] <= shape.ruching_ratio <= row["value_high"]:
        what = f"a gather of {shape.ruching_ratio:g} courses to one."
        limit = f"{row['value_low']:g} to {row['value_high']:g}"
        raise Problem("ruching", what, limit=limit, tries=["a gather of 2", "more folds, each smaller"])
    if height > courses:
        what = f"ruching {shape.ruching_cm:g} cm high takes {height} courses; the side has {courses}."
        raise Problem("ruching", what, tries=["a lower zone of ruching", "a longer body"])
    spacing = max(2, nearest_even(rule_row("fold_spacing_cm")["value"] * gauge.courses_per_cm))
    places = range(spacing, height + 1, spacing)
    extra = nearest_even((shape.ruching_ratio - 1) * spacing)
    return tuple(Fold(course, extra) for course in places) if extra else ()


def bust_dart(measures: Measures, edge: Edge, gauge: PanelGauge) -> tuple[Insert, ...]:
    """Short rows of the front that add length over the bust: the sides hold from the seam to near the bust point."""
    extra = measures.shape.bust_dart_cm
    pairs = pairs_for_length(extra, gauge.courses_per_cm) if extra else 0
    if not pairs:
        return ()
    at = sum(stretch.courses for stretch in edge.stretches[: _side_stretches(edge)])
    half = edge.width_at(edge.stretches[_side_stretches(edge)].name)
    flat = rule_row("dart_centre_share")["value"]
    below = nearest_even(rule_row("dart_below_underarm_cm")["value"] * gauge.courses_per_cm)
    last = edge.stretches[_side_stretches(edge) - 1]
    course = max(at - last.courses, at - below) if not last.steps else at - last.courses
    return (Insert("bust dart", course, symmetrical(half, pairs, flat_share=flat)),)


def _side_stretches(edge: Edge) -> int:
    """How many stretches the side has below the armhole."""
    names = [stretch.name for stretch in edge.stretches]
    return next(index for index, name in enumerate(names) if name in ("armhole", "raglan"))


def pocket_depth_cm(*, needles: int, courses_per_cm: float) -> float:
    """Depth of the pocket of a heel or cup: held one needle a course to a third, then taken back; p/c, p = 2N/3.

    >>> round(pocket_depth_cm(needles=60, courses_per_cm=8.0), 1)    # 40 courses of 8 per cm
    5.0
    """
    return 2 * needles / 3 / courses_per_cm


def heel_rows(needles_each_side: int) -> Pairs:
    """Needles to each side of the centre that knit every pair of a heel or cup, held in to a third and taken back."""
    least = max(1, round(needles_each_side / 3))
    inwards = tuple((each, each) for each in range(needles_each_side, least, -1))
    return (*inwards, *inwards[::-1])
