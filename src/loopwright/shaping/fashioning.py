"""Distributing narrowings and widenings over courses.

In: needles to lose or gain on one side, courses, needles per event, step (2 when shaping only on even courses). Out:
`Steps`, the lines that a technician reads: so many times, so many needles, after so many courses. Convention A, printed
on the knit-down: an event acts after its interval and the last event falls on the last course. A rule is a function
from (events, courses, step) to intervals; an exact optimiser can take the place of the classic rules.
Not covered: limits of the machine (`limits`), short rows (`panel`). Sources: sleeve_articles_2007,
decrease_formulas_1997; production reference 3.2.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import groupby, pairwise

import numpy as np
from numpy.typing import NDArray

from loopwright.problems import Problem


@dataclass(frozen=True, slots=True)
class Step:
    """`times` events of `needles` on each side, narrowing or widening as the edge says, each after `courses`."""

    times: int
    needles: int
    courses: int

    @property
    def text(self) -> str:
        """As a technician reads it: "9 × (2 needles / 6 courses)"."""
        needles = f"{self.needles} needle{'s' if self.needles != 1 else ''}"
        return f"{self.times} × ({needles} / {self.courses} courses)"


Steps = tuple[Step, ...]
Rule = Callable[[int, int, int], tuple[int, ...]]


def two_rate(events: int, courses: int, step: int = 1) -> tuple[int, ...]:
    """Intervals of the two-rate rule, long ones first: they add up to `courses`.

    >>> two_rate(26, 64).count(3), two_rate(26, 64).count(2)    # P-11
    (12, 14)

    Raises:
        Problem: more events than steps, or courses that are no multiple of the step.
    """
    steps = _whole_steps(events, courses, step)
    short, longer = divmod(steps, events)
    return ((short + 1) * step,) * longer + (short * step,) * (events - longer)


def two_rate_short_first(events: int, courses: int, step: int = 1) -> tuple[int, ...]:
    """The two-rate rule with the short intervals first: steep at the end, round beside a bind-off."""
    return two_rate(events, courses, step)[::-1]


def line_rule(events: int, courses: int, step: int = 1) -> tuple[int, ...]:
    """Intervals that put event j at step ⌊j·K'/f + ½⌋: each event within half a step of the straight line.

    >>> line_rule(3, 8)
    (3, 2, 3)
    """
    steps = _whole_steps(events, courses, step)
    places = [math.floor(event * steps / events + 0.5) for event in range(events + 1)]
    return tuple((after - before) * step for before, after in pairwise(places))


RULES: dict[str, Rule] = {
    "two-rate": two_rate,
    "two-rate, short first": two_rate_short_first,
    "line": line_rule,
}


def _whole_steps(events: int, courses: int, step: int) -> int:
    if events < 1 or step < 1:
        raise ValueError("events and step are at least 1")
    if courses % step:
        raise Problem(
            "fashioning",
            f"{courses} courses are no multiple of {step}.",
            tries=["give the odd course to the straight part"],
        )
    steps = courses // step
    if steps < events:
        raise Problem(
            "fashioning",
            f"{events} narrowings do not fit into {courses} courses at one every {step}.",
            limit=f"at most {steps}",
            tries=["more needles at a time", "bind off a part of the needles", "a taller slope"],
        )
    return steps


def shape(
    needles: int, courses: int, *, per_event: int, step: int = 2, rule: Rule = two_rate, plain_end: bool = False
) -> Steps:
    """Steps that move an edge by `needles` over `courses`.

    A remainder that is no whole event becomes the first event. With `plain_end` a straight run follows the last
    event (end convention B: divide by one more).

    >>> [each.text for each in shape(20, 58, per_event=2)]    # P-17
    ['9 × (2 needles / 6 courses)', '1 × (2 needles / 4 courses)']
    """
    if needles == 0:
        return ()
    sizes = event_sizes(needles, per_event)
    intervals = rule(len(sizes) + int(plain_end), courses, step)[: len(sizes)]
    return grouped(list(zip(sizes, intervals, strict=True)))


def event_sizes(needles: int, per_event: int) -> list[int]:
    """Needles of each event; the remainder, if any, first."""
    whole, rest = divmod(needles, per_event)
    return [rest] * bool(rest) + [per_event] * whole


def grouped(events: Sequence[tuple[int, int]]) -> Steps:
    """(needles, courses) of single events as steps."""
    return tuple(Step(len(list(run)), needles, courses) for (needles, courses), run in groupby(events))


def cap_zones(
    needles: int, courses: int, *, per_event: int, fast: int = 2, slow: int = 4, bottom_share: float = 0.4
) -> Steps:
    """Fast, slow, fast narrowings of a sleeve cap: slow ones (K − a·f)/(b − a), the fast ones split bottom and top.

    >>> [(each.times, each.courses) for each in cap_zones(66, 88, per_event=2)]    # P-21
    [(9, 2), (11, 4), (13, 2)]

    Raises:
        Problem: the courses lie outside a·f to b·f, so that these two rates cannot make this cap.
    """
    sizes = event_sizes(needles, per_event)
    slow_events, rest = divmod(courses - fast * len(sizes), slow - fast)
    if rest or not 0 <= slow_events <= len(sizes):
        raise Problem(
            "sleeve cap",
            f"{len(sizes)} narrowings every {fast} or {slow} courses take {fast * len(sizes)} to {slow * len(sizes)} "
            f"courses, and the cap has {courses}.",
            tries=["other rates", "another number of needles at a time"],
        )
    bottom = math.floor(bottom_share * (len(sizes) - slow_events) + 0.5)
    top = len(sizes) - slow_events - bottom
    return grouped(list(zip(sizes, [fast] * bottom + [slow] * slow_events + [fast] * top, strict=True)))


def needles_moved(steps: Steps, courses: int) -> NDArray[np.int64]:
    """Needles moved per side in force during each of `courses` courses, shape (courses,)."""
    change = np.zeros(courses + 1, dtype=np.int64)
    places, sizes = event_places(steps)
    inside = places <= courses
    np.add.at(change, places[inside], sizes[inside])
    return np.cumsum(change[:courses])


def event_places(steps: Steps) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """(courses knitted before each event, needles of each event), both shape (events,)."""
    times = [step.times for step in steps]
    places = np.cumsum(np.repeat(np.array([step.courses for step in steps], dtype=np.int64), times))
    return places, np.repeat(np.array([step.needles for step in steps], dtype=np.int64), times)


def later_steps(steps: Steps, needles: int) -> Steps:
    """The steps of an edge without its first `needles`, at the courses where they were.

    >>> later_steps((Step(4, 2, 6),), 3)
    (Step(times=1, needles=1, courses=12), Step(times=2, needles=2, courses=6))
    """
    places, sizes = event_places(steps)
    left = np.diff((np.cumsum(sizes) - needles).clip(min=0), prepend=0)
    moved = left > 0
    courses = np.diff(places[moved], prepend=0)
    return grouped([(int(many), int(each)) for many, each in zip(left[moved], courses, strict=True)])


def total_needles(steps: Steps) -> int:
    """Needles that the steps move on one side."""
    return sum(step.times * step.needles for step in steps)


def total_courses(steps: Steps) -> int:
    """Courses up to the last event."""
    return sum(step.times * step.courses for step in steps)


def edge_length_cm(steps: Steps, *, needles_per_cm: float, courses_per_cm: float) -> float:
    """Length of the edge, each step taken as one straight zone."""
    return sum(
        math.hypot(step.times * step.needles / needles_per_cm, step.times * step.courses / courses_per_cm)
        for step in steps
    )


def deviation_mm(steps: Steps, *, needles_per_cm: float) -> float:
    """Largest sideways distance of the stair from the straight line between its ends, mm, at the events."""
    places, sizes = event_places(steps)
    if not len(places):
        return 0.0
    reached = np.cumsum(sizes)
    line = places * reached[-1] / places[-1]
    before = np.abs(reached - sizes - line)
    return float(10 * np.max(np.maximum(before, np.abs(reached - line))) / needles_per_cm)
