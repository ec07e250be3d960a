"""Exact shaping of one edge: the events that follow an outline best for the carriage strokes they take.

In: `WantedEdge` (needles moved at course boundaries), `EdgeLimits`, `EdgeCosts`. Out: `EdgePlan`, with the same `Steps`
that the classic rules give. The plan has the least
    per_mm2 · Σ over courses of (stair − outline)² in mm²  +  per_stroke · strokes of its events
of all plans that keep the limits and end on the wanted needle: the programme weighs every one of them. What a stroke
is worth is the person's choice. A guide for a straight edge: a stair of m needles per event lies (m·10/w)²/12 mm² off
in the mean course, so two needles at a time pay from 50 / (w²·strokes per event·slope) mm² per stroke on, with w
needles per cm and the slope in needles per course (1.1 for the armhole of worked example B
at three strokes).
Not covered: two edges together (`exact_pair`), classic rules (`fashioning`), words of comparison (`exact_words`).
Source: production reference 3.2, 3.3; Bellman's principle of optimality.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from loopwright.shaping.exact_kernel import EdgeTask, Floats, Move, cheapest_path
from loopwright.shaping.exact_model import Change, EdgeCosts, EdgeLimits, Event, WantedEdge, allowed_changes, levels_of
from loopwright.shaping.exact_refusal import why_no_plan
from loopwright.shaping.fashioning import Steps, event_places, grouped

SAME_COST = 1e-9  # relative difference that floating sums of one cost may show
NO_COST = 1e-6  # difference of costs, mm² at unit weight, that is no difference
KEPT_PLANS = 512  # edges whose plans are kept: ten sizes of ten panels, several edits deep


@dataclass(frozen=True, slots=True)
class ShapedEdge:
    """The events of one edge, with what they cost and how far the stair lies from its outline; all counted from them.

    `cost` and `strokes` are those of the edge worked alone.
    """

    edge: WantedEdge
    events: tuple[Event, ...]
    cost: float
    strokes: float
    max_deviation_mm: float
    rms_deviation_mm: float

    @property
    def steps(self) -> Steps:
        """The lines that a technician reads; a bind-off is the step that takes its needles at once."""
        starts = [0, *(event.course for event in self.events)]
        runs = [after - before for before, after in pairwise(starts)]
        return grouped([(event.needles, run) for event, run in zip(self.events, runs, strict=True)])


@dataclass(frozen=True, slots=True)
class EdgePlan:
    """The cheapest plan of one edge; `least_cost` is what the exhaustive search found."""

    shaped: ShapedEdge
    least_cost: float

    @property
    def steps(self) -> Steps:
        """The lines that a technician reads."""
        return self.shaped.steps

    @property
    def is_optimal(self) -> bool:
        """Whether the events, counted again without the search, have the least cost of all plans of the model."""
        return same_cost(self.shaped.cost, self.least_cost)


def same_cost(one: float, other: float) -> bool:
    """Whether two sums of one cost agree as far as floating numbers can."""
    return math.isclose(one, other, rel_tol=SAME_COST, abs_tol=NO_COST)


@lru_cache(maxsize=KEPT_PLANS)
def exact_edge(edge: WantedEdge, limits: EdgeLimits, costs: EdgeCosts) -> EdgePlan:
    """The cheapest plan of one edge.

    >>> from loopwright.shaping.exact_model import straight_edge
    >>> armhole = straight_edge("armhole", 20, 58, needles_per_cm=6.5, courses_per_cm=8.4)    # P-17
    >>> plan = exact_edge(armhole, EdgeLimits((2,)), EdgeCosts(per_mm2=1, per_stroke=1, event_strokes=3))
    >>> sum(each.times * each.needles for each in plan.steps), plan.shaped.strokes, plan.is_optimal
    (20, 30, True)

    Raises:
        Problem: no plan keeps the limits and ends on the wanted needle.
    """
    changes = allowed_changes(edge, limits)
    path = cheapest_path(edge_task(edge, limits, costs, changes))
    if path is None:
        raise why_no_plan(edge, limits)
    return EdgePlan(shaped_edge(edge, events_taken(path.taken, changes), costs), path.cost)


def events_taken(
    taken: Sequence[tuple[int, int]], changes: dict[int, tuple[Change, ...]], rows: Sequence[int] | None = None
) -> tuple[Event, ...]:
    """Events of a path of (row, index of the change); rows stand at the courses of `changes` unless given."""
    courses = list(changes) if rows is None else rows
    return tuple(Event(courses[row], changes[courses[row]][index]) for row, index in taken)


def shaped_edge(edge: WantedEdge, events: tuple[Event, ...], costs: EdgeCosts) -> ShapedEdge:
    """An edge shaped by `events`, with its cost, strokes and deviations."""
    strokes = sum(event.change.strokes(costs) for event in events)
    deviation = edge.deviation_mm(moved_in_course(events, edge.courses))
    cost = costs.per_mm2 * float(np.sum(deviation**2)) + costs.per_stroke * strokes
    largest, rms = float(np.max(np.abs(deviation))), math.sqrt(float(np.mean(deviation**2)))
    return ShapedEdge(edge, events, cost, strokes, largest, rms)


def moved_in_course(events: Sequence[Event], courses: int) -> NDArray[np.int64]:
    """Needles moved in force during each course, shape (courses,)."""
    change = np.zeros(courses + 1, dtype=np.int64)
    for event in events:
        change[event.course] += event.needles
    return np.cumsum(change[:courses])


def events_of(steps: Steps) -> tuple[Event, ...]:
    """Narrowings and widenings that steps stand for, so that a classic plan can be counted like an exact one."""
    places, sizes = event_places(steps)
    return tuple(Event(int(course), Change(int(needles))) for course, needles in zip(places, sizes, strict=True))


def run_cost(edge: WantedEdge, limits: EdgeLimits, per_mm2: float) -> Floats:
    """Cost of the courses up to each boundary if all stood at one level, shape (courses + 1, levels)."""
    levels = np.array(levels_of(edge, limits), dtype=np.float64)
    beside_mm = (levels - edge.mid_course[:, None]) * (10 / edge.needles_per_cm)
    sums = np.zeros((edge.courses + 1, len(levels)))
    np.cumsum(per_mm2 * beside_mm**2, axis=0, out=sums[1:])
    return sums


def edge_task(
    edge: WantedEdge, limits: EdgeLimits, costs: EdgeCosts, changes: dict[int, tuple[Change, ...]]
) -> EdgeTask:
    """The edge in the plain arrays of the programme; its rows are the courses of `changes`."""
    courses = np.array(list(changes), dtype=np.int64)
    levels = levels_of(edge, limits)
    leave_by, arrive_from = window_rows(limits, courses)
    return EdgeTask(
        run_cost=run_cost(edge, limits, costs.per_mm2)[[*changes, edge.courses]],
        moves=moves_of(changes.values(), costs),
        ready=np.searchsorted(courses, courses - limits.courses_between, side="right").tolist(),
        start=levels.index(0),
        end=levels.index(edge.needles),
        leave_by=leave_by,
        arrive_from=arrive_from if edge.needles else 0,
    )


def window_rows(limits: EdgeLimits, courses: NDArray[np.int64]) -> tuple[int, int]:
    """(row from which the start may no longer be left, first row that may reach the end) for rows at `courses`."""
    leave, arrive = limits.first_before, limits.last_after
    leave_by = len(courses) if leave is None else int(np.searchsorted(courses, leave, side="right"))
    return leave_by, 0 if arrive is None else int(np.searchsorted(courses, arrive))


def moves_of(rows: Iterable[tuple[Change, ...]], costs: EdgeCosts) -> list[tuple[Move, ...]]:
    """Changes allowed in each row as moves of the programme; rows that allow the same share them."""
    rows = list(rows)
    of = {
        changes: tuple(
            Move(each.needles, costs.per_stroke * each.strokes(costs), is_narrowing=each.is_narrowing)
            for each in changes
        )
        for changes in set(rows)
    }
    return [of[changes] for changes in rows]
