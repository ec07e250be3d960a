"""Half-described, refused and foreign styles: they stay in the season, and no sum holds what they do not say."""

import pytest

from loopwright.problems import Problem, Sign
from loopwright.report.blocks import Table
from loopwright.report.season_pictures import season_pictures
from loopwright.report.season_sheet import lede, season_sheet
from loopwright.report.terminal import sentence_text
from loopwright.season.season import season_of
from loopwright.study.study import study_style
from loopwright.study.style import read_style


def test_an_empty_season_says_what_to_add_and_shows_nothing():
    season = season_of("Winter 27", [])
    assert sentence_text(lede(season)).startswith("No style yet")
    assert season_sheet(season).sections == ()
    assert season_pictures(season) == {}
    assert season.hours is None
    assert season.values == ()


def test_a_style_that_names_nothing_is_a_row_that_says_all_it_misses():
    season = season_of("bare", [("bare", study_style(read_style({})))])
    (row,) = season.rows
    assert row.misses == ("a yarn", "a garment", "a machine", "an order")
    assert row.price is row.hours is row.yarn_kg is None
    assert season.pieces == 0
    assert "One style has no price yet." in sentence_text(lede(season))


@pytest.mark.parametrize(
    ("part", "misses"), [("order", "an order"), ("machine", "a machine"), ("garment", "a garment")]
)
def test_a_style_without_a_part_adds_nothing_to_the_sums_of_the_others(studies, season, changed, part, misses):
    half = changed("keepsake", **{part: None})
    more = season_of("Winter 27", [*studies, ("half", half)])
    assert more["half"].misses == (misses,)
    assert more.rows[-1].key == "half"
    assert [value.as_dict() for value in more.values] == [value.as_dict() for value in season.values]
    assert more.hours.value == season.hours.value
    assert more.yarn_kg.value == season.yarn_kg.value
    assert more.pieces - season.pieces == (0 if part == "order" else 400)
    assert any(finding.where == "N7-060, half" for finding in more.findings)  # its number is that of another


def test_a_refused_style_stops_and_the_rest_of_the_season_stands(studies, season, changed):
    yarns = {"cotton": {"count": "30/2", "fibres": {"cotton": 100}, "price_per_kg": 9.8}}  # Nm or Ne?
    refused = changed("keepsake", yarns=yarns, style={"number": "N7-061"})
    more = season_of("Winter 27", [*studies, ("refused", refused)])
    assert more["refused"].refused == ("yarns.cotton, yarn count",)
    stop = more.findings[0]
    assert (stop.sign, stop.where) == (Sign.STOPS, "N7-061")
    assert more.values[0].figure.value == season.values[0].figure.value


def test_a_yarn_without_a_price_gives_hours_and_no_money(studies, changed):
    cotton = {"count": "Ne 30/2", "fibres": {"cotton": 100}}
    unpriced = changed("keepsake", yarns={"cotton": cotton})
    season = season_of("unpriced", [("unpriced", unpriced)])
    assert season.rows[0].misses == ("a price of its yarn",)
    assert season.hours.value == pytest.approx(studies[2][1].machine_hours.value)
    assert season.values == ()


def test_money_of_two_currencies_is_never_added(studies, changed):
    krone = changed("guard", rates={"currency": "DKK", "machine_hour": 27.0}, style={"number": "N7-022"})
    season = season_of("two currencies", [*studies, ("krone", krone)])
    values = {value.currency: value for value in season.values}
    assert set(values) == {"EUR", "DKK"}
    assert values["DKK"].figure.value == pytest.approx(250 * krone.pricing.sheet.fob.figure.value)
    assert values["EUR"].figure.value == season_of("one", studies).values[0].figure.value
    assert values["EUR"].styles == 3
    assert any(finding.where == "money" for finding in season.findings)
    said = sentence_text(lede(season))
    assert "DKK free on board" in said
    assert "EUR free on board" in said


def test_a_style_counted_twice_is_refused(studies):
    with pytest.raises(Problem, match="a style is counted once"):
        season_of("twice", [studies[0], studies[0]])


def test_the_next_thing_of_a_style_is_what_it_misses_else_its_first_finding(season, changed):
    rows = _style_rows(season_of("two", [("half", changed("keepsake", order=None)), ("guard", changed("guard"))]))
    assert rows["N7-060"][-1] == "name an order"
    assert rows["N7-021"][-1] == "Decide: hem rib, size XL"


def _style_rows(season):
    (section,) = (section for section in season_sheet(season).sections if section.key == "styles")
    table = section.blocks[0]
    assert isinstance(table, Table)
    return {str(row[0]): row for row in table.rows}
