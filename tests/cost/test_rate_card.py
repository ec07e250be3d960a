"""The rate card and the machine hour: defaults that show as assumed, limits, early spreads."""

import json
from dataclasses import fields

import pytest
from hypothesis import given
from hypothesis import strategies as st

from loopwright.cost.machine_hour import machine_hour
from loopwright.cost.rates import MarginRule, RateCard, rate_card, rate_rows
from loopwright.cost.spreads import drivers, with_early_spread
from loopwright.figure import NINE_IN_TEN_SD, Basis, Figure, banded, entered
from loopwright.problems import Problem


def test_the_card_and_its_table_name_the_same_rates() -> None:
    rates = [field.name for field in fields(RateCard) if field.name not in ("currency", "margin_rule")]
    assert rates == list(rate_rows())


def test_every_rate_that_nobody_gave_shows_as_assumed() -> None:
    card = rate_card()
    for name, figure in card.figures().items():
        assert figure.basis is Basis.ASSUMED, name
        assert figure.why.words


def test_a_rate_that_was_given_is_entered_and_exact() -> None:
    card = rate_card("EUR", {"makeup_wage": 7.8})
    assert (card.makeup_wage.value, card.makeup_wage.basis) == (7.8, Basis.ENTERED)
    assert card.makeup_wage.low == card.makeup_wage.high
    assert card.machine_hour.high > card.machine_hour.low


def test_rates_speak_the_currency_of_the_card() -> None:
    assert rate_card("USD").makeup_wage.unit == "USD/h"
    with pytest.raises(Problem) as caught:
        rate_card("USD", {"makeup_wage": entered("wage", 5, "EUR/h")})
    assert "EUR/h" in caught.value.what
    assert "USD/h" in caught.value.what


WRONG = [
    {"makeup_wage": -5.0},
    {"line_efficiency": 0.0},
    {"reject_share": 1.0},
    {"margin": 1.0},
    {"margin": float("nan")},
    {"trims": float("inf")},
    {"finance_share": 0.5, "agent_share": 0.45},
    {"piecework": 3.0},
    {"testing_cost": Figure("tests", 0, "EUR", 0, 200, Basis.ENTERED, entered("", 0, "").why)},
]


@pytest.mark.parametrize("given_rates", WRONG)
def test_a_rate_outside_its_limits_is_refused_with_what_to_try(given_rates: dict) -> None:
    with pytest.raises(Problem) as caught:
        rate_card("EUR", given_rates)
    assert caught.value.tries


def test_a_negative_wage_is_answered_with_both_numbers() -> None:
    with pytest.raises(Problem) as caught:
        rate_card("EUR", {"makeup_wage": -5.0})
    assert "-5" in caught.value.what
    assert "0" in caught.value.what


def test_margin_on_cost_may_be_more_than_the_cost() -> None:
    assert rate_card("EUR", {"margin": 1.2}, margin_rule=MarginRule.ON_COST).margin.value == 1.2


def test_an_early_spread_leaves_measured_and_banded_figures_alone() -> None:
    measured = Figure("wage", 5, "EUR/h", 5, 5, Basis.MEASURED, entered("", 0, "").why)
    own = banded("wage", 5, "EUR/h", low=4.9, high=5.1, basis=Basis.PUBLISHED, words="tariff")
    assert with_early_spread("makeup_wage", measured) == measured
    assert with_early_spread("makeup_wage", own) == own


@given(value=st.floats(0.01, 1e5), driver=st.sampled_from(sorted(drivers())))
def test_an_early_spread_has_the_deviation_of_its_row_and_stays_above_zero(value: float, driver: str) -> None:
    figure = with_early_spread(driver, entered("x", value, "EUR"))
    assert figure.spread / NINE_IN_TEN_SD / value == pytest.approx(drivers()[driver]["relative_sd"])
    assert figure.low > 0


def test_fewer_hours_make_the_machine_hour_dearer() -> None:
    rates = [machine_hour("EUR", {"productive_hours": hours}).rate.value for hours in (6000, 4500, 3000, 1500)]
    assert rates == sorted(rates)


def test_the_machine_hour_is_its_yearly_sums_over_its_hours() -> None:
    hour = machine_hour("EUR", {"purchase": 82000, "productive_hours": 5000})
    assert hour.rate.value == pytest.approx(sum(hour.yearly_sums.values()) / 5000)


def test_a_machine_whose_price_is_uncertain_has_an_uncertain_hour() -> None:
    price = banded("price", 60000, "EUR", low=50000, high=70000, basis=Basis.ENTERED, words="two offers")
    rate = machine_hour("EUR", {"purchase": price}).rate
    by_hand = 10000 * (1 / 8 + 0.06 / 2 + 0.03) / 6000  # depreciation, interest, maintenance of 10 000
    assert rate.high - rate.value == pytest.approx(by_hand)


@pytest.mark.parametrize(
    "parameters", [{"productive_hours": 0.0}, {"purchase": 5000, "resale": 6000}, {"life": 8}, {"power_kw": -1.0}]
)
def test_a_machine_year_that_cannot_be_is_refused(parameters: dict) -> None:
    with pytest.raises(Problem) as caught:
        machine_hour("EUR", parameters)
    assert caught.value.tries


def test_the_card_can_be_written_as_json() -> None:
    document = json.loads(json.dumps(rate_card().as_dict()))
    assert document["rates"]["margin"]["basis"] == "assumed"
    json.dumps(machine_hour("EUR").as_dict())
