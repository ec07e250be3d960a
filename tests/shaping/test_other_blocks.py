"""Skirts, caps, rectangles and legs: every size plans, closes, and measures what was asked."""

import math
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad
from shapely import Polygon

from loopwright.garment.blocks import measures_of, points_of
from loopwright.garment.measures import Measures, tolerance_cm
from loopwright.garment.shape import SKIRTS, Shape
from loopwright.garment.spec import size_table_of
from loopwright.machine.timeline import narrowing_places
from loopwright.problems import Problem, Sign
from loopwright.shaping.blocks import plan_garment
from loopwright.shaping.consumption import metres_per_place_course, panel_yarn
from loopwright.shaping.darts import darts_of
from loopwright.shaping.fashioning import total_courses, total_needles
from loopwright.shaping.flare import flare_steps
from loopwright.shaping.gores import gores_of
from loopwright.shaping.outline import real_outline
from loopwright.shaping.panel import PanelGauge, PanelPlan
from loopwright.shaping.plan import GarmentPlan, ZoneGauges
from loopwright.shaping.rules import usual_rules
from loopwright.shaping.sides import Stage, side_of
from loopwright.shaping.stretch import extension_percent
from loopwright.shaping.tube import TubeFabric, TubeLevel, plan_tube
from loopwright.study.parts import fabric_from_words

SHAPES = (
    *(Shape(block="skirt", skirt=skirt) for skirt in SKIRTS),
    *(Shape(block=block) for block in ("beanie", "scarf", "shawl", "blanket", "stocking", "tights")),
)
SKIRT, FLARED, SIDEWAYS = SHAPES[:3]
SIZES = {
    "women": ("S", "M", "L", "XL", "2XL", "3XL"),
    "men": ("S", "M", "L", "XL", "2XL", "3XL"),
    "children": tuple(
        str(height) for height in (56, 62, 68, 74, 80, 86, 92, 98, 104, 110, 116, 122, 128, 140, 152, 164)
    ),
}
DENSITIES = {12: (6.83, 8.94), 3: (1.9, 2.6)}  # gauge: needle places and courses per cm
RIB = 1.03  # a rib a little denser than the body
FASHIONINGS = ("exact", "two-rate")

every_shape = pytest.mark.parametrize("shape", SHAPES, ids=lambda shape: f"{shape.block} {shape.skirt}")
every_population = pytest.mark.parametrize("population", SIZES)
every_gauge = pytest.mark.parametrize("gauge", DENSITIES)


def gauges_of(w: float, c: float) -> ZoneGauges:
    return ZoneGauges(tuple((zone, (w, c) if zone == "body" else (w * RIB, c)) for zone in ("body", "hem", "neckband")))


def planned(measures: Measures, size: str, gauge: int = 12, fashioning: str = "exact") -> GarmentPlan:
    rules = replace(usual_rules(gauge, narrowing_strokes=4), fashioning=fashioning)
    return plan_garment(measures, gauges_of(*DENSITIES[gauge]), rules, size)


def usual(shape: Shape, population: str = "women", size: str = "M", **typed: float) -> Measures:
    table = size_table_of(
        population=population, sizes=SIZES[population], typed_cm=typed, hand_set_cm={}, grade_cm={}, shape=shape
    )
    return table.measures(size)


def one(shape: Shape, gauge: int = 12, **typed: float) -> GarmentPlan:
    return planned(usual(shape, **typed), "M", gauge)


@every_shape
@every_population
@every_gauge
@pytest.mark.parametrize("fashioning", FASHIONINGS)
def test_every_size_is_planned_as_wanted(shape, population, gauge, fashioning):
    """Within a needle or two courses; gores may share out up to the tolerance of a girth."""
    w, c = DENSITIES[gauge]
    for size in SIZES[population]:
        measures = usual(shape, population, size)
        plan = planned(measures, size, gauge, fashioning)
        for name, real in plan.real:
            wanted, room = measures[name], max(1 / w, 2 / c)
            if shape.skirt == "sideways" and name in ("half_waist", "half_hem"):
                room = max(room, tolerance_cm(name))
            if name != "half_hem" or "hem_rib" not in measures.by_name or not measures["hem_rib"]:
                assert abs(real - wanted) <= room + 1e-9, (size, name, real, wanted)
        for panel in plan.panels:
            assert_is_a_panel(panel)
        assert all(join.points > 0 or join.length_cm > 0 for join in plan.joins)


def assert_is_a_panel(panel: PanelPlan) -> None:
    """Needles that knit are never less than none; the outline holds loops over loops per cm² wherever none is slack."""
    assert (panel.span - panel.held >= 0).all()
    assert not panel.courses or panel.span.min() > 0
    polygon = Polygon(real_outline(panel).whole)
    assert polygon.is_valid
    gauge = panel.gauge
    body = float(np.sum(panel.span * panel.slack_of_courses**2)) / gauge.needles_per_cm / gauge.courses_per_cm
    rib = panel.rib_loops / gauge.rib_needles_per_cm / gauge.rib_courses_per_cm
    assert polygon.area == pytest.approx(body + rib)


def test_a_blanket_of_three_gauge_is_a_rectangle_of_width_times_wales_and_length_times_courses():
    piece = one(Shape(block="blanket"), 3, panel_width=130, panel_length=170).first
    assert (piece.widest, piece.courses) == (248, 442)  # 130 · 1.9 = 247, 170 · 2.6 = 442
    assert piece.loops == 248 * 442


def test_a_scarf_with_ribs_has_one_at_either_end_and_no_seam_without():
    with_ribs, without = one(Shape(block="scarf"), hem_rib=5), one(Shape(block="scarf"))
    assert [panel.name for panel in with_ribs.panels] == ["scarf", "end rib"]
    assert with_ribs.joins[0].points == with_ribs.first.rib_needles
    assert with_ribs.real_cm["panel_length"] == pytest.approx(180, abs=0.2)
    assert not without.joins


def test_a_narrowed_skirt_stands_on_its_hem_and_ends_in_its_waist():
    plan = one(SKIRT)
    back = plan.first
    w = back.gauge.needles_per_cm
    assert back.span[0] / w == pytest.approx(plan.measures["half_hem"], abs=1 / w)
    assert back.finish_needles / w == pytest.approx(plan.measures["half_waist"], abs=1 / w)
    assert np.array_equal(back.left, plan.panels[1].left)


def test_a_pencil_skirt_widens_from_its_hem_to_the_hip():
    back = one(SKIRT, half_hem=45).first
    below, above = back.fashioning("skirt"), back.fashioning("hip")
    assert below is not None
    assert above is not None
    assert (below.widening, above.widening) == (True, False)


def test_a_waist_tells_both_girths_and_how_far_it_must_stretch():
    """Hip 102.5 with its 2 cm over a waist of 70 cm is 46 per cent."""
    plan = one(SKIRT, half_waist=35, waist_stretched=102.5)
    (finding,) = plan.findings
    assert finding.sign is Sign.KNOW
    real = 2 * plan.real_cm["half_waist"]
    assert "102.5 cm" in finding.sentence
    assert f"{100 * (102.5 / real - 1):.0f} %" in finding.sentence
    assert finding.sentence in plan.facts


@pytest.mark.parametrize("shape", SHAPES[:3], ids=SKIRTS)
def test_two_halves_of_a_waistband_go_round_the_waist(shape):
    plan = one(shape)
    band = plan.panels[-1]
    assert (band.name, band.pieces) == ("waistband", 2)
    around = 2 * band.rib_needles / band.gauge.rib_needles_per_cm
    assert around == pytest.approx(2 * plan.real_cm["half_waist"], abs=2 / band.gauge.rib_needles_per_cm)
    assert plan.joins[-1].points * plan.joins[-1].count == 2 * band.rib_needles


def test_a_waist_wide_enough_goes_over_without_stretching():
    assert extension_percent(relaxed_cm=100, over_cm=90) == 0
    assert "without stretching" in one(Shape(block="beanie"), half_girth=30).findings[0].sentence


def test_a_doubled_waistband_is_knitted_twice_as_high():
    measures = usual(SKIRT, waistband=3)
    rules = usual_rules(12, narrowing_strokes=4)
    gauges = gauges_of(*DENSITIES[12])
    doubled, single = (plan_garment(measures, gauges, rules, "M", band_is_doubled=each) for each in (True, False))
    assert doubled.panels[-1].rib_courses == pytest.approx(2 * single.panels[-1].rib_courses, abs=2)
    assert doubled.real_cm["waistband"] == pytest.approx(3, abs=0.15)
    assert single.real_cm["waistband"] == pytest.approx(3, abs=0.15)


def test_a_loop_flared_skirt_keeps_its_needles_and_takes_yarn_by_its_loops():
    """Every loop is slack times as long, so the yarn is Σ needles · slack; area goes with its square."""
    back = one(FLARED).first
    assert len(set(back.span.tolist())) == 1
    mean = float(np.mean(back.slack_of_courses))
    assert back.mean_slack == pytest.approx(mean)
    assert back.width_cm(0) > back.width_cm(-1)


def test_loops_that_are_longer_take_as_much_more_yarn():
    """Against the same panel with every course weighed on its own."""
    back = one(FLARED).first
    yarn = fabric_from_words("plain", "2/28 Nm merino", loop_length="6.15 mm")
    (zone,) = panel_yarn(back, yarn, yarn)
    per_place = metres_per_place_course(yarn)
    course_by_course = sum(int(each) * slack for each, slack in zip(back.span, back.slack_of_courses, strict=True))
    for letter, metres in zone.metres.items():
        assert metres == pytest.approx(course_by_course * per_place[letter])
    assert zone.loops == back.loops


def test_a_loop_flared_skirt_covers_its_wanted_outline():
    plan = one(FLARED)
    for name, outline in plan.wanted.items():
        panel = plan.panel(name)
        assert panel is not None
        assert Polygon(real_outline(panel).whole).area == pytest.approx(outline.area_cm2, rel=0.01)


def test_more_flare_than_a_stitch_cam_gives_is_refused_with_both_numbers():
    with pytest.raises(Problem) as refused:
        one(FLARED, half_waist=35, half_hip=50, half_hem=56)
    sentence = refused.value.sentence()
    for told in ("35.0", "56.0", "1.60 times", "1.4 to 1.7", "narrowed", "sideways", "49.0"):
        assert told in sentence


def test_a_sideways_skirt_whose_hip_is_closer_than_wanted_is_told():
    plan = one(SIDEWAYS, half_waist=37, half_hem=60, half_hip=53)
    cone = next(finding for finding in plan.findings if finding.where.startswith("half hip"))
    assert cone.sign is Sign.DECIDE
    assert "53.0 cm is wanted" in cone.sentence


@given(
    st.floats(40, 160), st.floats(1.0, 2.5), st.floats(20, 110), st.floats(1.5, 12), st.floats(1.5, 16),
    st.integers(2, 16),
)  # fmt: skip
def test_gores_come_round_the_body_within_the_tolerance_or_two_courses(waist, flare, length, w, c, count):
    gores = gores_of(
        waist_cm=waist, hem_cm=waist * flare, length_cm=length, gauge=PanelGauge(w, c, w, c), count=count,
        tolerance_cm=2,
    )  # fmt: skip
    assert len(gores.waist) == count
    assert all(courses % 2 == 0 for courses in (*gores.waist, *gores.hem))
    assert max(gores.waist) - min(gores.waist) <= 2
    assert abs(sum(gores.waist) / c - waist) <= max(2, 1 / c) + 1e-9
    below = [hem - above for hem, above in zip(gores.hem, gores.waist, strict=True)]
    assert min(below) >= 0


@given(
    st.integers(20, 900), st.sampled_from([4, 6, 8, 10, 12]), st.floats(0.05, 0.5), st.floats(1, 15), st.floats(2, 16)
)
def test_a_crown_leaves_the_share_asked_for_within_half_a_round_of_darts(needles, count, share, height, c):
    darts = darts_of(needles, height_cm=height, courses_per_cm=c, count=count, left_share=share)
    assert abs(darts.left - share * needles) <= max(count / 2 + 1e-9, count)
    assert darts.left + count * total_needles(darts.steps) == needles
    assert total_courses(darts.steps) == darts.courses
    assert all(step.courses >= 2 for step in darts.steps)
    assert darts.courses >= height * c - 1.0001


def test_a_crown_with_fewer_needles_than_darts_is_refused():
    with pytest.raises(Problem, match="7 needles for 8 darts"):
        darts_of(7, height_cm=3, courses_per_cm=2.6, count=8, left_share=0.1)
    with pytest.raises(Problem, match="crown, size M"):
        one(Shape(block="beanie"), 3, half_girth=1.6, cap_depth=20)


def test_a_crown_costs_the_carriage_four_times_what_two_edges_cost():
    piece = one(Shape(block="beanie")).first
    events = narrowing_places(piece)
    assert set(events.values()) == {4.0}
    assert len(events) * 8 == piece.rib_needles - piece.finish_needles


def test_a_crown_that_fills_the_cap_is_refused_with_both_courses():
    with pytest.raises(Problem) as refused:
        one(Shape(block="beanie"), 12, half_girth=25, cap_depth=14, turn_up=6, brim_rib=11.8)
    assert "above the rib" in refused.value.sentence()


def test_a_heel_turns_in_two_halves_at_the_edges_beside_the_seam():
    leg = one(Shape(block="stocking")).first
    right, left = leg.short_rows
    assert right.courses == left.courses
    half = int(leg.right[right.start - 1])
    assert (leg.right[right.start : right.start + right.courses] == half).all()
    assert (leg.left[left.start : left.start + left.courses] == half).all()
    knits = leg.span[right.start : right.start + right.courses : 2].tolist()
    assert knits == knits[::-1]
    assert min(knits) / max(knits) == pytest.approx(1 / 3, abs=0.05)


def test_a_leg_is_as_long_as_its_centre_wale_and_at_most_half_a_heel_longer():
    """No wale knits both halves of the heel."""
    leg = one(Shape(block="stocking")).first
    rows = leg.short_rows[0].courses
    centre = leg.rib_length_cm + (leg.courses - 2 * rows) / leg.gauge.courses_per_cm
    assert centre - 1e-9 <= leg.length_cm <= centre + rows / leg.gauge.courses_per_cm


def test_a_leg_without_a_foot_ends_at_the_ankle():
    plan = one(Shape(block="tights"), foot_length=0)
    assert not plan.first.short_rows
    assert not [join for join in plan.joins if join.name == "toes"]
    assert plan.first.finish_needles / plan.first.gauge.needles_per_cm == pytest.approx(
        2 * plan.measures["half_ankle"], abs=0.15
    )


def test_tights_are_two_legs_a_rise_and_a_gusset():
    plan = one(Shape(block="tights"))
    assert [(panel.name, panel.pieces) for panel in plan.panels] == [("leg", 2), ("gusset", 1)]
    assert {join.name: join.count for join in plan.joins} == {"toes": 2, "back seams": 2, "rise": 2, "gusset": 4}
    rise = next(join for join in plan.joins if join.name == "rise")
    assert rise.length_cm == pytest.approx(plan.measures["rise"], abs=0.3)


def test_a_foot_shorter_than_its_toe_is_refused():
    with pytest.raises(Problem, match="courses before its toe"):
        one(Shape(block="stocking"), 3, foot_length=4)


@given(st.integers(20, 200), st.integers(-60, 60), st.integers(1, 200))
def test_a_side_ends_at_its_needles_or_says_that_it_has_no_room(half, moved, pairs):
    stage, gauge = Stage("side", max(1, half - moved), 2 * pairs), PanelGauge(6.83, 8.94, 7, 9)
    rules = replace(usual_rules(12, narrowing_strokes=4), fashioning="two-rate")
    most = 3 if half > stage.half_needles else 1
    if abs(half - stage.half_needles) > most * pairs:
        with pytest.raises(Problem, match="do not fit"):
            side_of(half, [stage], gauge=gauge, rules=rules, where="panel")
        return
    edge = side_of(half, [stage], gauge=gauge, rules=rules, where="panel").edge
    assert (edge.end, edge.courses) == (stage.half_needles, stage.courses)


ROOM = st.floats(0.15, 2.5)  # what a person may type against the usual measure


@given(st.data(), st.sampled_from(SHAPES), st.floats(0.8, 14), st.floats(1.0, 1.8))
def test_whatever_is_typed_gives_a_whole_plan_or_a_problem(data, shape, w, ratio):
    base = usual(shape)
    points = {name: base[name] * data.draw(ROOM, label=name) for name in points_of(shape)}
    try:
        measures = measures_of(points, "M", shape)
        rules = replace(usual_rules(7, narrowing_strokes=4), fashioning="two-rate")
        plan = plan_garment(measures, gauges_of(w, w * ratio), rules, "M")
    except Problem:
        return
    for panel in plan.panels:
        assert_is_a_panel(panel)


@given(
    st.lists(st.tuples(st.floats(2, 40), st.floats(15, 70), st.floats(1.0, 2.4)), min_size=2, max_size=6),
    st.integers(60, 480),
)
def test_the_courses_of_a_tube_are_the_integral_of_its_course_density(parts, needles):
    """c(z) = k_c·N/(k_w·G(z)) with G straight between the levels, integrated by scipy."""
    fabric, height, levels = TubeFabric(14, 19, 3.0), 0.0, []
    for index, (rise, body, stretch) in enumerate(parts):
        height += rise if index else 0.0
        levels.append(TubeLevel(f"level {index}", height, body, stretch))
    plan = plan_tube(levels, needles=needles, fabric=fabric, loop_ratio=10)
    heights, girths = [level.height_cm for level in levels], [level.relaxed_cm for level in levels]
    density = fabric.course_constant * needles / fabric.wale_constant
    whole, _ = quad(lambda z: density / np.interp(z, heights, girths), 0, height, points=heights[1:-1], limit=200)
    assert plan.courses == pytest.approx(whole, abs=0.51)


def test_a_tube_of_one_girth_has_the_swatch_density_where_its_loops_are_the_swatch_loops():
    """Girth N/w at the swatch's w: 300 needles at 15 wales per cm are 20 cm round, 30 cm take 30·c courses."""
    fabric = TubeFabric(wales_per_cm=15, courses_per_cm=20, loop_length_mm=3.0)
    levels = [TubeLevel("ankle", 0, 30, 1.5), TubeLevel("thigh", 30, 30, 1.5)]
    (zone,) = plan_tube(levels, needles=300, fabric=fabric).zones
    assert zone.courses == 600
    assert zone.loop_length_mm == pytest.approx((3.0, 3.0))


BAD_TUBES = (
    ([TubeLevel("ankle", 0, 20, 1.2)], 400, "1 level"),
    ([TubeLevel("ankle", 0, 20, 1.2), TubeLevel("thigh", 0, 50, 2)], 400, "not above"),
    ([TubeLevel("ankle", 0, 20, 0), TubeLevel("thigh", 60, 50, 2)], 400, "stretch ratio 0"),
    ([TubeLevel("ankle", 0, 20, 1.2), TubeLevel("thigh", 60, 50, 2)], 0, "0 needles"),
)


@pytest.mark.parametrize(("levels", "needles", "told"), BAD_TUBES)
def test_a_tube_that_is_no_leg_is_refused(levels, needles, told):
    with pytest.raises(Problem, match=told):
        plan_tube(levels, needles=needles, fabric=TubeFabric(15, 20, 3.0))


def test_the_settings_of_a_flare_fill_its_length_and_reach_hem_and_waist():
    measures = usual(FLARED)
    gauge = PanelGauge(*DENSITIES[12], *DENSITIES[12])
    needles = 364
    steps = flare_steps(measures, needles, gauge)
    assert sum(step.height_cm for step in steps) == pytest.approx(measures["skirt_length"] - measures["hem_rib"])
    widths = [step.slack * needles / gauge.needles_per_cm for step in steps]
    assert widths[0] == pytest.approx(measures["half_hem"])
    assert widths[-1] == pytest.approx(measures["half_waist"])
    assert max(abs(after - before) for before, after in pairwise(widths)) <= 1.0 + 1e-9
    assert math.isclose(max(widths), measures["half_hem"])
