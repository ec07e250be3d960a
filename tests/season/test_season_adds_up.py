"""A season is the sum of its styles and nothing else: pieces, hours, kilograms and money are conserved.

The season is reckoned again with plain arithmetic from the JSON documents of its styles; tolerances are binary noise.
"""

import math
from collections import defaultdict
from itertools import permutations
from math import sqrt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from loopwright.figure import Basis, Term, banded, linear
from loopwright.report.document import study_document
from loopwright.season.adding import Part, sum_of
from loopwright.season.season import season_of

NOISE = 1e-9


def near(value: float) -> object:
    return pytest.approx(value, rel=NOISE)


@pytest.fixture(scope="module")
def documents(studies):
    return {key: study_document(study) for key, study in studies}


def test_hours_of_a_gauge_are_pieces_times_minutes_of_its_styles(season, documents):
    expected = defaultdict(float)
    for document in documents.values():
        pieces, minutes = document["style"]["order"]["pieces"], document["mean_piece"]["knitting_min"]["value"]
        expected[document["style"]["machine"]["gauge"]] += pieces * minutes / 60
    assert {gauge.gauge: gauge.hours.value for gauge in season.gauges} == near(dict(expected))
    assert season.hours.value == near(sum(expected.values()))


def test_days_of_one_machine_are_hours_over_the_hours_that_it_works_a_day(season, documents):
    for gauge in season.gauges:
        (key,) = (key for key, _ in gauge.parts)
        order = documents[key]["style"]["order"]
        hours = documents[key]["machine_hours"]["value"]
        assert gauge.days.value == near(hours / (order["hours_per_day"] * order["share_worked"]))


def test_value_of_the_orders_is_price_times_pieces_of_every_style(season, documents):
    (value,) = season.values
    fob = {
        key: next(line["figure"]["value"] for line in document["price"]["sheet"]["lines"] if line["key"] == "fob")
        for key, document in documents.items()
    }
    assert value.currency == "EUR"
    assert value.figure.value == near(sum(documents[key]["style"]["order"]["pieces"] * fob[key] for key in fob))
    assert value.pieces == season.pieces == 640 + 250 + 400


def test_kilograms_by_lot_are_those_of_the_styles_own_orders(season, documents):
    by_style = defaultdict(float)
    for lot in season.lots:
        assert lot.kg.value == near(sum(figure.value for _, figure in lot.parts))
        assert sum(lot.shares.values()) == near(1.0)
        for key, figure in lot.parts:
            by_style[key] += figure.value
    for key, document in documents.items():
        assert by_style[key] == near(sum(order["kg"]["value"] for order in document["price"]["yarn_orders"]))
        assert season[key].yarn_kg.value == near(by_style[key])
    assert season.yarn_kg.value == near(sum(by_style.values()))


def test_rows_hold_what_the_styles_themselves_say(season, documents):
    for key, document in documents.items():
        row = season[key]
        assert row.number == document["style"]["style"]["number"]
        assert row.minutes.value == document["mean_piece"]["knitting_min"]["value"]
        assert row.grams.value == document["mean_piece"]["yarn_g"]["value"]
        assert row.chance == document["price"]["spread_by_draws"]["fob"]["chance"]
        assert sum(row.counts.values()) == len(document["findings"])
        assert row.next.sentence == document["findings"][0]["sentence"]


def test_styles_stand_in_order_of_what_they_cost(season):
    costs = [row.value.value for row in season.rows]
    assert costs == sorted(costs, reverse=True)


def test_the_order_in_which_styles_are_given_changes_nothing(studies, season):
    for order in permutations(studies):
        assert season_of("Winter 27", order).as_dict() == season.as_dict()


def test_adding_a_style_adds_exactly_its_own(studies, season):
    for left_out, study in studies:
        others = season_of("others", [each for each in studies if each[0] != left_out])
        assert season.pieces - others.pieces == study.style.order.pieces
        assert season.hours.value - others.hours.value == near(study.machine_hours.value)
        assert season.yarn_kg.value - others.yarn_kg.value == near(season[left_out].yarn_kg.value)
        gained = season.values[0].figure.value - others.values[0].figure.value
        assert gained == near(season[left_out].value.value)


def test_a_season_of_one_style_has_the_spread_of_that_style(studies):
    for key, study in studies:
        alone = season_of("alone", [(key, study)])
        pieces, fob = study.style.order.pieces, study.pricing.sheet.fob.figure
        for side in ("low", "value", "high"):
            assert getattr(alone.values[0].figure, side) == near(pieces * getattr(fob, side))
            assert getattr(alone.hours, side) == near(getattr(study.machine_hours, side))


def test_the_same_style_many_times_is_one_unknown_and_does_not_average_out(studies):
    key, study = studies[0]
    many = season_of("many", [(f"{key} {number}", study) for number in range(60)])
    assert len(many.rows) == 60
    for one, sixty in (
        (season_of("one", [(key, study)]).values[0].figure, many.values[0].figure),
        (study.machine_hours, many.hours),
    ):
        assert (sixty.low, sixty.value, sixty.high) == near((60 * one.low, 60 * one.value, 60 * one.high))


def test_a_sum_is_no_surer_than_independent_styles_and_no_less_sure_than_styles_that_move_as_one(season):
    """Here some unknowns are shared (the trade's carriage, rates left open) and some are not (swatches, machine)."""
    for total, parts in (
        (season.values[0].figure, [row.value for row in season.rows]),
        (season.hours, [row.hours for row in season.rows]),
        (season.yarn_kg, [row.yarn_kg for row in season.rows]),
    ):
        for arm in (lambda figure: figure.value - figure.low, lambda figure: figure.high - figure.value):
            arms = [arm(part) for part in parts]
            assert sqrt(sum(each**2 for each in arms)) < arm(total) < sum(arms)


def test_a_rate_that_two_styles_share_moves_both_and_a_swatch_of_its_own_moves_one(studies):
    """The hand finish minutes are one table's for both pullovers; the mass of the guard's swatch is its own."""
    prices = {key: study.pricing.sheet.fob.figure for key, study in studies}
    pieces = {key: study.style.order.pieces for key, study in studies}
    total = sum_of("two", [Part(key, prices[key], pieces[key]) for key in ("attendant", "guard")], "EUR", words="two")
    by_name = {each.figure.name: each.share for each in total.why.inputs}
    sizes = {key: pieces[key] * prices[key].spread for key in ("attendant", "guard")}
    apart = {
        key: next(each.share for each in prices[key].why.inputs if each.figure.name == "finishing (wash, press, check)")
        for key in sizes
    }
    together = sum(sqrt(apart[key]) * sizes[key] for key in sizes) ** 2
    independent = sum(apart[key] * sizes[key] ** 2 for key in sizes)
    share = by_name["finishing (wash, press, check)"]
    assert share == pytest.approx(together / total.spread**2, rel=0.1)  # bands are lopsided, spread is their mean
    assert share > 1.5 * independent / total.spread**2


def test_machines_of_a_gauge_add_before_they_are_rounded(studies, season, changed):
    """1.6 and 1.6 machines are 3.2, so four; not two and two rounded apart, and not two."""
    attendant = studies[0][1]
    both = season_of("two of one gauge", [("a", attendant), ("b", attendant)])
    (gauge,) = both.gauges
    assert gauge.machines.figure.value == near(2 * attendant.machines.figure.value)
    assert gauge.machines.whole == math.ceil(2 * attendant.machines.figure.value)
    assert gauge.one_machine_hours == near(15 * 20 * 0.9)
    assert gauge.days_given == 15
    slower = changed("attendant", order={"knitting_days": 30})
    (mixed,) = season_of("two paces", [("a", attendant), ("b", slower)]).gauges
    assert mixed.days_given is None
    assert mixed.machines.figure.value == near(1.5 * attendant.machines.figure.value)
    assert mixed.one_machine_hours * mixed.machines.figure.value == near(mixed.hours.value)


def test_a_style_without_days_is_in_the_hours_and_not_in_the_machines(season):
    gauge = next(gauge for gauge in season.gauges if gauge.gauge == 14)
    assert gauge.undated == ("keepsake",)
    assert gauge.machines is None
    assert gauge.hours.value == season["keepsake"].hours.value


slope = st.floats(0.1, 10)


@given(st.lists(st.tuples(slope, slope, slope, st.integers(1, 1000)), min_size=2, max_size=6))
def test_a_shared_unknown_adds_plainly_and_own_ones_as_squares(styles):
    """Styles of one shared rate ± 1 and an own mass ± 1 each: the band in closed form, for any slopes."""
    shared = banded("rate", 5.0, "EUR/h", low=4.0, high=6.0, basis=Basis.ASSUMED, words="card")
    parts = []
    for number, (by_rate, by_mass, base, pieces) in enumerate(styles):
        own = banded(f"mass {number}", 3.0, "kg", low=2.0, high=4.0, basis=Basis.MEASURED, words="scale")
        terms = [Term("r", shared, by_rate), Term("m", own, by_mass)]
        parts.append(Part(str(number), linear("price", base, "EUR", terms, words="price"), pieces))
    together = sum(pieces * by_rate for by_rate, _, _, pieces in styles)
    apart = sum((pieces * by_mass) ** 2 for _, by_mass, _, pieces in styles)
    total = sum_of("value", parts, "EUR", words="sum")
    assert total.value == near(sum(pieces * base for _, _, base, pieces in styles))
    assert total.spread == near(sqrt(together**2 + apart))
    assert sum(each.share for each in total.why.inputs) <= 1 + NOISE
    assert total.basis is (Basis.ASSUMED if together**2 >= 0.1 * total.spread**2 else Basis.MEASURED)
