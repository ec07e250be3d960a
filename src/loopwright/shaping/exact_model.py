"""What an exactly shaped edge is asked for: the wanted outline, the limits of the machine, the price of an event.

One edge is one side of a panel. In: needles moved from the start of the edge as a float at every course boundary;
which events are allowed, and at which courses; what a deviation and a carriage stroke weigh. Convention A, as in
`fashioning`: an event "at course k" acts when k courses are knitted. Deviation is counted in the middle of a course:
needles of the stair less the mean of the outline's two boundary values, in mm; its square is summed over the courses,
so that one gap which shows in the seam weighs more than many small ones. The square is convex and levels are whole
needles, so an integer programme holds it exactly with straight secants.
Not covered: the search itself (`exact_kernel`), two edges at once (`exact_pair`). Source: production reference 3.2 and
3.3.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray


@dataclass(frozen=True, slots=True)
class WantedEdge:
    """An outline at course boundaries: `needles_moved` has courses + 1 values, starts anywhere and ends whole."""

    name: str
    needles_moved: tuple[float, ...]
    needles_per_cm: float
    courses_per_cm: float

    def __post_init__(self) -> None:
        if len(self.needles_moved) < 2 or not all(map(math.isfinite, self.needles_moved)):
            raise ValueError("an outline has a finite value at each boundary of at least one course")
        if self.needles_moved[-1] != round(self.needles_moved[-1]):
            raise ValueError("an outline ends on a whole needle")
        if self.needles_per_cm <= 0 or self.courses_per_cm <= 0:
            raise ValueError("densities are positive")

    @property
    def courses(self) -> int:
        """Courses of the edge."""
        return len(self.needles_moved) - 1

    @property
    def needles(self) -> int:
        """Needles moved when the edge is done."""
        return round(self.needles_moved[-1])

    @property
    def mid_course(self) -> NDArray[np.float64]:
        """Wanted needles moved in the middle of each course, shape (courses,)."""
        wanted = np.array(self.needles_moved, dtype=np.float64)
        middle: NDArray[np.float64] = (wanted[:-1] + wanted[1:]) / 2
        return middle

    @property
    def length_cm(self) -> float:
        """Length of the outline; a stair that keeps to it within a needle has the same edge once it is knitted.

        >>> line = straight_edge("raglan", 57, 126, needles_per_cm=3.6, courses_per_cm=5.0)    # P-22
        >>> round(line.length_cm, 2)
        29.76
        """
        across_cm = np.diff(np.array(self.needles_moved, dtype=np.float64)) / self.needles_per_cm
        return float(np.sum(np.hypot(across_cm, 1 / self.courses_per_cm)))

    def deviation_mm(self, moved: NDArray[np.int64]) -> NDArray[np.float64]:
        """Distance of a stair from the outline in each course, mm; `moved` is needles moved in force, (courses,)."""
        beside: NDArray[np.float64] = (moved - self.mid_course) * (10 / self.needles_per_cm)
        return beside


def wanted_edge(
    name: str, needles_moved: Sequence[float], *, needles_per_cm: float, courses_per_cm: float
) -> WantedEdge:
    """A sampled outline, an array or list of courses + 1 values, as an edge to shape."""
    values = tuple(float(each) for each in needles_moved)
    return WantedEdge(name, values, needles_per_cm, courses_per_cm)


def straight_edge(name: str, needles: int, courses: int, *, needles_per_cm: float, courses_per_cm: float) -> WantedEdge:
    """The straight line that moves `needles` over `courses`.

    >>> edge = straight_edge("armhole", 20, 58, needles_per_cm=6.5, courses_per_cm=8.4)    # worked example B
    >>> edge.courses, edge.needles
    (58, 20)
    """
    line = np.linspace(0.0, needles, courses + 1)
    return wanted_edge(name, line.tolist(), needles_per_cm=needles_per_cm, courses_per_cm=courses_per_cm)


@dataclass(frozen=True, slots=True)
class EdgeLimits:
    """Which events an edge allows.

    Args:
        needles_per_event: needles that one event may move the edge's own way.
        needles_back: needles that one event may move the other way; none for a monotone edge.
        courses_between: least courses knitted between two events of this edge.
        step: events only at courses `parity`, `parity` + `step`, ….
        parity: see `step`; below it.
        first_after: least courses knitted before the first event.
        first_before: course by which the first event has come (monotone edges only).
        last_after: course before which the last event may not come (monotone edges only).
        straight_end: least courses knitted after the last event.
        bind_off_from: least needles of a bind-off.
        bind_off_courses: courses at which a bind-off may come; they need not fit `step` and `first_after`.
    """

    needles_per_event: tuple[int, ...]
    needles_back: tuple[int, ...] = ()
    courses_between: int = 2
    step: int = 2
    parity: int = 0
    first_after: int = 1
    first_before: int | None = None
    last_after: int | None = None
    straight_end: int = 0
    bind_off_from: int = 3
    bind_off_courses: tuple[int, ...] = ()

    def __post_init__(self) -> None:
        sizes = (*self.needles_per_event, *self.needles_back, self.bind_off_from, self.courses_between, self.step)
        if min(sizes) < 1 or not 0 <= self.parity < self.step:
            raise ValueError("needles, courses and step are at least 1, and the parity is below the step")
        if not self.is_monotone and (self.first_before is not None or self.last_after is not None):
            raise ValueError("an edge that moves both ways has no window for its first or last event")

    @property
    def is_monotone(self) -> bool:
        """Whether the edge moves one way only."""
        return not self.needles_back

    def event_courses(self, courses: int) -> tuple[int, ...]:
        """Courses of an edge of `courses` at which a narrowing or widening may come.

        >>> EdgeLimits((1, 2), first_after=3, straight_end=4).event_courses(12)
        (4, 6, 8)
        """
        start = self.first_after + (self.parity - self.first_after) % self.step
        return tuple(range(start, courses - self.straight_end + 1, self.step))


@dataclass(frozen=True, slots=True)
class EdgeCosts:
    """What the programme weighs against each other; carriage figures come from the machine.

    Args:
        per_mm2: cost of one course that lies one mm beside the outline (two mm: four times as much).
        per_stroke: cost of one carriage stroke.
        event_strokes: strokes of an event the edge's own way (a narrowing: its transfers; a widening: often none).
        back_strokes: strokes of an event the other way.
        bind_off_strokes: strokes of each needle bound off.
    """

    per_mm2: float
    per_stroke: float
    event_strokes: float
    back_strokes: float = 0.0
    bind_off_strokes: float = 0.0

    def __post_init__(self) -> None:
        weights = (self.per_mm2, self.per_stroke, self.event_strokes, self.back_strokes, self.bind_off_strokes)
        if not all(math.isfinite(each) and each >= 0 for each in weights):
            raise ValueError("weights and strokes are finite and not negative")


class Change(NamedTuple):
    """What an event does to its edge; negative needles move it back. A plain tuple: courses by the hundred share it."""

    needles: int
    is_bind_off: bool = False

    @property
    def is_narrowing(self) -> bool:
        """Whether loops are moved the edge's own way, so that both edges of a panel can share the strokes."""
        return self.needles > 0 and not self.is_bind_off

    def strokes(self, costs: EdgeCosts) -> float:
        """Carriage strokes that the change takes when its edge is worked alone."""
        if self.is_bind_off:
            return costs.bind_off_strokes * self.needles
        return costs.event_strokes if self.needles > 0 else costs.back_strokes


@dataclass(frozen=True, slots=True)
class Event:
    """One event of a planned edge, after `course` courses."""

    course: int
    change: Change

    @property
    def needles(self) -> int:
        """Needles that the event moves."""
        return self.change.needles


def levels_of(edge: WantedEdge, limits: EdgeLimits) -> range:
    """Needles moved that a plan may stand at.

    From nothing to all for a monotone edge. An edge that moves both ways stays within the span of its outline and its
    ends, widened by the largest event: that bound is part of the model.
    """
    if limits.is_monotone:
        if edge.needles < 0:
            raise ValueError("a monotone edge counts its needles moved upwards")
        return range(edge.needles + 1)
    reach = max(limits.needles_per_event + limits.needles_back)
    lowest, highest = math.floor(min(edge.needles_moved)), math.ceil(max(edge.needles_moved))
    return range(min(0, lowest) - reach, max(0, highest) + reach + 1)


def allowed_changes(edge: WantedEdge, limits: EdgeLimits) -> dict[int, tuple[Change, ...]]:
    """Every change that may come at each course, ordered by course."""
    own = tuple(Change(size) for size in (*limits.needles_per_event, *(-size for size in limits.needles_back)))
    found = dict.fromkeys(limits.event_courses(edge.courses), own)
    if not limits.bind_off_courses:
        return found
    sizes = range(limits.bind_off_from, len(levels_of(edge, limits)))
    bind_offs = tuple(Change(size, is_bind_off=True) for size in sizes)
    for course in limits.bind_off_courses:
        if 0 <= course <= edge.courses:
            found[course] = found.get(course, ()) + bind_offs
    return dict(sorted(found.items()))
