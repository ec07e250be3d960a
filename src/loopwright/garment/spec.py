"""The size specification of a style: from population, sizes and what was typed to every measure of every size.

In: words and numbers of the style. Out: `SizeTable`. Not covered: needles (`shaping`). Source: production reference 1.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace

from loopwright.figure import plain
from loopwright.garment.blocks import block_of, points_of
from loopwright.garment.blocks.block import Asked
from loopwright.garment.bodies import Body, child, man, require_girth, woman
from loopwright.garment.ease import ease_findings, ease_of_fit, fit_of_ease
from loopwright.garment.grading import SizeTable, graded_table
from loopwright.garment.measures import OTHER_WORDS, as_point, check_ranges, no_measure
from loopwright.garment.shape import DEFAULT, Shape
from loopwright.garment.sizes import girth_of_size, letter_of
from loopwright.problems import Finding, Problem, Sign
from loopwright.sources.table import table

__all__ = ["SizeTable", "minimum_neck_cm", "size_table_of"]

USUAL_FIT = "classic"


def size_table_of(
    *,
    population: str,
    sizes: Sequence[str],
    base_size: str | None = None,
    fit: str | None = None,
    chest_ease_cm: float | None = None,
    typed_cm: Mapping[str, float],
    hand_set_cm: Mapping[str, Mapping[str, float]],
    grade_cm: Mapping[str, float],
    shape: Shape = DEFAULT,
) -> SizeTable:
    """Every measure of every size.

    Args:
        population: "women", "men" or "children".
        sizes: labels in order.
        base_size: the size that `typed_cm` describes; M, or the middle one, when left out.
        fit, chest_ease_cm: how much larger than the body; `fit` is a word, the ease wins.
        typed_cm: measures of the base size, by point or in other words (`armhole_depth`, `upper_arm`, `cuff`, …).
        hand_set_cm: cells kept from the grade, by size.
        grade_cm: own grade per step, by point.
        shape: the parts of the garment, which say what its points are.

    Raises:
        Problem: unknown sizes or measures, or measures that contradict each other.
    """
    if len({letter_of(size) or size.strip() for size in sizes}) < len(sizes):
        raise Problem("sizes", "a size is named twice.", tries=["name each size once"])
    base = base_size or _usual_base(sizes)
    if base not in sizes:
        raise Problem("base_size", f"“{base}” is not among the sizes.", limit=f"sizes: {', '.join(sizes)}")
    body = body_of_size(population, base)
    ease = chest_ease_cm if chest_ease_cm is not None else ease_of_fit(fit or USUAL_FIT)
    points = _base_points(body, ease, typed_cm, shape)
    made = graded_table(population, base, sizes, points, grade_cm=grade_cm, hand_set_cm=hand_set_cm, shape=shape)
    return replace(made, findings=(*made.findings, *_ease_findings(made), *_body_findings(body)))


def _usual_base(sizes: Sequence[str]) -> str:
    return next((size for size in sizes if letter_of(size) == "M"), sizes[(len(sizes) - 1) // 2])


def body_of_size(population: str, size: str) -> Body:
    """The body that a size is made for.

    Raises:
        Problem: no such size, or no such body.
    """
    girth = girth_of_size(population, size)
    require_girth(population, girth, f"size {size}")
    bodies: dict[str, Callable[[float], Body]] = {"women": woman, "men": man, "children": child}
    return bodies[population](girth)


def _base_points(body: Body, ease: float, typed_cm: Mapping[str, float], shape: Shape) -> dict[str, tuple[float, str]]:
    """Points of the base size: typed ones, others from the body; measures in other words are turned once."""
    block, known = block_of(shape), frozenset(points_of(shape))
    for name in typed_cm:
        if name not in known and name not in OTHER_WORDS:
            raise no_measure(name, known)
    check_ranges(typed_cm, "measures_cm")
    typed = {name: value for name, value in typed_cm.items() if name in known}
    others = [name for name in ("upper_arm", "cuff", "armhole_depth", "sleeve_underarm") if name not in known]
    for name in [each for each in others if each in typed_cm]:
        made = block.usual(Asked(body, ease, shape, typed)) if name in NEED_OTHERS else {}
        around = {each: value for each, (value, _) in made.items()}
        point, value = as_point(name, typed_cm[name], around, shape=shape, known=known)
        typed[_once(point, name, typed_cm)] = value
    return block.usual(Asked(body, ease, shape, typed))


def _once(point: str, name: str, typed_cm: Mapping[str, float]) -> str:
    if point in typed_cm:
        raise Problem("measures_cm", f"{name} and {point} say the same thing twice.", tries=["keep one of the two"])
    return point


NEED_OTHERS = ("armhole_depth", "sleeve_underarm")  # words whose point depends on others of the size


def _ease_findings(made: SizeTable) -> tuple[Finding, ...]:
    """Base size too small for its body, and sizes that grade or hand moved into another fit than the base size."""
    if not block_of(made.shape).girth[0]:
        return ()
    point = block_of(made.shape).girth[0].replace("_", " ")
    eases = {size: _ease_cm(made, size) for size in made.sizes}
    fit = fit_of_ease(eases[made.base_size])
    moved = [size for size, ease in eases.items() if fit_of_ease(ease) != fit]
    findings = ease_findings(eases[made.base_size])
    if not moved:
        return findings
    worst = max(moved, key=lambda size: abs(eases[size] - eases[made.base_size]))
    also = [size for size in moved if size != worst]
    sentence = (
        f"Size {worst} has {plain(eases[worst], 1)} cm of ease on its body, {fit_of_ease(eases[worst])}; the base size "
        f"{made.base_size} has {plain(eases[made.base_size], 1)} cm, {fit}."
        + (f" Another fit than the base also in {', '.join(also)}." if also else "")
    )
    tries = (f"a grade of {point} that follows the body", f"{point} set by hand in {worst}")
    weight = abs(eases[worst] - eases[made.base_size]) / 100
    return (*findings, Finding(Sign.DECIDE, "sizes", sentence, tries, weight=weight))


def _ease_cm(made: SizeTable, size: str) -> float:
    point, dimension = block_of(made.shape).girth
    body = body_of_size(made.population, size)
    girth_cm = body.girth_cm if dimension == "chest" else body[dimension]
    times = 2 if point.startswith("half_") else 1
    return round(times * made.value_cm(size, point) - girth_cm, 6)


def _body_findings(body: Body) -> tuple[Finding, ...]:
    if not body.is_outside:
        return ()
    sentence = (
        f"The base body of {body.girth_cm:g} cm lies outside the surveyed range; its measures are continued lines."
    )
    return (Finding(Sign.KNOW, "sizes", sentence, ("type the measures of your own wearer",), weight=0.3),)


def minimum_neck_cm(population: str, size: str) -> float:
    """Girth to which the neck of a size must open, cm."""
    rows = table(__package__, "neck_minimum").by("wearer")
    if population != "children":
        return rows["adult"]["girth_cm"]
    height = girth_of_size("children", size)
    fitting = [row for row in rows.values() if height <= row["upto_height_cm"]]
    return min(fitting, key=lambda row: row["upto_height_cm"])["girth_cm"]
