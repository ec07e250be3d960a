"""Yarn to buy: mass in the piece, losses, kilograms and cones."""

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from loopwright.cost.yarn_purchase import (
    issued_mass,
    usual_loss,
    usual_losses,
    yarn_issued,
    yarn_order,
)
from loopwright.figure import entered
from loopwright.problems import Problem
from loopwright.sources.table import table


@given(net=st.floats(1, 2000), losses=st.lists(st.floats(0, 0.4), max_size=4))
def test_what_is_left_of_the_issued_yarn_is_the_garment(net: float, losses: list[float]) -> None:
    left = issued_mass(net, losses)
    for loss in losses:
        left *= 1 - loss
    assert left == pytest.approx(net)


def test_spread_of_losses_reaches_the_issued_mass() -> None:
    issued = yarn_issued(entered("net", 200.0, "g"), usual_losses("fully fashioned"))
    assert issued.unit == "kg"
    assert issued.value == pytest.approx(0.2 / 0.95 / 0.99)
    assert issued.high == pytest.approx(issued.value * (1 + 0.01 / 0.95))  # knitting loss up to 6 %


def test_a_loss_of_everything_is_refused_with_both_numbers() -> None:
    with pytest.raises(Problem) as caught:
        yarn_issued(entered("net", 200.0, "g"), [entered("knitting", 1.0, "")])
    assert "100%" in caught.value.what
    assert caught.value.tries


def test_an_unknown_construction_has_no_usual_losses() -> None:
    with pytest.raises(Problem, match="complete garment"):
        usual_losses("woven")


def test_every_loss_is_a_share_within_its_own_band() -> None:
    for row in table("loopwright.cost", "losses"):
        loss = usual_loss(row.text("loss"))
        assert 0 < loss.low <= loss.value <= loss.high < 1


@given(pieces=st.integers(1, 10_000), cone=st.floats(0.3, 5), feeders=st.integers(1, 6), machines=st.integers(1, 9))
def test_cones_hold_the_order_and_feed_every_machine(pieces: int, cone: float, feeders: int, machines: int) -> None:
    order = yarn_order(
        "main", "slate", kg_per_piece=entered("kg", 0.22, "kg"), pieces=pieces, cone_kg=cone, feeders=feeders,
        machines=machines,
    )  # fmt: skip
    assert order.cones * cone >= order.kg.value * (1 - 1e-6)
    assert order.cones >= feeders * machines
    assert (order.cones - 1) * cone < order.kg.value or order.cones == feeders * machines


def test_dyed_yarn_is_ordered_over_for_matching() -> None:
    order = yarn_order(
        "main", "slate", kg_per_piece=entered("kg", 0.2, "kg"), pieces=1000, cone_kg=1.0,
        over_order=usual_loss("over_order"),
    )  # fmt: skip
    assert order.kg.value == pytest.approx(205)
    assert (order.kg.low, order.kg.high) == pytest.approx((204, 206))
    json.dumps(order.as_dict())


@pytest.mark.parametrize(("pieces", "cone"), [(0, 1.0), (100, 0.0), (100, -1.0), (100, float("nan"))])
def test_an_order_without_pieces_or_cones_is_refused(pieces: int, cone: float) -> None:
    with pytest.raises(Problem) as caught:
        yarn_order("main", "slate", kg_per_piece=entered("kg", 0.22, "kg"), pieces=pieces, cone_kg=cone)
    assert caught.value.tries
