"""Check values of purchase, machine hour, cost, quantity, spread and planning: P-45 to P-48, P-50 to P-57, P-62.

Sources: P-47 sweater_slides_2016, P-48 tshirt_consumption, P-51 machine_hour_exercise, P-52 sweater_cost_2015, P-53
and P-55 knitting_cost_note; the rest is the worked example of production reference 5, 7 and 8.
Tolerances: printed digits, or as given there.
"""

from decimal import Decimal

import pytest

from loopwright.cost.lines import price_with_margin, price_with_markup
from loopwright.cost.machine_hour import machine_hour, rate_per_hour
from loopwright.cost.money import Money, add_up
from loopwright.cost.piece import CostInputs, PieceInputs, YarnLine, early_quote
from loopwright.cost.planning import Shift, machines_needed, work_hours
from loopwright.cost.quantity import PriceLaw, break_even, price_law
from loopwright.cost.rates import rate_card
from loopwright.cost.sheet import cost_sheet
from loopwright.cost.uncertainty import propagated_spread, sampled_spread
from loopwright.cost.yarn_purchase import (
    issued_mass,
    yarn_issued,
    yarn_order,
)
from loopwright.figure import entered
from loopwright.units import GRAMS_PER_POUND

EXAMPLE_RATES = {  # production reference 7.3, calculation column and the line on landed inputs
    "machine_hour": 2.666, "programming_rate": 25, "sample_cost": 600, "makeup_wage": 5.0, "line_efficiency": 0.75,
    "wash_per_piece": 0.90, "press_wage": 4.5, "press_efficiency": 0.8, "check_wage": 4.5, "check_efficiency": 0.8,
    "trims": 0.85, "packing": 0.45, "overhead_share": 0.12, "margin": 0.10, "freight_share": 0.04,
    "freight_per_piece": 0.35, "duty_share": 0.12, "clearance_per_piece": 0.40, "reject_share": 0, "social_share": 0,
    "finance_share": 0, "agent_share": 0, "testing_cost": 0, "dye_lot_surcharge": 0, "finishing_level": 1,
}  # fmt: skip


def block_b(pieces: int) -> CostInputs:
    piece = PieceInputs(
        yarn_lines=(YarnLine("main", entered("kg", 0.2226, "kg"), entered("price", 24, "EUR/kg")),),
        knitting_minutes=entered("knitting", 37.3, "min"),
        makeup_minutes={
            "linking": entered("linking", 26, "min"),
            "press": entered("press", 9, "min"),
            "check": entered("check", 6, "min"),
        },
        programming_hours=entered("programming", 14, "h"),
        pieces=pieces,
    )
    return CostInputs(piece, rate_card("EUR", EXAMPLE_RATES))


LINES = [
    ("yarn main", "5.34"), ("knitting", "1.66"), ("programming", "1.17"), ("samples", "2.00"), ("linking", "2.89"),
    ("check", "0.56"), ("direct", "16.66"), ("overhead", "1.20"), ("cost", "17.86"), ("fob", "19.85"),
    ("landed", "23.91"),
]  # fmt: skip


@pytest.mark.parametrize(("line", "amount"), LINES)
def test_p54_the_worked_cost_comes_out_to_the_cent(line: str, amount: str) -> None:
    assert cost_sheet(block_b(300))[line].amount == Money(Decimal(amount), "EUR")


def test_p54_wash_and_press_and_trims_and_packing_add_up_as_printed() -> None:
    sheet = cost_sheet(block_b(300))
    assert (sheet["wash"].amount + sheet["press"].amount).amount == Decimal("1.74")
    assert (sheet["trims"].amount + sheet["packing"].amount).amount == Decimal("1.30")


BREAKS = [(50, "39.55"), (100, "27.73"), (300, "19.85"), (1000, "17.09"), (3000, "16.30")]


@pytest.mark.parametrize(("pieces", "price"), BREAKS)
def test_p54_quantity_breaks(pieces: int, price: str) -> None:
    assert cost_sheet(block_b(pieces)).fob.amount.amount == Decimal(price)
    assert price_law(block_b(300)).price(pieces).amount == Decimal(price)


def test_p54_the_packaged_example_card_is_the_card_of_the_worked_cost() -> None:
    packaged = rate_card()
    for name, value in EXAMPLE_RATES.items():
        assert getattr(packaged, name).value == pytest.approx(value, rel=2e-4), name  # machine hour printed 2.666


def test_p54_the_law_of_price_is_15_91_and_1182_over_q() -> None:
    law = price_law(block_b(300))
    assert law.variable == pytest.approx(15.91, abs=0.005)
    assert law.fixed == pytest.approx(1182, abs=0.5)


SHARES = [
    ("linking_minutes", 26), ("sample_cost", 18), ("price main", 14), ("programming_hours", 11),
    ("finishing_level", 10), ("makeup_wage", 9), ("machine_hour", 8), ("kg main", 2), ("knitting_minutes", 2),
]  # fmt: skip


def test_p62_direct_cost_has_a_deviation_of_1_43() -> None:
    direct = propagated_spread(cost_sheet(early_quote(block_b(300)))).direct
    assert direct.sd == pytest.approx(1.43, abs=0.005)
    assert direct.sd / direct.figure.value == pytest.approx(0.086, abs=0.0005)


@pytest.mark.parametrize(("driver", "per_cent"), SHARES)
def test_p62_shares_of_the_variance_of_direct_cost(driver: str, per_cent: float) -> None:
    direct = propagated_spread(cost_sheet(early_quote(block_b(300)))).direct
    shares = {each.key: 100 * each.share for each in direct.shares}
    assert shares[driver] == pytest.approx(per_cent, abs=0.5)


def test_p62_drawing_lots_finds_the_same_deviation() -> None:
    assert sampled_spread(early_quote(block_b(300)), seed=1).direct.sd == pytest.approx(1.43, rel=0.02)


def test_p62_at_3000_pieces_linking_and_yarn_price_carry_the_spread() -> None:
    direct = propagated_spread(cost_sheet(early_quote(block_b(3000)))).direct
    assert [each.key for each in direct.shares[:2]] == ["linking_minutes", "price main"]
    assert [100 * each.share for each in direct.shares[:2]] == pytest.approx([35, 19], abs=0.5)


def test_p46_209_grams_are_issued_as_222_6() -> None:
    losses = [entered("knitting", 0.05, ""), entered("make-up", 0.01, "")]
    assert yarn_issued(entered("net", 209.32, "g"), losses).value == pytest.approx(0.2226, abs=0.0001)


def test_p47_a_dozen_sweaters_by_both_rules_of_waste() -> None:
    pounds = 190 * 12 / GRAMS_PER_POUND
    assert pounds == pytest.approx(5.03, abs=0.01)
    assert pounds * 1.06 == pytest.approx(5.33, abs=0.01)  # the rule of dozen sheets, waste on the output
    assert issued_mass(pounds, [0.06]) == pytest.approx(5.35, abs=0.01)


def test_p50_machine_hour_of_the_example_at_full_and_half_use() -> None:
    full = machine_hour("EUR")
    assert sum(full.yearly_sums.values()) == pytest.approx(15_994, abs=0.5)
    assert full.rate.value == pytest.approx(2.666, abs=0.01)
    assert machine_hour("EUR", {"productive_hours": 3000}).rate.value == pytest.approx(4.74, abs=0.01)


def test_p51_machine_hour_of_the_published_exercise() -> None:
    sums = [1800, 450, 90, 2400, 5400, 2160, 216, 675]
    assert sum(sums) == 13_191
    assert rate_per_hour(sums, 1800) == pytest.approx(7.33, abs=0.01)


def test_p52_published_dozen_sheet_with_and_without_its_forgotten_item() -> None:
    yarn = Money(Decimal("1.96"), "USD") * 16
    waste = (yarn * Decimal("0.06")).rounded()
    others = [Money(Decimal(amount), "USD") for amount in ("22", "8", "4", "4")]
    total = add_up([yarn, waste, *others], "USD")
    assert total.amount == Decimal("71.24")
    assert (total + Money(Decimal("0.50"), "USD")).amount == Decimal("71.74")


def test_p53_published_jersey_mill() -> None:
    yarn_kg, price, labour, overhead = 1000, 200, 4900, 5211
    fabric_kg = 980
    assert issued_mass(fabric_kg, [0.02]) == pytest.approx(yarn_kg)
    cost = (yarn_kg * price + labour + overhead) / fabric_kg
    assert cost == pytest.approx(214.40, abs=0.1)
    assert (labour + overhead) / fabric_kg == pytest.approx(10.32, abs=0.1)
    assert price_with_margin(cost, margin=0.10) == pytest.approx(238.2, abs=0.1)


def test_p55_margin_on_price_and_markup_on_cost_differ() -> None:
    assert price_with_margin(214.40, margin=0.10) == pytest.approx(238.2, abs=0.1)
    assert price_with_markup(214.40, margin=0.10) == pytest.approx(235.8, abs=0.1)


def test_p56_two_constructions_break_even_at_500() -> None:
    assert break_even(PriceLaw(9.0, 350, "EUR"), PriceLaw(7.8, 950, "EUR")).pieces == 500


def test_p57_2000_pieces_need_1243_hours_and_5_machines() -> None:
    hours = work_hours(entered("knitting", 37.3, "min"), 2000)
    assert round(hours.value) == 1243
    need = machines_needed(hours, Shift(days=15, hours_per_day=20, share_worked=0.9))
    assert need.figure.value == pytest.approx(4.6, abs=0.05)
    assert need.whole == 5


def test_2000_pieces_take_445_kg_in_405_cones() -> None:
    """Production reference 8."""
    order = yarn_order("main", "one colour", kg_per_piece=entered("kg", 0.2226, "kg"), pieces=2000, cone_kg=1.1)
    assert order.kg.value == pytest.approx(445, abs=0.5)
    assert order.cones == 405
