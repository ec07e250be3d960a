"""Yarn to buy: mass in the piece, losses, kilograms and cones."""

import json
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from loopwright.cost.yarn_purchase import (
    ZoneStitches,
    issued_mass,
    mass_with_waste_added,
    usual_loss,
    usual_losses,
    yarn_in_piece,
    yarn_issued,
    yarn_mass_g,
    yarn_order,
)
from loopwright.figure import Basis, banded, entered
from loopwright.problems import Problem
from loopwright.sources.table import table

TEX = entered("count", 71.43, "tex")


@given(stitches=st.floats(0, 1e6), loop=st.floats(1, 20), tex=st.floats(5, 1000))
def test_twice_the_count_is_twice_the_mass(stitches: float, loop: float, tex: float) -> None:
    once = yarn_mass_g(stitches=stitches, loop_length_mm=loop, count_tex=tex)
    assert yarn_mass_g(stitches=stitches, loop_length_mm=loop, count_tex=2 * tex) == pytest.approx(2 * once)
    assert once == pytest.approx(stitches * loop / 1e6 * tex)  # kilometres of yarn times tex


def test_zones_of_one_yarn_share_the_spread_of_its_count() -> None:
    count = banded("count", 70.0, "tex", low=63, high=77, basis=Basis.ASSUMED, words="count tolerance")
    zones = [ZoneStitches(name, 100_000, entered("l", 6.0, "mm")) for name in ("body", "sleeves")]
    mass = yarn_in_piece("main", zones, count)
    assert mass.value == pytest.approx(84)
    assert (mass.low, mass.high) == pytest.approx((0.9 * 84, 1.1 * 84))  # not averaged out between the zones


def test_loop_lengths_of_two_zones_average_out() -> None:
    loop = banded("l", 6.0, "mm", low=5.4, high=6.6, basis=Basis.ASSUMED, words="setting")
    zones = [ZoneStitches(name, 100_000, loop) for name in ("body", "sleeves")]
    assert yarn_in_piece("main", zones, TEX).relative_spread == pytest.approx(0.1 / math.sqrt(2))


@given(net=st.floats(1, 2000), losses=st.lists(st.floats(0, 0.4), max_size=4))
def test_what_is_left_of_the_issued_yarn_is_the_garment(net: float, losses: list[float]) -> None:
    left = issued_mass(net, losses)
    for loss in losses:
        left *= 1 - loss
    assert left == pytest.approx(net)


@given(net=st.floats(1, 2000), waste=st.floats(0, 0.4))
def test_the_two_rules_of_waste_differ_by_its_square(net: float, waste: float) -> None:
    assert mass_with_waste_added(net, waste) == pytest.approx(issued_mass(net, [waste]) * (1 - waste**2))


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


def test_stitches_below_zero_and_zones_of_one_name_are_refused() -> None:
    loop = entered("l", 6.0, "mm")
    with pytest.raises(Problem, match="-3"):
        yarn_in_piece("main", [ZoneStitches("body", -3, loop)], TEX)
    with pytest.raises(Problem, match="2 zones"):
        yarn_in_piece("main", [ZoneStitches("body", 3, loop), ZoneStitches("body", 3, loop)], TEX)
