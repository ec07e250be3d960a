"""The sheet and the pictures of a season: what is drawn is what is summed, and words of a person stay words."""

import re
from xml.etree import ElementTree

import pytest

from loopwright.draw.season import FILLS, Bar, hours_picture, yarn_picture
from loopwright.figure import Basis, banded
from loopwright.report.blocks import Chance, Findings, Link, Table
from loopwright.report.html import Reasons, cell_html
from loopwright.report.page import page
from loopwright.report.season_pictures import season_pictures
from loopwright.report.season_sheet import lede, season_sheet
from loopwright.report.terminal import cell_text, sentence_text
from loopwright.season.season import season_of

SVG = "{http://www.w3.org/2000/svg}"


def hours(value, spread=0.0):
    return banded("h", value, "h", low=value - spread, high=value + spread, basis=Basis.COMMON_PRACTICE, words="t")


def test_the_lede_says_styles_pieces_money_hours_and_yarn(season):
    said = sentence_text(lede(season)).replace("\u00a0", " ")
    assert said.startswith("Three styles, 1 290 pieces, 26 6")
    assert "of machine time" in said
    assert "Two of four lots of yarn are under a usual dye lot." in said


def test_sections_stand_in_their_order(season):
    sheet = season_sheet(season, season_pictures(season))
    assert [section.key for section in sheet.sections] == ["styles", "hours", "yarn", "findings"]
    assert all(section.short for section in sheet.sections)


def test_what_several_styles_ask_alike_is_said_once(studies):
    season = season_of("many", [(f"style {number}", studies[0][1]) for number in range(6)])
    findings = next(section for section in season_sheet(season).sections if section.key == "findings").blocks[0]
    assert isinstance(findings, Findings)
    assert sum("narrowings pull" in finding.sentence for finding in findings.findings) == 1


def test_a_style_leads_to_its_page_where_there_is_one(season):
    sheet = season_sheet(season, hrefs={"guard": "/style/guard"})
    table = sheet.sections[0].blocks[0]
    assert isinstance(table, Table)
    links = [row[0] for row in table.rows if isinstance(row[0], Link)]
    assert links == [Link("N7-021", "/style/guard")]


def test_words_of_a_person_are_escaped_on_the_page(changed):
    odd = changed("guard", style={"name": "<b>&", "number": '"><script>x</script>'})
    season = season_of("<i>odd</i>", [("odd", odd)])
    text = page(season_sheet(season, season_pictures(season), {"odd": '/a"><script>'}))
    assert "<script>x" not in text
    assert "<b>&" not in text
    assert "<i>odd" not in text
    assert '"><script>' not in text


@pytest.mark.parametrize(("share", "words"), [(0.728, "73 in 100"), (1.0, "nearly sure"), (0.0, "hardly ever")])
def test_a_chance_is_a_bar_with_its_words(share, words):
    html = cell_html(Chance(share), Reasons())
    across = float(re.search(r"H([\d.]+)V7", html)[1])
    assert across == pytest.approx(56 * share, abs=0.05)
    assert words in html
    assert cell_text(Chance(share)) == words


def test_pictures_can_be_read_aloud_and_name_every_gauge(season):
    for svg in season_pictures(season).values():
        root = ElementTree.fromstring(svg)
        assert root.find(f"{SVG}title").text
        assert root.find(f"{SVG}desc").text
    described = ElementTree.fromstring(season_pictures(season)["season-hours"]).find(f"{SVG}desc").text
    assert all(f"{gauge} gauge" in described for gauge in (7, 12, 14))


def marks(svg):
    """(words, left, width) of every part of a bar."""
    found = []
    for group in ElementTree.fromstring(svg).iter(f"{SVG}g"):
        box = group.find(f"{SVG}rect")
        found.append((group.get("data-says"), float(box.get("x")), float(box.get("width"))))
    return found


def test_bars_start_at_zero_and_are_as_long_as_their_hours():
    parts = (("one", 30.0), ("two", 70.0))
    first = Bar("12 gauge", "", parts, hours(100))
    second = Bar("7 gauge", "", (("one", 50.0),), hours(50))
    (_, start, thirty), (_, next_start, seventy), (_, zero, fifty) = marks(
        hours_picture([first, second], ["one", "two"])
    )
    assert start == zero
    assert next_start == pytest.approx(start + thirty, abs=0.02)
    assert thirty / 30 == pytest.approx(seventy / 70, rel=1e-3)
    assert thirty / 30 == pytest.approx(fifty / 50, rel=1e-3)


@pytest.mark.parametrize("count", [1, 8, 9, 30])
def test_at_most_eight_fills_are_drawn_and_nothing_is_lost_in_the_rest(count):
    names = [f"N7-{number:03d}" for number in range(count)]
    bar = Bar("12 gauge", "", tuple((name, 10.0) for name in names), hours(10.0 * count))
    drawn = marks(hours_picture([bar], names))
    assert len(drawn) == min(count, len(FILLS))
    width = sum(across for _, _, across in drawn)
    assert width == pytest.approx(824 - 176 - 128, abs=0.1)
    if count > len(FILLS):
        assert drawn[-1][0].startswith(f"the rest: {10 * (count - 7)} h")


def test_the_whisker_is_dashed_as_its_figure_is_known_and_an_exact_sum_has_none():
    loose = hours_picture([Bar("12 gauge", "", (("a", 100.0),), hours(100, 20))], ["a"])
    sure = hours_picture([Bar("12 gauge", "", (("a", 100.0),), hours(100))], ["a"])
    assert 'stroke-dasharray="3 3"' in loose
    assert "stroke-dasharray" not in sure
    assert "<circle cx" not in sure.partition("</defs>")[2]


def test_the_dye_lot_is_a_line_at_its_kilograms_on_the_scale_of_the_bars():
    least = banded("least", 60, "kg", low=20, high=100, basis=Basis.COMMON_PRACTICE, words="habit")
    svg = yarn_picture([Bar("merino", "blue", (("a", 120.0),), hours(120))], ["a"], least)
    ((_, zero, across),) = marks(svg)
    lines = [each for each in ElementTree.fromstring(svg).iter(f"{SVG}line") if each.get("stroke") == "#A3195B"]
    assert len(lines) == 1
    assert float(lines[0].get("x1")) == pytest.approx(zero + across / 2, abs=0.02)


def test_machines_are_ticked_along_the_bar_by_what_one_of_them_works():
    bar = Bar("12 gauge", "", (("a", 100.0),), hours(100), limit=30.0, limit_words="one machine")
    svg = hours_picture([bar], ["a"])
    ((_, zero, across),) = marks(svg)
    ticks = [
        float(each.get("x1"))
        for each in ElementTree.fromstring(svg).iter(f"{SVG}line")
        if each.get("stroke") == "#A3195B"
    ]
    assert ticks == pytest.approx([zero + across * share for share in (0.3, 0.6, 0.9)], abs=0.02)
