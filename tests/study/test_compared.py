"""Two styles held against each other: differences by hand arithmetic, how sure they are, what only one has."""

import math
import tomllib
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from loopwright.figure import Basis, Figure, Input, Why
from loopwright.problems import Problem
from loopwright.study.compared import Matter, Verdict, compare, difference, names_of, verdict_of
from loopwright.study.study import StyleStudy, study_style
from loopwright.study.style import read_style

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
SMALL: dict[str, Any] = {
    "style": {"number": "N7-1", "name": "one"},
    "yarns": {"main": {"count": "2/30 Nm merino", "price_per_kg": 30}},
    "zones": {"body": {"structure": "plain"}, "hem": {"structure": "rib-2x1"}},
    "garment": {"sizes": ["S", "M"]},
    "machine": {"gauge": 12},
    "order": {"pieces": 300},
}


def studied(**more: Any) -> StyleStudy:
    document = {key: value for key, value in {**SMALL, **more}.items() if value is not None}
    return study_style(read_style(document))


def example(name: str) -> StyleStudy:
    return study_style(read_style(tomllib.loads((EXAMPLES / f"{name}.toml").read_text("utf-8"))))


def measured(value: float, spread: float, inputs: tuple[Input, ...] = ()) -> Figure:
    why = Why("counted", "a·b" if inputs else "", inputs)
    return Figure("wales", value, "per cm", value - spread, value + spread, Basis.MEASURED, why)


def cause(value: float, share: float, symbol: str = "a") -> Input:
    return Input(symbol, replace(measured(value, 0.1 * value), name=symbol), share)


def test_the_spread_of_a_difference_is_the_root_of_the_squares():
    gap = difference("wales", measured(10, 3), measured(14, 4))
    assert (gap.value, gap.low, gap.high) == (4, pytest.approx(-1), pytest.approx(9))
    assert verdict_of(measured(10, 3), measured(14, 4), gap) is Verdict.OPEN


def test_a_difference_beyond_its_spread_is_sure():
    one, two = measured(10, 3), measured(16, 4)
    assert verdict_of(one, two, difference("wales", one, two)) is Verdict.DIFFERENT


def test_what_both_rest_on_alike_moves_both_and_drops_out():
    """All of both spreads from one and the same cause: the difference of 10 ± 3 and 14 ± 4 is 4 ± 1."""
    one, two = measured(10, 3, (cause(5, 1.0),)), measured(14, 4, (cause(5, 1.0),))
    gap = difference("wales", one, two)
    assert (gap.low, gap.high) == (pytest.approx(3), pytest.approx(5))
    assert verdict_of(one, two, gap) is Verdict.DIFFERENT


def test_a_cause_with_another_value_is_another_cause():
    one, two = measured(10, 3, (cause(5, 1.0),)), measured(14, 4, (cause(6, 1.0),))
    assert difference("wales", one, two).low == pytest.approx(-1)


def test_between_two_yarns_the_constants_of_cloth_are_not_one_cause():
    """Plain of 2/30 Nm and of 2/28 Nm: the published constant has its band because yarns differ."""
    finer = {"main": {"count": "2/28 Nm merino", "price_per_kg": 30}}
    kin = compare(studied(), studied(zones={**SMALL["zones"], "body": {"structure": "plain", "loop_length_mm": 6.6}}))
    strange = compare(studied(), studied(yarns=finer))
    for compared, is_one_yarn in ((kin, True), (strange, False)):
        row = next(row for row in compared.rows if row.key.startswith("body") and row.key.endswith("wales_per_cm"))
        independent = math.hypot(row.first.spread, row.second.spread)
        assert (row.difference.spread < 0.5 * independent) is is_one_yarn


def test_half_of_a_spread_shared_is_taken_out_by_half():
    """3² + 4² − 2·√(0.5·0.5)·3·4 = 13."""
    one, two = (
        measured(10, 3, (cause(5, 0.5), cause(7, 0.5, "b"))),
        measured(14, 4, (cause(5, 0.5), cause(8, 0.5, "b"))),
    )
    assert difference("wales", one, two).high == pytest.approx(4 + math.sqrt(13))


def test_uneven_bands_of_one_cause_move_by_their_own_arms():
    """10 (8 to 14) and 20 (15 to 26) by one cause alone: both high 26 − 14 = 12, both low 15 − 8 = 7."""
    one = replace(measured(10, 3, (cause(5, 1.0),)), low=8, high=14)
    two = replace(measured(20, 5, (cause(5, 1.0),)), low=15, high=26)
    gap = difference("wales", one, two)
    assert (gap.value, gap.low, gap.high) == (10, pytest.approx(7), pytest.approx(12))


@given(st.floats(1, 1e3), st.floats(0, 0.9), st.floats(1, 1e3), st.floats(0, 0.9))
def test_turned_round_a_difference_changes_its_sign_and_nothing_else(a, spread_a, b, spread_b):
    one, two = measured(a, a * spread_a), measured(b, b * spread_b)
    there, back = difference("wales", one, two), difference("wales", two, one)
    assert back.value == pytest.approx(-there.value)
    assert (back.low, back.high) == (pytest.approx(-there.high), pytest.approx(-there.low))
    assert verdict_of(one, two, there) is verdict_of(two, one, back)


@pytest.fixture(scope="module")
def both():
    return compare(example("attendant-pullover"), example("guard-pullover"))


def test_differences_come_first_and_larger_matters_before_smaller(both):
    differs = [row.verdict in (Verdict.DIFFERENT, Verdict.OPEN) for row in both.rows]
    assert differs == sorted(differs, reverse=True)
    rows = both.of(Verdict.DIFFERENT, Verdict.OPEN)
    order = [(row.matter, row.verdict is Verdict.OPEN) for row in rows]
    assert order == sorted(order)
    assert both.rows[0].key == "price"
    assert {row.matter for row in both.rows} == set(Matter)


def test_zones_of_one_style_alone_are_named_once_and_compared_with_nothing():
    vest = compare(example("attendant-pullover"), example("kitchen-vest"))
    assert vest.zones_of_one == (("sleeve", "cuff"), ())
    assert not [row for row in vest.rows if "sleeve" in row.key or "cuff" in row.key]
    assert compare(vest.second, vest.first).zones_of_one == ((), ("sleeve", "cuff"))


def test_the_difference_of_two_prices_is_that_of_the_cost_sheets(both):
    prices = [study.pricing.sheet.fob.figure for study in (both.first, both.second)]
    row = both.row("price")
    assert row.difference.value == pytest.approx(prices[1].value - prices[0].value)
    wide = math.hypot(*(price.high - price.low for price in prices)) / 2
    assert row.difference.spread < 1.05 * wide  # no wider than independent, narrower by the rates that both assume


def test_a_style_beside_itself_under_another_number_differs_in_nothing():
    compared = compare(studied(), studied(style={"number": "N7-2", "name": "one"}))
    assert compared.is_alike
    assert {row.verdict for row in compared.rows} == {Verdict.ALIKE}


def test_only_what_was_changed_differs():
    compared = compare(studied(), studied(order={"pieces": 900}))
    assert {row.key for row in compared.rows if row.verdict is not Verdict.ALIKE} == {"price", "landed"}
    assert compared.row("price").difference.value < 0  # a larger order bears its fixed costs more easily


def test_the_samples_that_both_pay_alike_make_a_small_difference_sure():
    """Programming and samples over other pieces: 300 and 900; the rest of the price is the same to the cent."""
    price = compare(studied(), studied(order={"pieces": 900})).row("price")
    assert price.difference.spread < 0.8 * math.hypot(price.first.spread, price.second.spread)


def test_a_half_described_style_is_compared_as_far_as_it_goes():
    compared = compare(studied(), studied(order=None, garment=None, style={"number": "N7-2"}))
    price, cloth = compared.row("price"), compared.row("body.wales_per_cm") or compared.row("body, sleeve.wales_per_cm")
    assert (price.verdict, price.missing) == (Verdict.UNTOLD, "N7-2 has none")
    assert cloth is not None
    assert compared.row("yarn_1.tex").verdict is Verdict.ALIKE


def test_prices_in_two_currencies_are_not_subtracted():
    price = compare(studied(), studied(rates={"currency": "USD"})).row("price")
    assert (price.verdict, price.difference) == (Verdict.UNTOLD, None)
    assert "EUR and USD" in price.missing


def test_a_refused_style_is_compared_with_what_it_still_gives():
    compared = compare(studied(), studied(rates={"line_efficiency": 75}))
    assert compared.second.refused
    assert compared.row("yarn_g").verdict is Verdict.ALIKE


def test_two_styles_without_a_figure_are_refused():
    nothing = study_style(read_style({"style": {"name": "empty"}}))
    with pytest.raises(Problem, match="figure yet"):
        compare(nothing, nothing)


def test_a_finding_with_other_numbers_is_had_by_both():
    compared = compare(
        studied(targets={"price": 5}), studied(targets={"price": 6}, order={"pieces": 900}, style={"number": "N7-2"})
    )
    said = [each.sentence for each in (*compared.only_first, *compared.only_second)]
    assert not [each for each in said if "target" in each]
    other = compare(studied(targets={"price": 5}), studied())
    assert [each.sentence for each in other.only_first if "target" in each.sentence]
    assert not other.only_second


@pytest.mark.parametrize(
    ("one", "two", "said"),
    [
        ({"number": "A1"}, {"number": "B2"}, ("A1", "B2")),
        ({"number": "A1", "name": "vest"}, {"number": "A1", "name": "skirt"}, ("vest", "skirt")),
        ({"number": "A1"}, {"name": "skirt"}, ("the first", "the second")),
        ({"name": "vest"}, {"name": "skirt"}, ("vest", "skirt")),
    ],
)
def test_two_styles_are_told_apart_by_number_else_by_name(one, two, said):
    pair = [study_style(read_style({"style": header})) for header in (one, two)]
    assert names_of(*pair) == said
