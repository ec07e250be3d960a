"""Pullovers, cardigans, vests and dresses of every sleeve and neck: what has to match does, whatever the parts.

Outside sources: worked examples C and E of the production reference (sections 3.7, 3.9: P-22, P-24), shapely for areas.
"""

from collections import Counter
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely import Polygon

from loopwright.garment import necks as necks_package
from loopwright.garment.blocks import measures_of, points_of
from loopwright.garment.measures import Measures
from loopwright.garment.necks import neck_called, necks
from loopwright.garment.shape import Shape
from loopwright.garment.sleeves import sleeve_of, sleeves
from loopwright.garment.spec import size_table_of
from loopwright.problems import Problem
from loopwright.shaping.blocks import plan_garment
from loopwright.shaping.body import plan_body
from loopwright.shaping.fashioning import event_places, total_needles
from loopwright.shaping.neckline import front_opening
from loopwright.shaping.outline import real_outline
from loopwright.shaping.panel import PanelGauge, Side, Work
from loopwright.shaping.plan import GarmentPlan, ZoneGauges
from loopwright.shaping.rules import FASHIONINGS, usual_rules
from loopwright.shaping.sleeve import plan_sleeve

FINE = {"body": (6.83, 8.94), "hem": (7.0, 9.0), "sleeve": (6.83, 8.94), "cuff": (7.0, 9.0), "neckband": (7.0, 9.0)}
COARSE = {"body": (1.9, 2.6), "hem": (2.0, 2.7), "sleeve": (1.9, 2.6), "cuff": (2.0, 2.7), "neckband": (2.0, 2.7)}
GAUGES = {12: ZoneGauges(tuple(FINE.items())), 3: ZoneGauges(tuple(COARSE.items()))}
UPPER = ("pullover", "cardigan", "vest", "dress")
SIZES = {"women": ["XS", "M", "3XL"], "men": ["S", "L", "2XL"], "children": ["98", "128", "164"]}


def rules_at(gauge: int, fashioning: str = "exact"):
    return replace(usual_rules(gauge, narrowing_strokes=3), fashioning=fashioning)


def measures_for(shape: Shape, population: str, size: str, **typed: float) -> Measures:
    table = size_table_of(
        population=population, sizes=[size], typed_cm=typed, hand_set_cm={}, grade_cm={}, shape=shape
    )  # fmt: skip
    return table.measures(size)


@st.composite
def garments(draw) -> tuple[GarmentPlan, Measures, PanelGauge]:
    shape = Shape(
        block=draw(st.sampled_from(UPPER)),
        sleeve=draw(st.sampled_from(sorted(sleeves()))),
        neck=draw(st.sampled_from(sorted(necks()))),
        side=draw(st.sampled_from(["straight", "shaped"])),
        hem=draw(st.sampled_from(["straight", "dropped back", "curved"])),
        hem_drop_cm=draw(st.sampled_from([0.0, 3.0, 6.5])),
        bust_dart_cm=draw(st.sampled_from([0.0, 2.0, 4.0])),
    )
    population = draw(st.sampled_from(sorted(SIZES)))
    size = draw(st.sampled_from(SIZES[population]))
    gauge = draw(st.sampled_from([3, 12]))
    rules = rules_at(gauge, draw(st.sampled_from(["exact", "two-rate", "line"])))
    measures = measures_for(shape, population, size)
    try:
        plan = plan_garment(measures, GAUGES[gauge], rules, size)
    except Problem:
        plan = None
    return plan, measures, GAUGES[gauge].panel("body", "hem")


def side_courses(plan: GarmentPlan, name: str) -> int:
    """Courses that the side of a panel has between rib and underarm: those in which its outermost needle knits."""
    panel = plan.panel(name)
    first = next(each for each in panel.sections if each.name in ("armhole", "raglan"))
    below = panel.right[: first.start]
    held = sum(rows.courses for rows in panel.short_rows if rows.returns)
    return len(below) - held


@given(garments())
def test_front_and_back_have_equal_sides_and_every_panel_needles_in_work(made):
    plan, measures, _ = made
    if plan is None:
        return
    assert side_courses(plan, "front") == side_courses(plan, "back")
    for panel in plan.panels:
        assert np.all(panel.span - panel.held >= 0), panel.name
        assert np.all(panel.span > 0), panel.name
        assert len(panel.left) == len(panel.right) == len(panel.work)
        assert sum(section.courses for section in panel.sections) == panel.courses
    if measures.shape.block == "cardigan":
        assert plan.panel("front").pieces == 2
        assert plan.panel("front").is_half


@given(garments())
def test_a_panel_has_the_area_of_its_loops(made):
    """shapely: the polygon of the real outline, rib left out, over loops / (w·c)."""
    plan, _, _ = made
    if plan is None:
        return
    for panel in [each for each in plan.panels if each.courses and not each.rib_courses]:
        area = Polygon(real_outline(panel).whole).area
        assert area == pytest.approx(panel.loops / (panel.gauge.needles_per_cm * panel.gauge.courses_per_cm), rel=1e-9)


@given(garments())
def test_rounding_moves_widths_by_less_than_a_needle_and_lengths_by_two_courses(made):
    plan, measures, gauge = made
    if plan is None:
        return
    wanted = measures.by_name
    needle, courses = 1.01 / gauge.needles_per_cm, 4.01 / gauge.courses_per_cm
    for name in ("half_chest", "neck_width", "across_shoulder"):
        if name in wanted and name in plan.real_cm:
            assert abs(plan.real_cm[name] - wanted[name]) <= needle, name
    assert abs(plan.real_cm["length"] - wanted["length"]) <= courses


@given(garments())
def test_trims_are_picked_up_along_their_real_edges(made):
    plan, measures, _ = made
    if plan is None:
        return
    neck = neck_called(measures.shape.neck)
    trim = plan.panel("neckband") or plan.panel("collar") or plan.panel("hood")
    per_cm = trim.gauge.needles_per_cm if neck.trim == "hood" else trim.gauge.rib_needles_per_cm
    assert abs(trim.widest - plan.neck_seam_cm * per_cm * neck.pick_up) <= 1.01
    if neck.trim == "collar":
        assert trim.length_cm == pytest.approx(measures["neckband"], abs=1.01 / trim.gauge.rib_courses_per_cm)


@pytest.mark.parametrize("fashioning", FASHIONINGS)
@pytest.mark.parametrize("sleeve", ["raglan", "compound raglan"])
def test_body_and_sleeve_of_a_raglan_have_the_same_courses(sleeve, fashioning):
    shape = Shape(sleeve=sleeve)
    for size in SIZES["women"]:
        plan = plan_garment(measures_for(shape, "women", size), GAUGES[12], rules_at(12, fashioning), size)
        sleeve_panel, back, front = (plan.panel(name) for name in ("sleeve", "back", "front"))
        top = sleeve_panel.courses - sleeve_panel.section("sleeve").courses
        assert back.section("raglan").courses == top
        assert front.section("raglan").courses == sleeve_panel.section("raglan").courses
        assert sleeve_panel.bind_offs[0].right == back.bind_offs[0].right
        assert plan.closures[0].closes or abs(plan.closures[0].ease_cm) > 0.02 * plan.closures[0].other_cm


@pytest.mark.parametrize(("population", "fit"), [("women", "close"), ("men", "classic"), ("children", "oversized")])
def test_the_usual_raglan_closes_in_every_size(population, fit):
    """Section 2: the two edges of the seam may differ by 2 %."""
    sizes = SIZES[population]
    table = size_table_of(
        population=population,
        sizes=sizes,
        fit=fit,
        typed_cm={},
        hand_set_cm={},
        grade_cm={},
        shape=Shape(sleeve="raglan"),
    )
    for size in sizes:
        plan = plan_garment(table.measures(size), GAUGES[12], rules_at(12), size)
        assert abs(plan.closures[0].ease_cm) <= 0.02 * plan.closures[0].other_cm


def test_the_front_of_a_raglan_narrows_with_the_back_as_far_as_it_goes():
    plan = plan_garment(measures_for(Shape(sleeve="raglan"), "women", "M"), GAUGES[12], rules_at(12), "M")
    places = {name: event_places(plan.panel(name).fashioning("raglan").steps)[0] for name in ("back", "front")}
    count = len(places["front"])
    assert np.array_equal(places["back"][:count], places["front"])
    assert len(places["back"]) > count


EXAMPLE_C = {"half_chest": 55, "neck_width": 19, "raglan_depth": 25, "half_upper_arm": 21, "sleeve_top": 5}


def test_worked_example_c_comes_out_when_the_two_rate_rule_is_chosen():
    """P-22: 7-gauge men's raglan, w 3.6, c 5.0: 198 needles, 68 in the neck, 126 courses; 57 and 59 narrowings."""
    shape, gauge = Shape(sleeve="raglan"), PanelGauge(3.6, 5.0, 3.6, 5.0)
    measures = measures_for(shape, "men", "L", **EXAMPLE_C)
    rules = rules_at(7, "two-rate")
    body = plan_body(measures, gauge, rules, "L", gauge)
    back = body.back
    assert (back.rib_needles, back.neck_needles, back.section("raglan").courses) == (198, 68, 126)
    assert back.bind_offs[0].left == back.bind_offs[0].right == 8
    steps = back.fashioning("raglan").steps
    assert Counter({each.courses: each.times for each in steps}) == {4: 6, 2: 51}
    sleeve = plan_sleeve(measures, body, gauge, rules, "L")
    assert int(sleeve.panel.span.max()) == 152
    left = [each for each in sleeve.panel.fashionings if each.side in (Side.LEFT, Side.BOTH) and not each.widening]
    events = Counter()
    for each in left:
        places = event_places(each.steps)[0] + each.start - sleeve.panel.section("raglan").start
        events.update(places.tolist())
    intervals = Counter(np.diff([0, *sorted(events)]).tolist())
    assert intervals == {4: 4, 2: 55}
    assert sum(total_needles(each.steps) for each in left) == 59
    edges = sorted((body.armhole_edge_cm - 8 / 3.6, sleeve.closures[0].one_cm - 8 / 3.6))
    assert edges == [pytest.approx(29.76, abs=0.01), pytest.approx(30.06, abs=0.01)]
    assert sleeve.closures[0].closes


def test_worked_example_e_comes_out_when_the_two_rate_rule_is_chosen():
    """P-24: V neck, half 59 needles over 184 even courses: 33 @ 4 and 26 @ 2."""
    opening = front_opening(
        neck_called("V"),
        needles=59,
        courses=184,
        panel_courses=472,
        gauge=PanelGauge(6.5, 8.4, 6.9, 9.0),
        rules=replace(rules_at(12, "two-rate"), narrow_needles=1),
    )
    assert {each.courses: each.times for each in opening.steps} == {4: 33, 2: 26}
    assert int(opening.right[-1]) == 58  # the last event falls on the last course


def test_a_bust_dart_adds_its_length_to_the_front_and_nothing_to_its_sides():
    wanted = 3.0
    plan = plan_garment(measures_for(Shape(bust_dart_cm=wanted), "women", "L"), GAUGES[12], rules_at(12), "L")
    back, front = plan.panel("back"), plan.panel("front")
    rows = next(each for each in front.short_rows if each.name == "bust dart")
    assert rows.courses / front.gauge.courses_per_cm == pytest.approx(wanted, abs=1.01 / front.gauge.courses_per_cm)
    assert front.courses - back.courses == rows.courses
    within = front.right[rows.start : rows.start + rows.courses]
    assert np.all(within < front.right[rows.start - 1])
    assert np.all(front.work[rows.start : rows.start + rows.courses] == Work.SHORT_ROWS)
    assert side_courses(plan, "front") == side_courses(plan, "back")


def test_a_dropped_hem_is_on_the_back_alone_and_a_curved_one_on_both():
    dropped = plan_garment(
        measures_for(Shape(hem="dropped back", hem_drop_cm=4), "women", "M"), GAUGES[12], rules_at(12), "M"
    )
    assert [each.name for each in dropped.panel("back").short_rows] == ["dropped back hem", "shoulder"]
    assert [each.name for each in dropped.panel("front").short_rows] == ["shoulder"]
    curved = plan_garment(measures_for(Shape(hem="curved", hem_drop_cm=4), "women", "M"), GAUGES[12], rules_at(12), "M")
    for name in ("back", "front"):
        rows = curved.panel(name).short_rows[0]
        spans = curved.panel(name).span[rows.start : rows.start + rows.courses]
        assert np.all(np.diff(spans) <= 0)
        assert rows.courses == 36


def test_ruching_knits_the_gathered_courses_and_leaves_the_length_alone():
    """Common practice: gathers of 1.5 to 4 courses to one; 14 cm at 2.5 to one are 21 cm of cloth more."""
    plain_front, ruched = (
        plan_garment(measures_for(shape, "women", "M"), GAUGES[12], rules_at(12), "M").panel("front")
        for shape in (Shape(), Shape(ruching_cm=14, ruching_ratio=2.5))
    )
    assert ruched.length_cm == plain_front.length_cm
    gathered = sum(fold.courses for fold in ruched.gathers)
    zone = ruched.gathers[-1].course
    assert (zone + gathered) / zone == pytest.approx(2.5, abs=0.1)
    assert ruched.loops - plain_front.loops == gathered * ruched.rib_needles
    with pytest.raises(Problem, match="a gather of 6 courses to one"):
        plan_garment(measures_for(Shape(ruching_cm=9, ruching_ratio=6), "women", "M"), GAUGES[12], rules_at(12), "M")
    with pytest.raises(Problem, match=r"ruching 60 cm high takes \d+ courses; the side has \d+"):
        plan_garment(measures_for(Shape(ruching_cm=60, ruching_ratio=2), "women", "M"), GAUGES[12], rules_at(12), "M")


def test_two_shapes_of_one_body_differ_only_where_their_parts_do():
    crew, square = (
        plan_garment(measures_for(Shape(neck=neck), "women", "M", neck_width=19), GAUGES[12], rules_at(12), "M")
        for neck in ("crew", "square")
    )
    assert np.array_equal(crew.panel("back").right, square.panel("back").right)
    assert np.array_equal(crew.panel("sleeve").right, square.panel("sleeve").right)
    assert not np.array_equal(crew.panel("front").held, square.panel("front").held)


NEW_NECK = '''"""The keyhole neck: a small round with a slit."""

from loopwright.garment.necks.neck import Neck, each, straight

NECK = Neck(
    name="keyhole",
    width_cm=each(15, 15, 12),
    front_drop_cm=each(7, 7, 5),
    back_drop_cm=each(2, 2, 1),
    band_cm=each(2, 2, 1.5),
    curve=lambda share: straight(share) ** 0.5,
    pick_up=0.95,
)
'''


def test_a_new_neck_is_one_small_file(tmp_path, monkeypatch):
    """Nothing else is told: the style, the measures, the knit-down and the seams find it."""
    (tmp_path / "keyhole.py").write_text(NEW_NECK, "utf-8")
    monkeypatch.setattr(necks_package, "__path__", [*necks_package.__path__, str(tmp_path)])
    necks.cache_clear()
    points_of.cache_clear()
    try:
        shape = Shape(neck="keyhole")
        measures = measures_for(shape, "women", "M")
        assert measures["neck_width"] == 15
        plan = plan_garment(measures, GAUGES[12], rules_at(12), "M")
        assert plan.panel("front").neck_needles == 102
        assert "keyhole" in necks()
    finally:
        necks.cache_clear()
        points_of.cache_clear()
    monkeypatch.undo()
    assert "keyhole" not in necks()


@pytest.mark.parametrize(
    ("shape", "typed", "said"),
    [
        (
            Shape(sleeve="raglan"),
            {"raglan_depth": 5},
            r"narrowings every 2 courses take \d+ courses; the raglan has 44",
        ),
        (
            Shape(sleeve="raglan"),
            {"sleeve_top": 40, "half_upper_arm": 17},
            r"top of the raglan sleeve is 40\.0 cm of \d+\.\d cm of arm",
        ),
        (Shape(side="shaped"), {"waist_level": 15}, r"the waist is 15\.0 cm .* the armhole reaches \d+\.\d cm"),
        (Shape(sleeve="drop"), {"neck_width": 60}, r"neck width 60\.0 cm leaves no shoulder within 49\.0 cm"),
        (Shape(), {"length": 20}, r"armhole .* and rib 6\.0 cm fill the length of 20\.0 cm"),
        (Shape(block="vest"), {"front_neck_drop": 70}, r"front neck drop 70\.0 cm reaches into the rib"),
    ],
)
def test_impossible_geometry_says_both_numbers_and_what_to_change(shape, typed, said):
    with pytest.raises(Problem, match=said) as caught:
        plan_garment(measures_for(shape, "women", "M", **typed), GAUGES[12], rules_at(12), "M")
    assert caught.value.tries


@pytest.mark.parametrize("sleeve", sorted(sleeves()))
def test_measures_that_are_typed_come_back_whatever_the_sleeve(sleeve):
    shape = Shape(sleeve=sleeve)
    base = {name: measures_for(shape, "women", "M")[name] for name in points_of(shape)}
    again = measures_of(
        {name: value + (0.4 if name == "half_chest" else 0) for name, value in base.items()}, "M", shape
    )
    assert again["half_chest"] == pytest.approx(base["half_chest"] + 0.4)
    assert set(points_of(shape)) >= set(sleeve_of(shape).points)
