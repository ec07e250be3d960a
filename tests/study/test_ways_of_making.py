"""The same style made in several ways: what adds up, what is never less, and what is said of a way that cannot be."""

import tomllib
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Polygon

from loopwright.garment.blocks import blocks
from loopwright.machine.complete import complete_garment
from loopwright.machine.models import circular_models, flat_model
from loopwright.study.knitting import seams_of
from loopwright.study.study import StyleStudy, study_style
from loopwright.study.style import read_style
from loopwright.study.ways import ways_of_making
from loopwright.study.ways.blanks import blank_of
from loopwright.study.ways.circular import machine_for
from loopwright.study.ways.compare import against_own, in_order
from loopwright.study.ways.complete import tube_plan
from loopwright.study.ways.cut import cut_outline, main_shape, overlocked
from loopwright.study.ways.hosiery import foot_courses, full_foot_courses, tube_levels
from loopwright.study.ways.strips import strip_of
from loopwright.study.ways.way import Way

EXAMPLES = sorted((Path(__file__).parents[2] / "examples").glob("*.toml"))
YARN = {"count": "2/15 Nm", "fibres": {"lambswool": 100}, "spinning": "woollen", "price_per_kg": 20.0}


def style(**changes: Any) -> StyleStudy:
    """A plain women's pullover on 7 gauge, with some parts changed."""
    document: dict[str, Any] = {
        "yarns": {"main": YARN},
        "zones": {"body": {"structure": "plain"}, "hem": {"structure": "2x1 rib"}},
        "garment": {"sizes": ["S", "M"], "base_size": "M"},
        "machine": {"gauge": 7, "bed_in": 80},
        "order": {"pieces": 300, "size_mix": {"S": 100, "M": 200}},
        **changes,
    }
    return study_style(read_style(document))


def named(ways: tuple[Way, ...]) -> dict[str, Way]:
    return {way.kind.key: way for way in ways}


@pytest.fixture(scope="module")
def pullover() -> StyleStudy:
    return style()


@pytest.fixture(scope="module")
def ways(pullover: StyleStudy) -> dict[str, Way]:
    return named(ways_of_making(pullover))


@pytest.mark.parametrize("example", EXAMPLES, ids=lambda path: path.stem)
def test_every_way_of_every_example_is_reckoned_or_says_why_not(example):
    study = study_style(read_style(tomllib.loads(example.read_text("utf-8"))))
    found = ways_of_making(study)
    assert len(found) >= 4
    for way in found:
        if way.why_not is not None:
            assert way.why_not.what
            assert way.why_not.tries
            assert way.yarn_g is None
            continue
        assert way.needs is not None
        assert way.yarn_g is not None
        assert way.yarn_g.value > 0
        assert way.price is not None
        assert way.price.low <= way.price.value <= way.price.high
        assert way.needs.knitting_minutes is not None
        assert way.needs.knitting_minutes.value > 0


def test_the_styles_own_way_costs_what_the_study_says(pullover, ways):
    own = ways["fashioned_linked"]
    assert own.is_own
    assert pullover.pricing is not None
    assert own.amount == pullover.pricing.sheet.fob.amount
    assert own.price.low == pytest.approx(pullover.pricing.sheet.fob.figure.low)
    kg = sum(line.kg.value for line in pullover.pricing.inputs.piece.yarn_lines)
    assert own.yarn_g.value == pytest.approx(1000 * kg)


def test_a_cup_seamed_style_is_priced_cup_seamed_and_its_linked_way_as_another():
    study = style(construction={"method": "fully fashioned and cup-seamed"})
    found = named(ways_of_making(study))
    assert found["fashioned_cup"].is_own
    assert study.pricing is not None
    assert found["fashioned_cup"].amount == study.pricing.sheet.fob.amount
    base = study.base
    assert base is not None
    sewn = {seam.name for seam in base.seams if seam.method == "cup seam"}
    assert sewn == {"sides", "underarms", "armholes"}
    assert {seam.method for seam in base.seams if seam.name in ("shoulders", "neckband")} == {"loop to loop"}
    linked = named(ways_of_making(style()))
    assert found["fashioned_linked"].amount == linked["fashioned_linked"].amount
    assert found["fashioned_cup"].amount == linked["fashioned_cup"].amount


def test_every_price_is_its_own_sheet_added_up(ways):
    for way in ways.values():
        assert way.sheet is not None
        assert way.law is not None
        direct = sum(line.amount.amount for line in way.sheet.part("direct"))
        assert way.sheet.direct.amount.amount == direct
        assert way.law.price(300) == way.amount


def test_waste_is_what_is_issued_and_not_in_the_garment(ways):
    for way in ways.values():
        assert way.needs is not None
        held = sum(supply.grams.value for supply in way.needs.supplies)
        assert way.yarn_g.value == pytest.approx(held + way.waste_g.value)
        assert way.waste_share.value == pytest.approx(way.waste_g.value / way.yarn_g.value)
        assert 0 < way.waste_share.value < 1


def test_blanks_take_more_yarn_than_fashioned_panels_and_no_narrowings(ways):
    blanks, panels = ways["flat_blanks"], ways["fashioned_linked"]
    assert blanks.yarn_g.value > panels.yarn_g.value
    assert blanks.waste_share.value > panels.waste_share.value
    assert blanks.needs.makeup_minutes.value < panels.needs.makeup_minutes.value


def test_a_blank_holds_its_piece_with_seam_allowance(pullover):
    for panel in pullover.base.plan.panels:
        blank = blank_of(panel, 1.0)
        assert blank.loops + blank.rib_loops >= panel.loops + panel.rib_loops
        if panel.courses:
            left, low, right, high = main_shape(panel).bounds
            assert blank.span.min() / panel.gauge.needles_per_cm >= right - left + 2.0 - 1e-9
            assert blank.courses / panel.gauge.courses_per_cm >= high - low + 1.0 - 1e-9
            assert len(set(blank.span.tolist())) == 1
        else:
            assert blank is panel


def test_the_area_of_a_cut_piece_is_its_loops(pullover):
    for panel in pullover.base.plan.panels:
        if panel.courses:
            density = panel.gauge.needles_per_cm * panel.gauge.courses_per_cm
            assert main_shape(panel).area == pytest.approx(panel.loops / density, rel=0.02)
            assert Polygon(cut_outline(panel)).area == pytest.approx(main_shape(panel).area, rel=0.01)


def test_a_raglan_sleeve_whose_top_reaches_over_its_centre_is_one_piece():
    sleeve = style(garment={"sleeve": "raglan", "sizes": ["M"]}).base.plan.panel("sleeve")
    assert main_shape(sleeve).is_valid
    density = sleeve.gauge.needles_per_cm * sleeve.gauge.courses_per_cm
    assert main_shape(sleeve).area == pytest.approx(sleeve.loops / density, rel=0.02)


def test_a_cut_garment_is_sewn_along_the_same_joins(pullover):
    plan = pullover.base.plan
    linked, sewn = seams_of(plan), overlocked(plan)
    assert [seam.name for seam in sewn] == [seam.name for seam in linked]
    for one, other in zip(linked, sewn, strict=True):
        assert other.length_cm > 0
        if one.length_cm:
            assert other.length_cm == one.length_cm
    neckband = next(seam for seam in sewn if seam.name == "neckband")
    assert neckband.length_cm == plan.neck_seam_cm


def test_strips_are_the_ribs_of_the_panels(pullover):
    for panel in pullover.base.plan.panels:
        assert strip_of(panel).rib_loops == panel.rib_loops
        assert strip_of(panel).loops == 0


def test_the_marker_never_uses_more_cloth_than_there_is(ways):
    losses = ways["circular_cloth"].needs.supplies[0].losses
    cutting = next(loss for loss in losses if loss.name == "cutting")
    assert 0 < cutting.low <= cutting.value <= cutting.high < 1


def test_a_complete_garments_minutes_are_its_own_strokes(pullover, ways):
    """Every section's seconds over the running share, weighted by the order."""
    machine = flat_model("complete 14").v_bed()
    minutes = 0.0
    for size in pullover.sizes:
        knitted = complete_garment(tube_plan(size.plan), machine)
        seconds = sum(section.seconds(machine) for section in knitted.sections)
        minutes += pullover.shares[size.size] * seconds / 60 / machine.running_share.value
    assert ways["complete"].needs.knitting_minutes.value == pytest.approx(minutes)


def test_tubes_have_the_widths_and_lengths_of_the_panels(pullover):
    plan = pullover.base.plan
    tube, back, sleeve = tube_plan(plan), plan.panel("back"), plan.panel("sleeve")
    w, c = back.gauge.needles_per_cm, back.gauge.courses_per_cm
    assert tube.body_wales / w == pytest.approx(plan.real_cm["half_chest"], abs=1 / w)
    assert tube.sleeve_wales / w == pytest.approx(plan.real_cm["half_upper_arm"], abs=1 / w)
    below = (tube.body_courses - back.rib_courses) / c + back.rib_length_cm
    assert below == pytest.approx(plan.real_cm["length"] - plan.measures["armhole_depth"], abs=1.0)
    assert tube.sleeve_courses == sleeve.rib_courses + sleeve.section("sleeve").courses


def test_nothing_of_a_complete_garment_is_linked(ways):
    assert ways["complete"].needs.makeup["linking"].value == 0
    assert ways["complete"].waste_share.value < ways["fashioned_linked"].waste_share.value


def test_a_yarn_too_fine_for_half_gauge_is_told_both_gauges():
    study = style(yarns={"main": {**YARN, "count": "2/30 Nm"}}, machine={"gauge": 12, "bed_in": 80})
    why = named(ways_of_making(study))["complete"].why_not
    assert "E 22" in why.what
    assert "E 9" in why.limit


def test_a_bed_too_narrow_for_three_tubes_is_told_both_needle_counts():
    study = style(garment={"sizes": ["3XL"], "population": "men", "sleeve": "drop", "chest_ease_cm": 40})
    why = named(ways_of_making(study))["complete"].why_not
    assert why is not None
    assert "side by side take" in why.what
    assert "1120 needles of bed" in why.limit


def test_rib_on_all_needles_cannot_be_a_tube_at_half_gauge():
    study = style(zones={"body": {"structure": "1x1 rib"}, "hem": {"structure": "1x1 rib"}})
    why = named(ways_of_making(study))["complete"].why_not
    assert "both beds" in why.what


def test_only_cloth_of_a_listed_kind_comes_from_a_circular_machine():
    study = style(zones={"body": {"structure": "half cardigan"}, "hem": {"structure": "2x1 rib"}})
    why = named(ways_of_making(study))["circular_cloth"].why_not
    assert why.limit == "single jersey, rib, interlock"


def test_a_circular_machine_is_of_the_gauge_that_the_count_asks_for(pullover):
    name, machine = machine_for(pullover.fabrics["body"])
    assert circular_models()[name] is machine
    assert machine.kind == "single jersey"
    assert machine.gauge == 9


def test_two_fabrics_are_not_cut_from_one_cloth():
    zones = {"body": {"structure": "plain"}, "sleeve": {"structure": "plain", "loop_length_mm": 10}}
    why = named(ways_of_making(style(zones=zones)))["circular_cloth"].why_not
    assert "2 fabrics" in why.what


def test_own_minutes_of_a_seam_count_only_where_it_is_joined_in_the_same_way(ways):
    study = style(make_up_minutes={"sides": 30.0, "neckband": 9.0, "pressing": 4.0})
    found = named(ways_of_making(study))
    linked, cup, blanks = (found[key].needs for key in ("fashioned_linked", "fashioned_cup", "flat_blanks"))
    assert linked.rests_on == ()
    assert "sides" in cup.rests_on[0]
    assert "neckband" not in cup.rests_on[0]
    assert "sides" in blanks.rests_on[-1]
    assert "neckband" in blanks.rests_on[-1]
    own = next(size for size in study.sizes if size.size == "M")
    neckband = next(each.minutes.value for each in own.makeup.seams if each.seam.name == "neckband")
    assert neckband == 9.0
    assert cup.makeup["linking"].value < linked.makeup["linking"].value
    assert blanks.makeup["linking"].value == pytest.approx(ways["flat_blanks"].needs.makeup["linking"].value)
    assert blanks.makeup["press"].value - ways["flat_blanks"].needs.makeup["press"].value == pytest.approx(1.5)


def test_ways_stand_in_order_of_price_and_each_beside_the_chosen_one(ways):
    prices = [way.price.value for way in in_order(tuple(ways.values()))]
    assert prices == sorted(prices)
    for beside in against_own(tuple(ways.values())):
        assert not beside.way.is_own
        own = ways["fashioned_linked"]
        assert beside.dearer == beside.way.amount.amount - own.amount.amount


def test_at_the_break_even_two_ways_cost_the_same(ways):
    """A complete garment is programmed once for long and linked never: it pays from some quantity on, or never."""
    beside = next(each for each in against_own(tuple(ways.values())) if each.way.kind.key == "complete")
    own, pieces = ways["fashioned_linked"].law, beside.quantity.pieces
    assert pieces is not None
    at, before = (beside.way.law.price(each).amount - own.price(each).amount for each in (pieces, pieces - 1))
    assert min(at, before) <= Decimal("0.01")
    assert max(at, before) >= Decimal("-0.01")
    assert beside.words.startswith(("cheaper from", "dearer from"))


def test_without_an_order_ways_have_yarn_and_minutes_and_no_price():
    study = style(order=None)
    for way in ways_of_making(study):
        assert way.price is None
        assert way.yarn_g is not None
        assert way.needs.knitting_minutes is not None
    assert against_own(ways_of_making(study)) == ()


def test_without_a_machine_ways_have_yarn_and_hands_only():
    for way in ways_of_making(style(machine=None)):
        if way.kind.key in ("fashioned_linked", "flat_blanks", "circular_cloth"):
            assert way.needs.knitting_minutes is None
            assert way.price is None
            assert way.yarn_g.value > 0


def test_without_sizes_there_is_nothing_to_compare():
    assert ways_of_making(style(garment=None)) == ()


def test_a_stocking_of_plain_wool_asks_more_of_its_loops_than_a_cylinder_gives():
    study = style(garment={"block": "stocking", "sizes": ["M"]}, machine={"gauge": 12, "bed_in": 50},
                  yarns={"main": {**YARN, "count": "2/30 Nm"}})  # fmt: skip
    found = named(ways_of_making(study))
    assert set(found) == {"fashioned_linked", "fashioned_cup", "flat_blanks", "cylinder"}
    assert "loops" in found["cylinder"].why_not.what
    assert "1.6 times" in found["cylinder"].why_not.limit


def test_a_stocking_of_even_girth_is_knitted_on_a_cylinder():
    measures = {"half_thigh": 11.5, "half_lower_thigh": 11.0, "half_calf": 10.5, "half_ankle": 9.0}
    study = style(
        garment={"block": "stocking", "sizes": ["M"], "measures_cm": measures},
        machine={"gauge": 12, "bed_in": 50},
        yarns={"main": {**YARN, "count": "2/30 Nm"}},
    )
    levels = tube_levels(study.base.plan.measures)
    assert [level.name for level in levels] == ["ankle", "calf", "lower thigh", "top"]
    assert [level.relaxed_cm for level in levels] == pytest.approx([18.0, 21.0, 22.0, 23.0])
    way = named(ways_of_making(study))["cylinder"]
    assert way.why_not is None, way.why_not.sentence()
    assert foot_courses(study.base.plan.first) > 0
    assert way.needs.knitting_minutes.value < study.minutes.value
    assert full_foot_courses(study.base.plan.first) < foot_courses(study.base.plan.first)
    assert way.needs.makeup["linking"].value < study.base.makeup.group_minutes["linking"].value  # no seam at the back


SLEEVES = ["set-in", "raglan", "drop", "saddle"]


@settings(max_examples=15)
@given(
    block=st.sampled_from(sorted(blocks())),
    sleeve=st.sampled_from(SLEEVES),
    structure=st.sampled_from(["plain", "1x1 rib", "half cardigan", "interlock", "purl"]),
    count=st.sampled_from(["2/15 Nm", "2/30 Nm", "2/8 Nm"]),
    cup=st.booleans(),
)
def test_every_block_is_reckoned_in_every_way_or_says_why_not(block, sleeve, structure, count, cup):
    method = "fully fashioned and cup-seamed" if cup else "fully fashioned and linked"
    study = style(
        garment={"block": block, "sleeve": sleeve, "sizes": ["M"]},
        zones={"body": {"structure": "1x1 purl" if structure == "purl" else structure}},
        yarns={"main": {**YARN, "count": count}},
        order={"pieces": 50},
        construction={"method": method},
    )
    found = ways_of_making(study)
    assert bool(found) == bool(study.sizes)
    for way in found:
        assert way.is_own == (way.kind.name == method)
        if way.why_not is None:
            assert way.yarn_g.low <= way.yarn_g.value <= way.yarn_g.high
            assert 0 < way.waste_share.value < 1
        else:
            assert way.why_not.tries
            assert not way.is_own
