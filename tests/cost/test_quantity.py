"""Price and quantity: breaks, curve, target and break-even."""

import json
from collections.abc import Callable
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from loopwright.cost.money import Money
from loopwright.cost.piece import CostInputs, early_quote
from loopwright.cost.quantity import (
    PriceLaw,
    break_even,
    curve_quantities,
    pieces_for_price,
    price_law,
    quantity_breaks,
)
from loopwright.cost.sheet import cost_sheet
from loopwright.problems import Problem

Job = Callable[..., CostInputs]

LAWS = st.builds(PriceLaw, st.floats(0.5, 200), st.floats(0, 50000), st.just("EUR"))


def exact_price(law: PriceLaw, pieces: float) -> float:
    return law.variable + law.fixed / pieces


@given(pieces=st.integers(1, 10**6), kg=st.floats(0.05, 2), reject=st.floats(0, 0.3))
def test_the_law_of_price_agrees_with_the_sheet_at_every_quantity(
    job: Job, pieces: int, kg: float, reject: float
) -> None:
    law = price_law(job(kg=kg, reject_share=reject, testing_cost=400, dye_lot_surcharge=150))
    sheet = cost_sheet(job(kg=kg, reject_share=reject, testing_cost=400, dye_lot_surcharge=150, pieces=pieces))
    assert exact_price(law, pieces) == pytest.approx(sheet.fob.figure.value)


def test_breaks_have_the_price_and_the_spread_of_their_own_sheet(job: Job) -> None:
    inputs = early_quote(job())
    for each in quantity_breaks(inputs):
        fob = cost_sheet(inputs.at_quantity(each.pieces)).fob
        assert each.price == fob.amount
        assert (each.figure.low, each.figure.high) == pytest.approx((fob.figure.low, fob.figure.high))


def test_the_curve_falls_from_the_first_quantity_to_the_last(job: Job) -> None:
    quantities = curve_quantities(50, 3000)
    prices = [each.figure.value for each in quantity_breaks(early_quote(job()), quantities)]
    assert (quantities[0], quantities[-1]) == (50, 3000)
    assert prices == sorted(prices, reverse=True)


@given(law=LAWS, target=st.integers(50, 40000).map(lambda cents: Money(Decimal(cents) / 100, "EUR")))
def test_the_quantity_for_a_target_meets_it_and_one_piece_fewer_does_not(law: PriceLaw, target: Money) -> None:
    found = pieces_for_price(law, target)
    if found.pieces is None:
        assert law.price(10**9).amount > target.amount
        assert "never" in found.words
        return
    assert law.price(found.pieces).amount <= target.amount
    if found.pieces > 1:
        assert law.price(found.pieces - 1).amount > target.amount


@given(first=LAWS, second=LAWS)
def test_break_even_really_equalises_the_two_constructions(first: PriceLaw, second: PriceLaw) -> None:
    found = break_even(first, second)
    gap = [exact_price(first, pieces) - exact_price(second, pieces) for pieces in (1, 10**9)]
    if found.pieces is None:
        assert gap[0] * gap[1] >= -1e-6 or first.variable == second.variable
        return
    at = exact_price(first, found.pieces) - exact_price(second, found.pieces)
    assert at * gap[1] >= -1e-6  # from here on the order is that of very many pieces
    if found.pieces > 1:
        before = exact_price(first, found.pieces - 1) - exact_price(second, found.pieces - 1)
        assert before * gap[1] <= 1e-6


def test_a_construction_cheaper_in_both_parts_is_cheaper_at_every_quantity() -> None:
    plain, rich = PriceLaw(8, 300, "EUR"), PriceLaw(9, 900, "EUR")
    assert break_even(plain, rich).words == "The first is cheaper at every quantity."
    assert break_even(rich, plain).words == "The second is cheaper at every quantity."
    assert break_even(plain, plain).words == "Both cost the same at every quantity."


def test_a_target_below_the_variable_cost_is_never_met_and_says_what_a_piece_costs() -> None:
    found = pieces_for_price(PriceLaw(15.91, 1182, "EUR"), Money(Decimal("15.50"), "EUR"))
    assert found.pieces is None
    assert "15.50" in found.words
    assert "15.91" in found.words


def test_prices_in_two_currencies_have_no_break_even_and_no_target() -> None:
    euro, dollar = PriceLaw(9, 350, "EUR"), PriceLaw(7.8, 950, "USD")
    with pytest.raises(Problem, match="USD"):
        break_even(euro, dollar)
    with pytest.raises(Problem, match="USD"):
        pieces_for_price(euro, Money(Decimal(12), "USD"))


@pytest.mark.parametrize(("fewest", "most"), [(0, 100), (100, 100), (300, 50)])
def test_a_curve_over_no_quantities_is_refused(fewest: int, most: int) -> None:
    with pytest.raises(Problem):
        curve_quantities(fewest, most)


def test_breaks_can_be_written_as_json(job: Job) -> None:
    inputs = job()
    json.dumps([each.as_dict() for each in quantity_breaks(inputs)])
    json.dumps([price_law(inputs).as_dict(), break_even(price_law(inputs), PriceLaw(9, 900, "EUR")).as_dict()])
    with pytest.raises(Problem):
        quantity_breaks(inputs, [0])
