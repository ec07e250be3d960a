"""What must hold for circular machines and hosiery whatever the numbers."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from loopwright.figure import Basis, entered
from loopwright.machine.circular import circular_machine, cylinder_needles, kinds
from loopwright.machine.hosiery import Zone, leg_minutes, leg_seconds
from loopwright.problems import Problem, Sign


@given(gauge=st.floats(3, 44), diameter=st.floats(3, 60))
def test_needles_of_a_cylinder_are_even_and_within_one_of_its_way_round(gauge, diameter):
    needles = cylinder_needles(gauge=gauge, diameter_in=diameter)
    assert needles % 2 == 0
    assert abs(needles - 3.141592653589793 * gauge * diameter) <= 1


@given(rpm=st.floats(5, 60), courses=st.floats(5, 30), wales=st.floats(5, 20), tex=st.floats(5, 80))
def test_mass_of_the_cloth_is_its_area_times_its_mass_per_area(rpm, courses, wales, tex):
    """Kilograms an hour by yarn, and by length × open width × w·c·l·T/100, are one number."""
    machine = circular_machine(kind="single jersey", gauge=24, diameter_in=30, feeds=90, rpm=rpm, running_share=0.85)
    by_yarn = machine.kilograms_per_hour(entered("l", 3.0, "mm"), entered("T", tex, "tex")).value
    c, w = entered("c", courses, "1/cm"), entered("w", wales, "1/cm")
    area = machine.metres_per_hour(c).value * machine.open_width_m(w).value
    assert by_yarn == pytest.approx(area * wales * courses * 3.0 * tex / 100 / 1000)


def test_interlock_needs_two_feeds_where_jersey_needs_one():
    c = entered("c", 18, "1/cm")
    jersey, interlock = (
        circular_machine(kind=kind, gauge=24, diameter_in=30, feeds=90, rpm=25).metres_per_hour(c).value
        for kind in ("single jersey", "interlock")
    )
    assert jersey == pytest.approx(2 * interlock)


def test_a_rib_feed_knits_cylinder_and_dial():
    rib = circular_machine(kind="rib", gauge=18, diameter_in=30, feeds=60, rpm=20)
    assert rib.loops_per_turn == 2 * rib.needles


@pytest.mark.parametrize("kind", kinds())
def test_usual_turns_keep_the_rim_at_its_usual_speed(kind):
    machine = circular_machine(kind=kind, gauge=20, diameter_in=30, feeds=60)
    assert machine.rpm.low < machine.rpm.value < machine.rpm.high
    assert machine.rpm.basis is Basis.COMMON_PRACTICE
    assert machine.speed_findings() == ()


def test_a_rim_that_runs_too_fast_is_told_with_both_speeds():
    machine = circular_machine(kind="single jersey", gauge=24, diameter_in=30, feeds=90, rpm=50)
    (finding,) = machine.speed_findings()
    assert finding.sign is Sign.KNOW
    assert "1.99 m/s" in finding.sentence
    assert "1.6 m/s" in finding.sentence
    slower = circular_machine(kind="single jersey", gauge=24, diameter_in=30, feeds=90, rpm=float(finding.tries[0][:2]))
    assert slower.speed_findings() == ()


def test_minutes_for_a_length_are_its_share_of_an_hour_and_carry_the_spread_of_the_stops():
    machine = circular_machine(kind="single jersey", gauge=24, diameter_in=30, feeds=90, rpm=26)
    c = entered("c", 18, "1/cm")
    pace = machine.metres_per_hour(c)
    minutes = machine.minutes_for_length(entered("L", 2 * pace.value, "m"), c)
    assert minutes.value == pytest.approx(120)
    assert minutes.low < minutes.value < minutes.high


@pytest.mark.parametrize(
    "wrong", [{"kind": "warp"}, {"feeds": 0}, {"gauge": 0}, {"diameter_in": -30}, {"running_share": 1.2}]
)
def test_a_machine_that_cannot_be_is_refused(wrong):
    with pytest.raises(Problem):
        circular_machine(**{"kind": "rib", "gauge": 18, "diameter_in": 30, "feeds": 60} | wrong)


@given(courses=st.integers(1, 5000), feeds=st.integers(1, 8), rpm=st.floats(50, 1200))
def test_a_zone_cut_in_two_takes_the_same_seconds(courses, feeds, rpm):
    whole = leg_seconds([Zone("leg", courses, feeds, rpm)], change_s=5)
    cut = leg_seconds([Zone("a", courses // 3, feeds, rpm), Zone("b", courses - courses // 3, feeds, rpm)], change_s=5)
    assert whole == pytest.approx(cut)


def test_a_pair_takes_twice_a_leg_and_never_less_than_its_running_seconds():
    zones = [Zone("welt", 120, 2, 300), Zone("leg", 2300, 4, 900)]
    leg, pair = leg_minutes(zones), leg_minutes(zones, legs=2)
    assert pair.value == pytest.approx(2 * leg.value)
    assert leg.value * 60 > leg_seconds(zones, change_s=15)
    assert leg.low < leg.value < leg.high


@pytest.mark.parametrize("zone", [("toe", -1, 2, 300), ("toe", 60, 0, 300), ("toe", 60, 2, 0)])
def test_a_zone_that_cannot_be_knitted_is_refused(zone):
    with pytest.raises(Problem):
        Zone(*zone)


def test_a_leg_without_zones_is_refused():
    with pytest.raises(Problem):
        leg_minutes([])
