"""Machines and hands that an order needs."""

import json
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from loopwright.cost.planning import Shift, linkers_needed, machines_needed, work_hours
from loopwright.figure import Basis, banded, entered
from loopwright.problems import Problem


@given(
    pieces=st.integers(1, 100_000),
    minutes=st.floats(1, 200),
    days=st.integers(1, 60),
    hours=st.floats(4, 24),
    share=st.floats(0.3, 1),
)
def test_the_machines_given_can_knit_the_order_and_one_fewer_cannot(
    pieces: int, minutes: float, days: int, hours: float, share: float
) -> None:
    work, shift = work_hours(entered("knitting", minutes, "min"), pieces), Shift(days, hours, share)
    machines = machines_needed(work, shift).whole
    assert machines * shift.hours >= work.value * (1 - 1e-6)
    assert (machines - 1) * shift.hours < work.value


def test_linkers_follow_from_pieces_minutes_and_the_hours_they_work() -> None:
    need = linkers_needed(entered("make-up", 26, "min"), 2000, Shift(days=15, hours_per_day=8, share_worked=0.75))
    assert need.figure.value == pytest.approx(2000 * 26 / (60 * 8 * 15 * 0.75))
    assert need.whole == math.ceil(need.figure.value)


def test_minutes_that_are_not_sure_make_the_need_not_sure() -> None:
    minutes = banded("knitting", 37.3, "min", low=30, high=45, basis=Basis.ASSUMED, words="early")
    need = machines_needed(work_hours(minutes, 2000), Shift(15, 20, 0.9))
    assert (need.figure.low, need.figure.high) == pytest.approx((2000 * 30 / 60 / 270, 2000 * 45 / 60 / 270))
    json.dumps(need.as_dict())


@pytest.mark.parametrize(
    ("days", "hours", "share"), [(0, 8, 0.9), (10, 25, 0.9), (10, 8, 0), (10, 8, 75), (float("nan"), 8, 0.9)]
)
def test_a_shift_without_time_is_refused(days: float, hours: float, share: float) -> None:
    with pytest.raises(Problem) as caught:
        Shift(days, hours, share)
    assert caught.value.tries


def test_fewer_than_no_pieces_cannot_be_planned() -> None:
    with pytest.raises(Problem):
        work_hours(entered("knitting", 30, "min"), -1)
