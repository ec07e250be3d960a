"""The cost sheet: lines that add up to the cent, identities of margin and markup, and what is refused."""

import json
from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from loopwright.cost.money import add_up
from loopwright.cost.piece import CostInputs, YarnLine, early_quote
from loopwright.cost.rates import MarginRule
from loopwright.cost.sheet import CostSheet, cost_sheet
from loopwright.figure import Basis, entered
from loopwright.makeup.minutes import makeup_minutes
from loopwright.problems import Problem

Job = Callable[..., CostInputs]

KG, PRICE = st.floats(0.01, 3), st.floats(0.5, 400)
MINUTES, PIECES = st.floats(0, 300), st.integers(1, 10**6)
SHARE = st.floats(0, 0.3)


def _sum(sheet: CostSheet, *keys: str) -> Decimal:
    return sum((sheet[key].amount.amount for key in keys), Decimal(0))


@given(
    kg=KG, price=PRICE, minutes=MINUTES, pieces=PIECES, reject=SHARE, finance=SHARE, agent=SHARE, margin=SHARE,
    rule=st.sampled_from(MarginRule),
)  # fmt: skip
def test_lines_add_up_to_their_totals_to_the_cent(
    job: Job, kg: float, price: float, minutes: float, pieces: int, reject: float, finance: float, agent: float,
    margin: float, rule: MarginRule,
) -> None:  # fmt: skip
    rates = {"reject_share": reject, "finance_share": finance, "agent_share": agent, "margin": margin}
    sheet = cost_sheet(job(kg=kg, price=price, minutes=minutes, pieces=pieces, rule=rule, **rates))
    direct = add_up((line.amount for line in sheet.part("direct")), "EUR")
    assert direct == sheet.direct.amount
    assert _sum(sheet, "direct", "overhead") == sheet.cost.amount.amount
    price_part = sum((line.amount.amount for line in sheet.part("price")), Decimal(0))
    assert sheet.cost.amount.amount + price_part == sheet.fob.amount.amount
    landed_part = sum((line.amount.amount for line in sheet.part("landed")), Decimal(0))
    assert sheet.fob.amount.amount + landed_part == sheet.landed.amount.amount


@given(kg=KG, price=PRICE, minutes=MINUTES, pieces=PIECES)
def test_every_amount_is_its_exact_figure_to_the_cent_and_rounding_stays_small(
    job: Job, kg: float, price: float, minutes: float, pieces: int
) -> None:
    sheet = cost_sheet(job(kg=kg, price=price, minutes=minutes, pieces=pieces))
    for line in (*sheet.part("direct"), sheet["overhead"], sheet["margin"], sheet.fob):
        assert float(line.amount.amount) == pytest.approx(line.figure.value, abs=0.00501), line.key
    assert abs(float(sheet["rounding"].amount.amount)) <= 0.005 * (len(sheet.lines))
    assert float(sheet.landed.amount.amount) == pytest.approx(sheet.landed.figure.value, abs=0.03)


@given(kg=KG, price=PRICE)
def test_twice_the_yarn_price_doubles_the_yarn_line_within_a_cent(job: Job, kg: float, price: float) -> None:
    once, twice = (cost_sheet(job(kg=kg, price=factor * price))["yarn main"].amount.amount for factor in (1, 2))
    assert abs(twice - 2 * once) <= Decimal("0.01")


@given(first=PIECES, second=PIECES)
def test_a_larger_order_is_never_dearer_by_the_piece(job: Job, first: int, second: int) -> None:
    few, many = sorted((first, second))
    assert cost_sheet(job(pieces=many)).fob.figure.value <= cost_sheet(job(pieces=few)).fob.figure.value


@given(margin=st.floats(0.01, 0.6), kg=KG)
def test_margin_on_price_and_the_markup_that_equals_it_give_one_price(job: Job, margin: float, kg: float) -> None:
    on_price = cost_sheet(job(kg=kg, margin=margin))
    on_cost = cost_sheet(job(kg=kg, margin=margin / (1 - margin), rule=MarginRule.ON_COST))
    assert on_price.fob.figure.value == pytest.approx(on_cost.fob.figure.value)
    assert on_price["margin"].figure.value == pytest.approx(margin * on_price.fob.figure.value)
    assert on_cost["margin"].figure.value == pytest.approx(margin / (1 - margin) * on_cost.cost.figure.value)


@given(finance=SHARE, agent=SHARE)
def test_agent_and_finance_get_their_share_of_the_price_and_the_house_keeps_its_margin(
    job: Job, finance: float, agent: float
) -> None:
    sheet = cost_sheet(job(finance_share=finance, agent_share=agent))
    fob = sheet.fob.figure.value
    assert sheet["finance"].figure.value == pytest.approx(finance * fob)
    assert sheet["agent"].figure.value == pytest.approx(agent * fob)
    assert sheet["margin"].figure.value == pytest.approx(0.10 * fob)


@given(reject=st.floats(0, 0.5))
def test_rejects_make_each_good_piece_carry_the_pieces_that_failed(job: Job, reject: float) -> None:
    per_order = ("dye_lots", "programming", "samples", "testing")
    sheet = cost_sheet(job(reject_share=reject))
    once = sum(sheet[key].figure.value for key in per_order)
    started = sum(line.figure.value for line in sheet.part("direct")) - once - sheet["rejects"].figure.value
    assert sheet.direct.figure.value == pytest.approx(once + started / (1 - reject))


def test_make_up_minutes_of_the_floor_below_go_straight_into_the_cost(job: Job) -> None:
    inputs = job()
    minutes = makeup_minutes(None).group_minutes
    sheet = cost_sheet(replace(inputs, piece=replace(inputs.piece, makeup_minutes=minutes)))
    assert sheet["linking"].figure.value == pytest.approx(20 / 60 * 5.0 / 0.75)
    assert sheet["hand_finish"].figure.value == pytest.approx(6 / 60 * 5.0 / 0.75)


def test_a_second_yarn_is_a_line_of_its_own(job: Job) -> None:
    inputs = job()
    tipping = YarnLine("tipping", entered("kg", 0.01, "kg"), entered("price", 30, "EUR/kg"))
    lines = (*inputs.piece.yarn_lines, tipping)
    sheet = cost_sheet(replace(inputs, piece=replace(inputs.piece, yarn_lines=lines)))
    assert sheet["yarn tipping"].words == "yarn, tipping"
    assert sheet.direct.figure.value == pytest.approx(cost_sheet(inputs).direct.figure.value + 0.3)


def test_a_calculation_shows_its_numbers_and_hides_factors_that_change_nothing(job: Job) -> None:
    sheet = cost_sheet(job())
    said = {key: sheet[key].calculation.replace("\u00a0", " ") for key in ("yarn main", "press", "samples")}
    assert said["yarn main"] == "0.2226 kg × 24 EUR/kg"
    assert said["press"] == "9 min ÷ 60 × 4.5 EUR/h ÷ 0.8"
    assert said["samples"] == "600.00 EUR ÷ 300 pieces"
    social = cost_sheet(job(social_share=0.25))["press"].calculation
    assert "(1 + 0.25)" in social


def test_an_assumed_rate_marks_its_line_even_without_a_spread(job: Job) -> None:
    sheet = cost_sheet(job())
    assert sheet["trims"].figure.basis is Basis.ASSUMED
    assert sheet["yarn main"].figure.basis is Basis.ENTERED


def test_early_quote_spreads_what_is_not_firm(job: Job) -> None:
    loose, firm = early_quote(job()), early_quote(job(), firm=["yarn_price", "machine_hour"])
    assert (loose.piece.yarn_lines[0].price_per_kg.spread / loose.piece.yarn_lines[0].price_per_kg.value) > 0
    assert (firm.piece.yarn_lines[0].price_per_kg.spread / firm.piece.yarn_lines[0].price_per_kg.value) == 0
    assert (firm.rates.machine_hour.spread / firm.rates.machine_hour.value) == 0
    assert cost_sheet(firm).fob.figure.spread < cost_sheet(loose).fob.figure.spread
    with pytest.raises(Problem, match="weather"):
        early_quote(job(), firm=["weather"])


def test_a_mass_that_is_only_predicted_is_less_sure_than_one_that_was_typed(job: Job) -> None:
    inputs = job()
    line = inputs.piece.yarn_lines[0]
    predicted = replace(line, kg=replace(line.kg, basis=Basis.PUBLISHED))
    spreads = [
        early_quote(replace(inputs, piece=replace(inputs.piece, yarn_lines=(each,)))).piece.yarn_lines[0].kg
        for each in (line, predicted)
    ]
    assert (spreads[0].spread / spreads[0].value) < (spreads[1].spread / spreads[1].value)


def test_a_million_pieces_have_a_price(job: Job) -> None:
    sheet = cost_sheet(job(pieces=1_000_000))
    assert sheet["samples"].amount.amount == 0
    assert sheet.fob.amount.amount > 0


REFUSED = [
    {"pieces": 0},
    {"pieces": -300},
    {"price": -24.0},
    {"kg": -0.2},
    {"kg": 222.6},  # grams typed as kilograms
    {"minutes": float("nan")},
    {"hours": -1.0},
    {"makeup": {"linking": -26.0}},
    {"makeup": {"embroidery": 12.0}},
    {"margin": 1.0},
]


@pytest.mark.parametrize("wrong", REFUSED)
def test_inputs_that_cannot_be_priced_are_refused_with_what_to_try(job: Job, wrong: dict) -> None:
    with pytest.raises(Problem) as caught:
        job(**wrong)
    assert caught.value.tries


def test_no_pieces_are_answered_with_both_numbers(job: Job) -> None:
    with pytest.raises(Problem) as caught:
        job(pieces=0)
    assert "0 pieces" in caught.value.what
    assert "1 to" in caught.value.what


def test_a_negative_yarn_price_names_its_yarn(job: Job) -> None:
    with pytest.raises(Problem) as caught:
        job(price=-24.0)
    assert "main" in caught.value.where
    assert "-24" in caught.value.what


def test_yarn_in_one_currency_and_rates_in_another_are_refused(job: Job) -> None:
    inputs = job()
    line = replace(inputs.piece.yarn_lines[0], price_per_kg=entered("price", 24, "USD/kg"))
    with pytest.raises(Problem) as caught:
        replace(inputs, piece=replace(inputs.piece, yarn_lines=(line,)))
    assert "USD" in caught.value.what
    assert "EUR" in caught.value.what


def test_two_yarns_of_one_name_are_refused(job: Job) -> None:
    piece = job().piece
    with pytest.raises(Problem, match="2 yarns"):
        replace(piece, yarn_lines=piece.yarn_lines * 2)


def test_a_slip_of_the_decimal_point_does_not_print_a_monstrous_sum(job: Job) -> None:
    with pytest.raises(Problem, match="beyond the largest amount"):
        cost_sheet(job(hours=10000.0, pieces=1, programming_rate=1e6, margin=0.9, finance_share=0.0999999))


def test_the_sheet_can_be_written_as_json(job: Job) -> None:
    inputs = early_quote(job())
    document = json.loads(json.dumps(cost_sheet(inputs).as_dict()))
    assert document["lines"][0]["amount"]["amount"] == "5.34"
    json.dumps(inputs.as_dict())
