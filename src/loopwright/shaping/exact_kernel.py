"""The dynamic programme that shapes one edge: every plan of the model is weighed, none is left out.

State: (course, needles moved). An event is followed by at least so many courses before the next, so the value of a
state is taken when the edge is ready for an event again. Plain arrays in, events out; rows are the courses at which
events may come, columns are levels. Costs of courses are held as sums from the start of the edge: a straight run then
costs a difference of two rows, and the best run into a row is a running least. Time: rows × moves × levels.
Source: Bellman's principle of optimality; the objective is in `exact_model`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Move:
    """An event as the programme sees it: levels up (or down, negative), its cost, whether two of them share strokes."""

    levels: int
    cost: float
    is_narrowing: bool = True


@dataclass(frozen=True, slots=True)
class EdgeTask:
    """One edge in plain arrays.

    Args:
        run_cost: cost of the courses from the start up to each row if all stood at one level, (rows + 1, levels);
            the last row is the end of the edge.
        moves: moves allowed in each row.
        ready: for each row, how many earlier rows lie far enough back for an event of their own.
        start: column of the start.
        end: column of the end.
        leave_by: rows from here on may no longer leave the start.
        arrive_from: rows before this may not yet reach the end.
    """

    run_cost: Floats
    moves: Sequence[tuple[Move, ...]]
    ready: Sequence[int]
    start: int
    end: int
    leave_by: int
    arrive_from: int


@dataclass(frozen=True, slots=True)
class Path:
    """The cheapest path: its cost, and (row, index of the move in its row) in order."""

    cost: float
    taken: tuple[tuple[int, int], ...]


def cheapest_path(task: EdgeTask) -> Path | None:
    """The least cost over all plans of the task, and one plan that has it; None when no plan reaches the end."""
    before, after = _sweep(task)
    whole = task.run_cost[-1]
    straight = whole[task.start] if task.start == task.end else np.inf
    arrivals = after[:, task.end]
    row = int(np.argmin(arrivals)) if len(arrivals) else -1
    bent = arrivals[row] + whole[task.end] if row >= 0 else np.inf
    if not np.isfinite(min(straight, bent)):
        return None
    if straight <= bent:
        return Path(float(straight), ())
    return Path(float(bent), _traced(task, before, after, row))


def _sweep(task: EdgeTask) -> tuple[Floats, Floats]:
    """(cost ready in a row before its event, cost after an event there less the row's run cost), (rows, levels)."""
    rows, levels = len(task.moves), task.run_cost.shape[1]
    before = np.empty((rows, levels))
    after = np.full((rows, levels), np.inf)
    least = np.full(levels, np.inf)
    least[task.start] = 0.0
    taken_in = 0
    for row in range(rows):
        for earlier in range(taken_in, task.ready[row]):
            np.minimum(least, after[earlier], out=least)
        taken_in = max(taken_in, task.ready[row])
        np.add(least, task.run_cost[row], out=before[row])
        if row >= task.leave_by:
            before[row, task.start] = np.inf
        shifted_least(before[row], task.moves[row], out=after[row])
        after[row] -= task.run_cost[row]
        if row < task.arrive_from:
            after[row, task.end] = np.inf
    return before, after


def shifted_least(values: Floats, moves: Sequence[Move], *, out: Floats) -> None:
    """Least over moves of values moved along the first axis plus the cost; `out` comes filled with infinity."""
    for move in moves:
        up = move.levels
        if abs(up) >= len(values):
            continue
        source, target = (values[:-up], out[up:]) if up > 0 else (values[-up:], out[:up])
        np.minimum(target, source + move.cost, out=target)


def _traced(task: EdgeTask, before: Floats, after: Floats, row: int) -> tuple[tuple[int, int], ...]:
    taken = []
    level = task.end
    while row >= 0:
        move = _move_into(task.moves[row], before[row], level)
        taken.append((row, move))
        level -= task.moves[row][move].levels
        row = _row_before(task, after, row, level)
    return tuple(reversed(taken))


def _move_into(moves: Sequence[Move], before: Floats, level: int) -> int:
    def cost(index: int) -> float:
        source = level - moves[index].levels
        return float(before[source]) + moves[index].cost if 0 <= source < len(before) else np.inf

    return min(range(len(moves)), key=cost)


def _row_before(task: EdgeTask, after: Floats, row: int, level: int) -> int:
    """The row of the event before, −1 when the edge ran straight from its start."""
    earlier = after[: task.ready[row], level]
    best = int(np.argmin(earlier)) if len(earlier) else -1
    if level == task.start and (best < 0 or earlier[best] >= 0.0):
        return -1
    return best
