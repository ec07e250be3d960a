"""Grading: every size from the base size by rule, with hand-set cells kept apart.

In: points of the base size, sizes, grade per step, hand-set cells. Out: `SizeTable`. A hand-set cell keeps its value
under any grade; taking it away returns the cell to the grade. Assumption: one step per letter (5 cm of bust, 8 cm of
a man's chest) or per 6 cm of a child's height; half chest and half hem take their larger step beyond XL.
Not covered: default measures (`defaults`). Source: production reference 1.7, 1.9, 1.8 (tolerance rule).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from functools import cache

from loopwright.garment.blocks import measures_of, points_of
from loopwright.garment.measures import Measures, as_points, no_measure, tolerance_cm, words_of
from loopwright.garment.shape import DEFAULT, Shape
from loopwright.garment.sizes import LAST_REGULAR, LETTERS, girth_of_size, letter_of
from loopwright.problems import Finding, Problem, Sign
from loopwright.sources.table import Row, table

PER_STEP_CM = {"women": 5.0, "men": 8.0, "children": 6.0}  # bust, chest or height from one size to the next
SIZE_DEFINING = ("half_chest", "half_hem", "across_shoulder")  # lengths and small parts may overlap between sizes


class Origin(StrEnum):
    """Where a cell of the size table comes from."""

    TYPED = "typed"
    BODY = "from the body"
    GRADED = "graded"
    HAND_SET = "set by hand"


@dataclass(frozen=True, slots=True)
class Cell:
    """A measure of one size: cm, origin, and how it was got in words."""

    value_cm: float
    origin: Origin
    words: str


@dataclass(frozen=True, slots=True)
class SizeTable:
    """Points of measure of every size."""

    population: str
    base_size: str
    sizes: tuple[str, ...]
    cells: Mapping[tuple[str, str], Cell]
    findings: tuple[Finding, ...] = ()
    shape: Shape = DEFAULT

    @property
    def names(self) -> tuple[str, ...]:
        """Points of measure in order."""
        return points_of(self.shape)

    @property
    def tolerances_cm(self) -> dict[str, float]:
        """Tolerance of every point."""
        return {name: tolerance_cm(name) for name in self.names}

    @property
    def is_child(self) -> bool:
        """Whether the wearer is a child."""
        return self.population == "children"

    def cell(self, size: str, name: str) -> Cell:
        """One cell."""
        return self.cells[size, name]

    def value_cm(self, size: str, name: str) -> float:
        """One cell's value."""
        return self.cells[size, name].value_cm

    def is_hand_set(self, size: str, name: str) -> bool:
        """Whether a cell was set by hand."""
        return self.cells[size, name].origin is Origin.HAND_SET

    def measures(self, size: str) -> Measures:
        """The full set of one size.

        Raises:
            Problem: its measures contradict each other.
        """
        return measures_of({name: self.value_cm(size, name) for name in self.names}, size, self.shape)


def graded_table(
    population: str,
    base_size: str,
    sizes: Sequence[str],
    base: Mapping[str, tuple[float, str]],
    *,
    grade_cm: Mapping[str, float],
    hand_set_cm: Mapping[str, Mapping[str, float]],
    shape: Shape = DEFAULT,
) -> SizeTable:
    """Every size from the base points by the grade, then the hand-set cells.

    Raises:
        Problem: a grade or hand-set cell for a measure or size that is not there.
    """
    names = points_of(shape)
    _check_names(grade_cm, hand_set_cm, sizes, names)
    cells: dict[tuple[str, str], Cell] = {}
    for size in sizes:
        points = {}
        for name in names:
            value, words = base[name]
            change = _change(name, population, base_size, size, grade_cm, shape)
            origin = Origin.GRADED if size != base_size else Origin.TYPED if words == "typed" else Origin.BODY
            graded = f"{value:g} cm of {base_size} {change:+.2f}" if size != base_size else words
            points[name] = value + change
            cells[size, name] = Cell(points[name], origin, graded)
        hand_set = as_points(hand_set_cm.get(size, {}), points, shape=shape, known=frozenset(names))
        for point, value in hand_set.items():
            cells[size, point] = Cell(value, Origin.HAND_SET, "set by hand; the grade leaves it alone")
    findings = tuple(tolerance_findings(grade_cm, population, names))
    return SizeTable(population, base_size, tuple(sizes), cells, findings, shape)


def _check_names(
    grade_cm: Mapping[str, float],
    hand_set_cm: Mapping[str, Mapping[str, float]],
    sizes: Sequence[str],
    names: Sequence[str],
) -> None:
    for name in grade_cm:
        if name not in names:
            raise no_measure(name, frozenset(names)).at("grade_cm")
    for size in hand_set_cm:
        if size not in sizes:
            raise Problem("hand_set_cm", f"size {size} is not among the sizes.", limit=f"sizes: {', '.join(sizes)}")


def _change(
    name: str, population: str, base_size: str, size: str, grade_cm: Mapping[str, float], shape: Shape
) -> float:
    """Change of a measure from the base size, cm."""
    regular, beyond = step_cm(name, population, grade_cm, shape)
    low, high = steps_from_base(population, base_size, size)
    return regular * low + beyond * high


def step_cm(name: str, population: str, grade_cm: Mapping[str, float], shape: Shape = DEFAULT) -> tuple[float, float]:
    """(step up to XL, step beyond XL) of a measure; the person's own grade replaces both.

    The arm of a raglan grades with the body it is sewn to, so that both edges of the seam stay alike.
    """
    if name in grade_cm:
        return grade_cm[name], grade_cm[name]
    if name == "half_upper_arm" and "raglan_depth" in points_of(shape):
        chest, neck, top = (
            step_cm(each, population, grade_cm, shape) for each in ("half_chest", "neck_width", "sleeve_top")
        )
        regular, beyond = ((c - n + t) / 2 for c, n, t in zip(chest, neck, top, strict=True))
        return regular, beyond
    row = _grade_rows()[population, name]
    return row["step_cm"], row["step_above_xl_cm"]


@cache
def _grade_rows() -> Mapping[tuple[str, str], Row]:
    return table(__package__, "grade").by("population", "measure")


def steps_from_base(population: str, base_size: str, size: str) -> tuple[float, float]:
    """Steps from the base size to a size: (within the regular sizes, beyond XL), negative downwards.

    >>> steps_from_base("women", "M", "3XL"), steps_from_base("children", "98", "110")
    ((2.0, 2.0), (2.0, 0.0))
    """
    first, last = letter_of(base_size), letter_of(size)
    if population != "children" and first and last:
        start, end, edge = LETTERS.index(first), LETTERS.index(last), LETTERS.index(LAST_REGULAR)
        beyond = max(end - edge, 0) - max(start - edge, 0)
        return float(end - start - beyond), float(beyond)
    change_cm = girth_of_size(population, size) - girth_of_size(population, base_size)
    return change_cm / PER_STEP_CM[population], 0.0


def is_separated(*, grade_step_cm: float, tolerance: float) -> bool:
    """Whether neighbouring sizes cannot overlap: tolerance under half the grade step.

    >>> is_separated(grade_step_cm=2.5, tolerance=1.0), is_separated(grade_step_cm=2.5, tolerance=1.5)    # P-08
    (True, False)
    """
    return tolerance < grade_step_cm / 2


def tolerance_findings(grade_cm: Mapping[str, float], population: str, names: Sequence[str]) -> list[Finding]:
    """Size-defining girths whose tolerance reaches into the next size, in one finding."""
    overlapping = []
    for name in [each for each in SIZE_DEFINING if each in names]:
        step, _ = step_cm(name, population, grade_cm)
        if step and not is_separated(grade_step_cm=abs(step), tolerance=tolerance_cm(name)):
            overlapping.append((tolerance_cm(name) / abs(step), name, step))
    if not overlapping:
        return []
    weight, _, _ = max(overlapping)
    listed = "; ".join(
        f"{words_of(name)} ± {tolerance_cm(name):g} on a step of {step:g}" for _, name, step in overlapping
    )
    sentence = f"Neighbouring sizes can overlap, the tolerance not being under half the grade step: {listed} cm."
    tries = ("tighter tolerances", "a larger grade step")
    return [Finding(Sign.KNOW, "sizes", sentence, tries, weight=weight)]
