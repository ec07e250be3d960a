"""The dynamic programme that shapes two edges at once, course by course: every pair of plans is weighed.

State: (rows until the left edge is free for an event, the same of the right, level left, level right), at rows of
equal spacing. In one row either edge may move, both, or none; two narrowings in one row save a part of their cost, or
are forbidden. Time and memory: rows × waits left × waits right × levels left × levels right.
Source: Bellman's principle of optimality; the objective is in `exact_pair`.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import product

import numpy as np

from loopwright.shaping.exact_kernel import Floats, Move, shifted_least


@dataclass(frozen=True, slots=True)
class SideTask:
    """One of the two edges in plain arrays.

    Args:
        course_cost: cost at each level of the courses up to each row from the one before, and to the end at last,
            (rows + 1, levels).
        moves: moves allowed in each row.
        wait: rows from an event to the next one of this edge.
        start: column of the start.
        end: column of the end.
        leave_by: rows from here on may no longer leave the start.
        arrive_from: rows before this may not yet reach the end.
    """

    course_cost: Floats
    moves: Sequence[tuple[Move, ...]]
    wait: int
    start: int
    end: int
    leave_by: int
    arrive_from: int

    @property
    def levels(self) -> int:
        """Columns."""
        return int(self.course_cost.shape[1])


@dataclass(frozen=True, slots=True)
class PairTask:
    """Two edges over the same rows; `saving` for two narrowings in one row."""

    left: SideTask
    right: SideTask
    saving: float

    @property
    def states(self) -> int:
        """States of the programme over all rows."""
        left, right = self.left, self.right
        return len(left.moves) * left.wait * right.wait * left.levels * right.levels


@dataclass(frozen=True, slots=True)
class PairPath:
    """The cheapest pair: its cost, and (row, index of the move in its row) in order for either edge."""

    cost: float
    left: tuple[tuple[int, int], ...]
    right: tuple[tuple[int, int], ...]


@dataclass(frozen=True, slots=True)
class _Place:
    """A state, or a state right after the events of a row (then a wait may be a whole one)."""

    wait_left: int
    wait_right: int
    left: int
    right: int


def cheapest_pair(task: PairTask) -> PairPath | None:
    """The least cost over all pairs of plans, and one pair that has it; None when no pair reaches both ends."""
    left, right = task.left, task.right
    before, after = _sweep(task)
    at_end = after[:, :, left.end, right.end]
    cost = float(np.min(at_end)) + left.course_cost[-1, left.end] + right.course_cost[-1, right.end]
    if not np.isfinite(cost):
        return None
    wait_left, wait_right = np.unravel_index(int(np.argmin(at_end)), at_end.shape)
    return _traced(task, before, _Place(int(wait_left), int(wait_right), left.end, right.end), float(cost))


def _sweep(task: PairTask) -> tuple[Floats, Floats]:
    """(cost before the events of each row, cost after those of the last); waits and levels as in the states."""
    left, right = task.left, task.right
    rows = len(left.moves)
    before = np.empty((rows, left.wait, right.wait, left.levels, right.levels))
    state = np.full(before.shape[1:], np.inf)
    state[0, 0, left.start, right.start] = 0.0
    after = state
    for row in range(rows):
        np.add(state, left.course_cost[row][:, None] + right.course_cost[row], out=before[row])
        if row >= left.leave_by:
            before[row][:, :, left.start] = np.inf
        if row >= right.leave_by:
            before[row][..., right.start] = np.inf
        after = _after_events(task, row, before[row])
        state = _a_row_later(after)
    return before, after


def _after_events(task: PairTask, row: int, before: Floats) -> Floats:
    """Costs after the events of a row; a whole wait stands for an edge that has just moved."""
    left, right = task.left, task.right
    after = np.full((left.wait + 1, right.wait + 1, left.levels, right.levels), np.inf)
    after[:-1, :-1] = before
    _shift(before[0], left.moves[row], axis=1, out=after[-1, :-1])
    _shift(before[:, 0], right.moves[row], axis=2, out=after[:-1, -1])
    _shift_both(task, row, before[0, 0], out=after[-1, -1])
    if row < left.arrive_from:
        after[-1, :, left.end] = np.inf
    if row < right.arrive_from:
        after[:, -1, :, right.end] = np.inf
    return after


def _shift(values: Floats, moves: Sequence[Move], *, axis: int, out: Floats) -> None:
    shifted_least(np.moveaxis(values, axis, 0), moves, out=np.moveaxis(out, axis, 0))


def _shift_both(task: PairTask, row: int, free: Floats, *, out: Floats) -> None:
    """Least over moves of both edges in one row, from the states in which both are free."""
    moves_right = task.right.moves[row]
    for is_narrowing in (True, False):
        moves_left = [move for move in task.left.moves[row] if move.is_narrowing == is_narrowing]
        if not moves_left:
            continue
        moved = np.full_like(free, np.inf)
        _shift(free, moves_left, axis=0, out=moved)
        met = [move for move in moves_right if is_narrowing and move.is_narrowing]
        _shift(moved, [move for move in moves_right if move not in met], axis=1, out=out)
        _shift(moved - task.saving, met, axis=1, out=out)


def _a_row_later(after: Floats) -> Floats:
    """States when the next row is reached: every wait one shorter, none shorter than nothing."""
    later = after[1:].copy()
    np.minimum(later[0], after[0], out=later[0])
    state = later[:, 1:].copy()
    np.minimum(state[:, 0], later[:, 0], out=state[:, 0])
    return state


def _traced(task: PairTask, before: Floats, place: _Place, cost: float) -> PairPath:
    taken_left: list[tuple[int, int]] = []
    taken_right: list[tuple[int, int]] = []
    choices = [place]
    for row in range(len(before) - 1, -1, -1):
        ways = ((way, source) for each in choices for way, source in _ways_into(task, row, each))
        (move_left, move_right), source = min(ways, key=lambda way: _cost_of(task, row, before[row], *way))
        taken_left += [(row, move_left)] * (move_left >= 0)
        taken_right += [(row, move_right)] * (move_right >= 0)
        choices = _a_row_earlier(source)
    return PairPath(cost, tuple(reversed(taken_left)), tuple(reversed(taken_right)))


def _ways_into(task: PairTask, row: int, place: _Place) -> Iterator[tuple[tuple[int, int], _Place]]:
    """((index of the left move, of the right), state before the row's events) of each way; −1 is no move."""
    lefts = _moves_into(task.left, row, place.wait_left, place.left)
    rights = _moves_into(task.right, row, place.wait_right, place.right)
    for (move_left, wait_left, left), (move_right, wait_right, right) in product(lefts, rights):
        yield (move_left, move_right), _Place(wait_left, wait_right, left, right)


def _moves_into(side: SideTask, row: int, wait: int, level: int) -> list[tuple[int, int, int]]:
    """(index of the move or −1, wait before it, level before it)."""
    if wait < side.wait:
        return [(-1, wait, level)]
    sources = [(index, 0, level - move.levels) for index, move in enumerate(side.moves[row])]
    return [each for each in sources if 0 <= each[2] < side.levels]


def _cost_of(task: PairTask, row: int, before: Floats, moves: tuple[int, int], source: _Place) -> float:
    cost = float(before[source.wait_left, source.wait_right, source.left, source.right])
    made = [side.moves[row][move] for side, move in zip((task.left, task.right), moves, strict=True) if move >= 0]
    cost += sum(move.cost for move in made)
    if len(made) == 2 and all(move.is_narrowing for move in made):
        return cost - task.saving
    return cost


def _a_row_earlier(state: _Place) -> list[_Place]:
    """Places right after the events of the row before, from which a state comes."""
    lefts = (0, 1) if state.wait_left == 0 else (state.wait_left + 1,)
    rights = (0, 1) if state.wait_right == 0 else (state.wait_right + 1,)
    return [_Place(left, right, state.left, state.right) for left, right in product(lefts, rights)]
