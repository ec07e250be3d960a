"""What must hold for complete garments whatever the numbers."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from loopwright.machine.complete import TubePlan, complete_garment
from loopwright.machine.half_gauge import half_gauge_findings
from loopwright.machine.machine import v_bed
from loopwright.problems import Problem, Sign
from loopwright.structure.library import library

MACHINE = v_bed(gauge=14, bed_in=84, systems=3)
PLAN = TubePlan(
    body_wales=180,
    sleeve_wales=62,
    body_courses=200,
    sleeve_courses=220,
    yoke_courses=96,
    neck_wales=72,
    narrowings=29,
    underarm_wales=4,
    short_row_courses=8,
    neck_courses=10,
)


def net_s(plan: TubePlan) -> float:
    return complete_garment(plan, MACHINE).net.value * 60


def test_minutes_are_the_sum_of_the_sections_and_stops_come_on_top():
    knitting = complete_garment(PLAN, MACHINE)
    assert sum(section.seconds(MACHINE) for section in knitting.sections) == pytest.approx(knitting.net.value * 60)
    assert knitting.standard.value == pytest.approx(knitting.net.value / MACHINE.running_share.value)
    assert knitting.standard.low < knitting.standard.value < knitting.standard.high
    assert [section.name for section in knitting.sections][:3] == ["start", "tubes to the underarm", "join"]


def test_the_shares_of_the_spread_follow_from_timing_anew_with_each_setting_a_little_changed():
    net = complete_garment(PLAN, MACHINE).net
    told = {each.symbol: each.share for each in net.why.inputs}
    variances = {}
    for symbol, name in (("v", "speed_plain"), ("X", "overrun"), ("tᵣ", "reversal"), ("t_rack", "rack")):
        setting = getattr(MACHINE, name)
        moved = replace(MACHINE, **{name: replace(setting, value=setting.value + 1e-4)})
        slope = (complete_garment(PLAN, moved).net.value - net.value) / 1e-4
        variances[symbol] = (slope * setting.spread) ** 2
    for symbol, variance in variances.items():
        assert variance / variances["X"] == pytest.approx(told[symbol] / told["X"], rel=1e-2)


@given(
    field=st.sampled_from(["body_courses", "sleeve_courses", "yoke_courses", "short_row_courses", "neck_courses"]),
    more=st.integers(1, 200),
)
def test_more_courses_never_take_less_time(field, more):
    assert net_s(replace(PLAN, **{field: getattr(PLAN, field) + more})) >= net_s(PLAN)


@given(more=st.integers(0, 60))
def test_sleeves_shorter_than_the_body_wait_and_cost_nothing_more_than_the_body_alone(more):
    """Courses of the body before the sleeves begin cross the body's width only."""
    longer = replace(PLAN, body_courses=PLAN.sleeve_courses + more)
    grown = complete_garment(longer, MACHINE).section("tubes to the underarm")
    even = complete_garment(replace(PLAN, body_courses=PLAN.sleeve_courses), MACHINE).section("tubes to the underarm")
    assert grown.traverses - even.traverses == 2 * more
    assert grown.width_m - even.width_m == pytest.approx(2 * more * 2 * PLAN.body_wales * MACHINE.pitch_m)


@given(narrowings=st.integers(29, 96))
def test_every_narrowing_costs_and_the_yoke_ends_at_the_neck(narrowings):
    fewer, more = replace(PLAN, narrowings=narrowings - 1 or 1), replace(PLAN, narrowings=narrowings)
    narrow = "narrowing in the yoke"
    few, many = (complete_garment(plan, MACHINE).section(narrow) for plan in (fewer, more))
    assert many.seconds(MACHINE) > few.seconds(MACHINE)
    assert many.traverses == 7 * narrowings


def test_a_yoke_without_narrowing_keeps_its_width():
    straight = replace(PLAN, neck_wales=PLAN.joined_wales, narrowings=0)
    yoke = complete_garment(straight, MACHINE).section("yoke")
    assert yoke.width_m == pytest.approx(yoke.traverses * 2 * PLAN.joined_wales * MACHINE.pitch_m)


def test_the_mean_width_of_the_yoke_lies_between_its_ends():
    yoke = complete_garment(PLAN, MACHINE).section("yoke")
    mean_wales = yoke.width_m / yoke.traverses / MACHINE.pitch_m / 2
    assert mean_wales == pytest.approx((PLAN.joined_wales + PLAN.neck_wales) / 2, rel=0.03)


def test_two_systems_to_a_tube_halve_its_traverses_only():
    one, two = (complete_garment(PLAN, MACHINE, courses_per_round_trip=each) for each in (1, 2))
    assert one.section("yoke").traverses == 2 * two.section("yoke").traverses
    assert one.section("join") == two.section("join")


def test_a_bed_too_narrow_is_told_with_both_numbers_of_needles():
    short = v_bed(gauge=14, bed_in=45, systems=2)
    with pytest.raises(Problem) as caught:
        complete_garment(PLAN, short)
    assert str(complete_garment(PLAN, MACHINE).needles) in caught.value.what
    assert str(short.needles) in caught.value.limit


@pytest.mark.parametrize(
    ("wrong", "numbers"),
    [
        ({"body_courses": -3}, ("-3",)),
        ({"neck_courses": -1}, ("-1",)),
        ({"neck_wales": 400}, ("400", "288")),
        ({"neck_wales": 0}, ("0", "288")),
        ({"narrowings": 97}, ("97", "96")),
        ({"narrowings": 17}, ("17", "216", "204", "18")),
    ],
)
def test_a_garment_that_cannot_close_is_refused_with_its_numbers(wrong, numbers):
    with pytest.raises(Problem) as caught:
        replace(PLAN, **wrong)
    assert all(number in caught.value.sentence() for number in numbers)


@pytest.mark.parametrize("courses", [0, 4])
def test_more_tube_courses_than_systems_are_refused(courses):
    with pytest.raises(Problem):
        complete_garment(PLAN, MACHINE, courses_per_round_trip=courses)


ONE_BED_AT_A_TIME = ["plain", "rib-1x1-alternate", "rib-2x1", "rib-3x1", "purl-1x1", "moss", "float-jacquard-2",
                     "transfer-lace", "tuck-mesh"]  # fmt: skip
BOTH_BEDS = ["rib-1x1", "rib-2x2", "interlock", "half-cardigan", "full-cardigan", "full-milano", "ponte", "tubular",
             "birdseye-2", "striped-jacquard-3"]  # fmt: skip


@pytest.mark.parametrize("key", ONE_BED_AT_A_TIME)
def test_structures_with_one_loop_to_a_place_knit_at_half_gauge(key):
    assert half_gauge_findings(library()[key]) == ()


@pytest.mark.parametrize("key", BOTH_BEDS)
def test_structures_that_keep_loops_on_both_beds_do_not(key):
    (finding,) = half_gauge_findings(library()[key])
    assert finding.sign is Sign.STOPS
    assert library()[key].name in finding.sentence
