"""Exact shaping of two edges together: both sides of a panel, or two edges that a seam ties course to course.

In: two `WantedEdge` over the same courses, their limits, costs, and the strokes of a course in which both narrow. Out:
`PairPlan`, the cheapest of all pairs of plans under the stated model:
  together    both edges planned freely; narrowings of both in one course cost `both_strokes` in place of two events
  alternate   left on even and right on odd courses, or the other way round
  symmetric   one list of events for both edges, against both outlines
Not covered: more than two edges; bowing an edge off its outline to gain length. Source: production reference 2
(raglan), 3.2, 3.3, 4.1.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from loopwright.problems import Problem
from loopwright.shaping.exact import (
    KEPT_PLANS,
    ShapedEdge,
    events_taken,
    exact_edge,
    moves_of,
    run_cost,
    same_cost,
    shaped_edge,
    window_rows,
)
from loopwright.shaping.exact_model import Change, EdgeCosts, EdgeLimits, Event, WantedEdge, allowed_changes, levels_of
from loopwright.shaping.exact_pair_kernel import PairTask, SideTask, cheapest_pair

MOST_STATES = 40_000_000  # states of the programme that fit into a third of a gigabyte


@dataclass(frozen=True, slots=True)
class PairPlan:
    """Two shaped edges; cost and strokes of both, counted from the events, beside the least cost of the search."""

    left: ShapedEdge
    right: ShapedEdge
    cost: float
    strokes: float
    shared_courses: int
    least_cost: float

    @property
    def is_optimal(self) -> bool:
        """Whether the events, counted again without the search, have the least cost of all pairs of the model."""
        return same_cost(self.cost, self.least_cost)


@dataclass(frozen=True, slots=True)
class EdgePair:
    """Two edges with the limits of each and the costs of both."""

    left: WantedEdge
    right: WantedEdge
    left_limits: EdgeLimits
    right_limits: EdgeLimits
    costs: EdgeCosts

    def __post_init__(self) -> None:
        if self.left.courses != self.right.courses:
            names = f"{self.left.name} and {self.right.name}"
            raise Problem(
                names,
                f"{self.left.courses} and {self.right.courses} courses cannot be planned course by course.",
                tries=["give both edges the same courses"],
            )

    @property
    def name(self) -> str:
        """Both names, one when they are the same."""
        return " and ".join(dict.fromkeys((self.left.name, self.right.name)))


@lru_cache(maxsize=KEPT_PLANS)
def together(pair: EdgePair, both_strokes: float) -> PairPlan:
    """The cheapest pair of plans when a course in which both edges narrow takes `both_strokes`.

    Raises:
        Problem: an edge has no plan, or the programme is too large for the two edges at once.
    """
    return _joint(pair, both_strokes)


def alternate(pair: EdgePair) -> PairPlan:
    """The cheapest pair with one edge on even courses and the other on odd ones.

    The edges never narrow in one course, so the cheapest plan of each makes the cheapest pair: exact for either choice
    of sides, and the better choice is taken.

    Raises:
        Problem: an edge has no plan on such courses.
    """
    ways: list[PairPlan] = []
    refused: list[Problem] = []
    for parity in (0, 1):
        try:
            ways.append(_one_each(pair, parity))
        except Problem as problem:
            refused.append(problem)
    if not ways:
        raise refused[0]
    return min(ways, key=lambda plan: plan.cost)


def symmetric(pair: EdgePair, both_strokes: float) -> PairPlan:
    """The cheapest one list of events for both edges, with the limits of the left.

    For one level the squared deviations from two outlines are twice that from their mean, and a constant: so the mean
    outline is shaped, at twice the weight.

    Raises:
        Problem: the edges end on different needles, or the mean outline has no plan.
    """
    left, right, costs = pair.left, pair.right, pair.costs
    if left.needles != right.needles or left.needles_per_cm != right.needles_per_cm:
        raise Problem(
            pair.name,
            f"{left.needles} and {right.needles} needles cannot be moved by the same events.",
            tries=["the same needles on both edges", "two edges planned together"],
        )
    mean = (np.array(left.needles_moved) + np.array(right.needles_moved)) / 2
    doubled = EdgeCosts(
        2 * costs.per_mm2, costs.per_stroke, both_strokes, 2 * costs.back_strokes, 2 * costs.bind_off_strokes
    )
    plan = exact_edge(replace(left, needles_moved=tuple(mean.tolist())), pair.left_limits, doubled)
    apart_mm = 10 * (left.mid_course - right.mid_course) / left.needles_per_cm
    constant = costs.per_mm2 * float(np.sum(apart_mm**2)) / 2
    events = plan.shaped.events
    return _counted(pair, events, events, both_strokes, plan.least_cost + constant)


def _one_each(pair: EdgePair, parity: int) -> PairPlan:
    left = exact_edge(pair.left, replace(pair.left_limits, step=2, parity=parity), pair.costs)
    right = exact_edge(pair.right, replace(pair.right_limits, step=2, parity=1 - parity), pair.costs)
    least = left.least_cost + right.least_cost
    return _counted(pair, left.shaped.events, right.shaped.events, 2 * pair.costs.event_strokes, least)


def _joint(pair: EdgePair, both_strokes: float) -> PairPlan:
    left, right = allowed_changes(pair.left, pair.left_limits), allowed_changes(pair.right, pair.right_limits)
    rows, spacing = common_rows(sorted({*left, *right}))
    sides = [
        side_task(edge, limits, pair.costs, changes, rows, spacing)
        for edge, limits, changes in (
            (pair.left, pair.left_limits, left),
            (pair.right, pair.right_limits, right),
        )
    ]
    task = PairTask(sides[0], sides[1], _saving(pair.costs, both_strokes))
    _check_size(pair, task.states)
    path = cheapest_pair(task)
    if path is None:
        raise _no_pair(pair)
    taken = events_taken(path.left, left, rows), events_taken(path.right, right, rows)
    return _counted(pair, *taken, both_strokes, path.cost)


def common_rows(courses: Sequence[int]) -> tuple[range, int]:
    """Evenly spaced courses that hold all of `courses`, as few as possible, and their spacing.

    >>> common_rows([2, 6, 12])
    (range(2, 13, 2), 2)
    """
    if not courses:
        return range(0), 1
    spacing = math.gcd(*(course - courses[0] for course in courses)) or 1
    return range(courses[0], courses[-1] + 1, spacing), spacing


def side_task(
    edge: WantedEdge,
    limits: EdgeLimits,
    costs: EdgeCosts,
    changes: dict[int, tuple[Change, ...]],
    rows: range,
    spacing: int,
) -> SideTask:
    """One edge in the plain arrays of the joint programme."""
    levels = levels_of(edge, limits)
    sums = run_cost(edge, limits, costs.per_mm2)
    leave_by, arrive_from = window_rows(limits, np.array(rows, dtype=np.int64))
    return SideTask(
        course_cost=np.diff(sums[[*rows, edge.courses]], axis=0, prepend=0.0),
        moves=moves_of((changes.get(course, ()) for course in rows), costs),
        wait=math.ceil(limits.courses_between / spacing),
        start=levels.index(0),
        end=levels.index(edge.needles),
        leave_by=leave_by if edge.needles else len(rows),
        arrive_from=arrive_from if edge.needles else 0,
    )


def _saving(costs: EdgeCosts, both_strokes: float) -> float:
    return costs.per_stroke * (2 * costs.event_strokes - both_strokes)


def _counted(
    pair: EdgePair,
    left: tuple[Event, ...],
    right: tuple[Event, ...],
    both_strokes: float,
    least_cost: float,
) -> PairPlan:
    """The pair with its cost and strokes counted from the events."""
    costs = pair.costs
    shaped_left, shaped_right = shaped_edge(pair.left, left, costs), shaped_edge(pair.right, right, costs)
    narrowing_left, narrowing_right = (
        {event.course for event in side if event.change.is_narrowing} for side in (left, right)
    )
    shared = len(narrowing_left & narrowing_right)
    saved = shared * (2 * costs.event_strokes - both_strokes)
    cost = shaped_left.cost + shaped_right.cost - costs.per_stroke * saved
    strokes = shaped_left.strokes + shaped_right.strokes - saved
    return PairPlan(shaped_left, shaped_right, cost, strokes, shared, least_cost)


def _check_size(pair: EdgePair, states: int) -> None:
    if states > MOST_STATES:
        raise Problem(
            pair.name,
            f"The two edges together have {states // 1_000_000} million states.",
            limit=f"{MOST_STATES // 1_000_000} million are searched",
            tries=["the same events on both edges", "each edge alone", "events every 2 courses"],
        )


def _no_pair(pair: EdgePair) -> ValueError:
    """The problem of the edge that has no plan alone: two that have one each have one together."""
    exact_edge(pair.left, pair.left_limits, pair.costs)
    exact_edge(pair.right, pair.right_limits, pair.costs)
    return ValueError(f"{pair.name}: each edge has a plan, and the two together have none")
