"""Yarn is bought by lot: one yarn of one count and fibre in one colour, whoever knits it."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loopwright.figure import entered
from loopwright.problems import Sign
from loopwright.season.lots import Standing
from loopwright.season.season import season_of

SMALL = {"pieces": 100, "colours": [{"name": "signal grey"}]}


def lots_in(season, colour):
    return [lot for lot in season.lots if lot.colour == colour]


def test_two_styles_in_one_colour_buy_together_and_reach_a_dye_lot_that_neither_fills(studies, changed):
    season = season_of("grey", [studies[0], ("second", changed("attendant", order=SMALL))])
    (grey,) = lots_in(season, "signal grey")
    own = {key: figure.value for key, figure in grey.parts}
    assert set(own) == {"attendant", "second"}
    assert max(own.values()) < 60 <= grey.kg.value == pytest.approx(sum(own.values()))
    assert grey.is_lifted
    assert grey.pieces == 200 + 100
    assert grey.shares["attendant"] == pytest.approx(200 / 300)  # the same pullover: kilograms go with pieces
    said = [finding for finding in season.findings if finding.where == "Fernweh merino, signal grey"]
    assert [finding.sign for finding in said] == [Sign.KNOW, Sign.HOLDS]


def test_what_is_short_of_a_dye_lot_says_by_how_much_and_what_to_try(season):
    (grey,) = lots_in(season, "signal grey")
    assert grey.standing is Standing.SHORT
    assert grey.short_kg == pytest.approx(60 - grey.kg.value)
    finding = next(each for each in season.findings if each.where == "Fernweh merino, signal grey")
    assert finding.sign is Sign.DECIDE
    blue = lots_in(season, "night blue")[0]
    assert f"one colour with night blue: {blue.kg.value + grey.kg.value:.0f} kg together" in finding.tries


def test_the_pieces_that_are_said_to_reach_a_dye_lot_reach_it_and_one_fewer_does_not(season, changed):
    finding = next(each for each in season.findings if each.where == "Fernweh merino, signal grey")
    more = int(next(each for each in finding.tries if "pieces more" in each).split()[0])
    for extra, reaches in ((more, True), (more - 1, False)):
        order = {"pieces": 200 + extra, "colours": [{"name": "signal grey"}]}
        (lot,) = season_of("more", [("a", changed("attendant", order=order))]).lots
        assert (lot.kg.value >= 60) is reaches


@pytest.mark.parametrize(
    "yarn",
    [{"count": "2/28 Nm"}, {"fibres": {"merino": 70, "polyamide": 30}}, {"name": "Rangierlicht merino"}],
    ids=["another count", "another fibre", "another name"],
)
def test_another_yarn_is_another_lot(studies, changed, yarn):
    merino = {"name": "Fernweh merino", "count": "2/30 Nm", "fibres": {"merino": 100}, "price_per_kg": 29.5}
    other = changed("attendant", yarns={"merino": merino | yarn}, order=SMALL)
    season = season_of("two yarns", [studies[0], ("other", other)])
    assert len(lots_in(season, "signal grey")) == 2


def test_one_yarn_knitted_with_two_ends_and_written_otherwise_is_one_lot(studies, changed):
    merino = {"name": " fernweh  Merino", "count": "2/30 Nm", "fibres": "merino", "ends": 2, "price_per_kg": 29.5}
    zones = {"body": {"structure": "plain", "yarn": "merino"}, "hem": {"structure": "2x1 rib", "yarn": "merino"}}
    other = changed("attendant", yarns={"merino": merino}, zones=zones, machine={"gauge": 7}, order=SMALL)
    season = season_of("two ends", [studies[0], ("other", other)])
    assert len(lots_in(season, "signal grey")) == 1


def test_a_colour_that_nobody_named_is_shared_with_nobody(studies):
    guard = studies[1][1]
    season = season_of("unnamed", [("a", guard), ("b", guard)])
    assert len(season.lots) == 2
    assert not any(lot.is_named for lot in season.lots)
    assert sum("names no colour" in finding.sentence for finding in season.findings) == 2


def test_cones_are_one_for_each_carrier_at_least_and_whole(studies, changed):
    few = [(f"style {number}", changed("attendant", order={**SMALL, "pieces": 3})) for number in range(2)]
    (lot,) = season_of("few", few).lots
    assert lot.kg.value < 2
    assert lot.cones == 2 * 2  # two machines with two systems each
    for lot in season_of("examples", studies).lots:
        assert lot.cones == math.ceil(lot.kg.value)


def test_the_dyers_own_least_lot_replaces_trade_habit(studies):
    season = season_of("own", studies, least_dye_lot_kg=entered("least lot", 30, "kg"))
    assert {lot.standing for lot in season.lots} == {Standing.ENOUGH}
    assert not any("dye lot" in finding.sentence for finding in season.findings)


orders = st.lists(
    st.tuples(
        st.integers(1, 900),
        st.dictionaries(st.sampled_from(["night blue", "signal grey", "lantern"]), st.integers(1, 9), max_size=3),
    ),
    min_size=1,
    max_size=3,
)


@settings(max_examples=12)
@given(orders)
def test_kilograms_and_pieces_are_conserved_for_any_orders(changed, many):
    """Each colour weighs what its pieces weigh: kg issued a piece, and 2.5 % ordered over."""
    studies = []
    for number, (pieces, colours) in enumerate(many):
        named = [{"name": name, "share": share} for name, share in colours.items()]
        order = {"pieces": pieces, "size_mix": {"S": 1}, "colours": named}
        studies.append((f"style {number}", changed("guard", order=order)))
    season = season_of("any", studies)
    assert season.pieces == sum(pieces for pieces, _ in many) == sum(lot.pieces for lot in season.lots)
    (line,) = studies[0][1].pricing.inputs.piece.yarn_lines
    for lot in season.lots:
        assert lot.kg.value == pytest.approx(lot.pieces * line.kg.value * 1.025)
        assert lot.kg.low <= lot.kg.value <= lot.kg.high
