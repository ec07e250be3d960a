"""How sure a price is: propagation against draws, both against hand arithmetic and an independent library."""

import json
import math
from collections.abc import Callable
from decimal import Decimal

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from loopwright.cost.money import Money
from loopwright.cost.piece import CostInputs, early_quote
from loopwright.cost.rates import MarginRule
from loopwright.cost.sheet import cost_sheet
from loopwright.cost.uncertainty import lognormal_draws, propagated_spread, sampled_spread
from loopwright.figure import NINE_IN_TEN_SD, Basis, banded
from loopwright.problems import Problem

Job = Callable[..., CostInputs]

CARDS = [  # a basic pullover, a dear yarn, hands that dominate, a small order, a fast machine, markup on cost
    {},
    {"kg": 0.31, "price": 140.0, "minutes": 45.0},
    {"makeup": {"linking": 60.0, "hand finish": 20.0, "press": 6.0, "check": 8.0}, "makeup_wage": 14.0},
    {"pieces": 60, "hours": 30.0},
    {"minutes": 12.0, "pieces": 4000, "reject_share": 0.03, "agent_share": 0.05},
    {"rule": MarginRule.ON_COST, "margin": 0.4, "social_share": 0.2, "finance_share": 0.02},
]


@pytest.mark.parametrize("card", CARDS)
def test_draws_agree_with_propagation_within_sampling_error(job: Job, card: dict) -> None:
    """20 000 draws know a mean to SD/141 and a deviation to about 1 %; products of wide inputs add up to 1 % to it."""
    inputs = early_quote(job(**card))
    by_slopes, by_draws = propagated_spread(cost_sheet(inputs)), sampled_spread(inputs, seed=7)
    for slope, draw in ((by_slopes.direct, by_draws.direct), (by_slopes.fob, by_draws.fob)):
        assert draw.figure.value == pytest.approx(slope.figure.value, abs=4 * slope.sd / math.sqrt(20_000))
        assert draw.sd == pytest.approx(slope.sd, rel=0.04)
        shares = {each.key: each.share for each in draw.shares}
        for each in slope.shares:
            assert shares[each.key] == pytest.approx(each.share, abs=0.03), each.key


def test_draws_have_the_exact_deviation_of_products_of_independent_inputs(job: Job) -> None:
    """Var(xy) = x²y²((1+a²)(1+b²) − 1): arithmetic of moments, whatever the distribution."""
    products = [  # value of the line, relative deviations of its two inputs (production reference 7.4)
        (0.2226 * 24, 0.04, 0.10),
        (37.3 / 60 * 2.666, 0.12, 0.25),
        (14 * 25 / 300, 0.40, 0.0),
        (600 / 300, 0.30, 0.0),
        (26 / 60 * 5 / 0.75, 0.25, 0.15),
        (0.90 + (9 + 6) / 60 * 4.5 / 0.8, 0.20, 0.0),
    ]
    variance = sum(line**2 * ((1 + a**2) * (1 + b**2) - 1) for line, a, b in products)
    spread = sampled_spread(early_quote(job(makeup_wage=5.0)), seed=3, draws=400_000).direct
    assert spread.sd == pytest.approx(math.sqrt(variance), rel=0.01)  # 400 000 draws: 0.2 % at one deviation


def test_each_input_is_drawn_from_the_lognormal_of_its_mean_and_deviation() -> None:
    hours = banded("hours", 14.0, "h", low=14 - 9.2, high=14 + 9.2, basis=Basis.ASSUMED, words="early")
    draws = lognormal_draws({"hours": hours}, 20_000, seed=11)[0]
    variation = 9.2 / NINE_IN_TEN_SD / 14
    sigma = math.sqrt(math.log1p(variation**2))
    oracle = stats.lognorm(s=sigma, scale=14 * math.exp(-(sigma**2) / 2))
    assert oracle.mean() == pytest.approx(14)
    assert oracle.std() == pytest.approx(9.2 / NINE_IN_TEN_SD)
    assert stats.kstest(draws, oracle.cdf).pvalue > 0.01


@settings(max_examples=40)
@given(price=st.floats(1, 300), minutes=st.floats(1, 200), pieces=st.integers(1, 10**6))
def test_shares_of_the_variance_add_up_to_one_and_are_ranked(
    job: Job, price: float, minutes: float, pieces: int
) -> None:
    inputs = early_quote(job(price=price, minutes=minutes, pieces=pieces))
    for spread in (propagated_spread(cost_sheet(inputs)), sampled_spread(inputs, seed=1, draws=500)):
        for each in (spread.direct, spread.fob):
            parts = [share.share for share in each.shares]
            assert sum(parts) == pytest.approx(1)
            assert parts == sorted(parts, reverse=True)


def test_the_same_seed_gives_the_same_answer_and_another_seed_nearly_so(job: Job) -> None:
    inputs = early_quote(job())
    first, again, other = (sampled_spread(inputs, seed=seed).fob for seed in (5, 5, 6))
    assert first == again
    assert first.figure.value != other.figure.value
    assert other.sd == pytest.approx(first.sd, rel=0.04)


def test_levels_stand_in_order_and_hold_the_draws_they_name(job: Job) -> None:
    fob = sampled_spread(early_quote(job()), seed=2).fob
    levels = [fob.figure.low, *(float(each.amount) for each in (fob.p10, fob.p50, fob.p90)), fob.figure.high]
    assert levels == sorted(levels)
    assert fob.p50.amount < Decimal(str(fob.figure.value))  # a lognormal price leans: its middle lies below its mean


def test_p10_to_p90_is_1_28_deviations_either_side(job: Job) -> None:
    spread = propagated_spread(cost_sheet(early_quote(job()))).direct
    width = float(spread.p90.amount - spread.p10.amount)
    assert width == pytest.approx(2 * 1.28 * spread.sd, rel=0.005)  # 1.28 as printed, cents


@pytest.mark.parametrize("target", ["12.00", "18.00", "19.85", "22.00", "40.00"])
def test_the_chance_of_a_target_is_nearly_the_same_both_ways(job: Job, target: str) -> None:
    """The normal and the leaning lognormal sum differ by a few in a hundred near the middle."""
    inputs, money = early_quote(job()), Money(Decimal(target), "EUR")
    by_slopes = propagated_spread(cost_sheet(inputs), money).fob.chance
    by_draws = sampled_spread(inputs, seed=4, target=money).fob.chance
    assert by_slopes is not None
    assert by_draws == pytest.approx(by_slopes, abs=0.04)


def test_an_easier_target_is_likelier(job: Job) -> None:
    inputs = early_quote(job())
    chances = [
        sampled_spread(inputs, seed=4, target=Money(Decimal(target), "EUR")).fob.chance for target in (15, 18, 21, 30)
    ]
    assert chances == sorted(chances)


def test_a_price_without_any_spread_is_certain(job: Job) -> None:
    given_rates = {"makeup_wage": 5.0, "sample_cost": 600.0, "finishing_level": 1.0}
    inputs = job(**given_rates)
    sheet = cost_sheet(inputs)
    for target, sure in (("19.85", 1.0), ("19.84", 0.0)):
        money = Money(Decimal(target), "EUR")
        for spread in (propagated_spread(sheet, money), sampled_spread(inputs, seed=1, draws=100, target=money)):
            assert spread.fob.chance == sure
            assert spread.fob.sd == pytest.approx(0, abs=1e-9)
            assert spread.fob.shares == ()
            assert spread.fob.p50 == sheet.fob.amount


def test_a_target_in_another_currency_and_too_few_draws_are_refused(job: Job) -> None:
    inputs = early_quote(job())
    dollars = Money(Decimal(20), "USD")
    for asked in (
        lambda: sampled_spread(inputs, seed=1, target=dollars),
        lambda: propagated_spread(cost_sheet(inputs), dollars),
        lambda: sampled_spread(inputs, seed=1, draws=0),
        lambda: sampled_spread(inputs, seed=1, draws=10**9),
    ):
        with pytest.raises(Problem) as caught:
            asked()
        assert caught.value.tries


def test_draws_are_never_below_zero(job: Job) -> None:
    wide = banded("wage", 5.0, "EUR/h", low=0.5, high=9.5, basis=Basis.ASSUMED, words="nobody knows")
    assert np.all(lognormal_draws({"wage": wide}, 5000, seed=1) > 0)


def test_the_spread_can_be_written_as_json(job: Job) -> None:
    inputs = early_quote(job())
    document = json.loads(json.dumps(sampled_spread(inputs, seed=1, draws=200).as_dict()))
    assert document["fob"]["shares"][0]["share"] > 0
    json.dumps(propagated_spread(cost_sheet(inputs)).as_dict())
