"""Circular machines and hosiery against P-33 and P-40 to P-43 (production reference 4.4, 4.6, 4.7 and 11).

Sources: P-33 flat_tutorial_2014, P-40 circular_calculation, P-41 jersey_nominal_2011, P-42 circular_capacity; P-43 is
the worked leg of the reference. Tolerances as printed there.
"""

import math

import pytest

from loopwright.figure import entered
from loopwright.machine.circular import (
    circular_machine,
    cylinder_needles,
    length_m_per_h,
    mass_kg_per_h,
    rim_speed_m_per_s,
    rows_per_minute,
)
from loopwright.machine.hosiery import Zone, hosiery_gauge, leg_seconds
from loopwright.units import GRAMS_PER_POUND, METRES_PER_YARD

NE_24_TEX = 1000 * GRAMS_PER_POUND / (24 * 840 * METRES_PER_YARD)  # hanks of 840 yd in a pound


def test_courses_and_pieces_an_hour_of_a_flat_machine_p33():
    courses = 60 * rows_per_minute(feeds=1, turns_per_min=2 * 25, running_share=0.9)
    assert courses == pytest.approx(2700)
    assert courses / 250 == pytest.approx(10.8)


def test_metres_in_a_shift_p40():
    an_hour = length_m_per_h(feeds=108, rpm=36, running_share=0.87, courses_per_cm=20)
    assert 8 * an_hour == pytest.approx(811.8, abs=0.1)


@pytest.mark.parametrize(("share", "kg"), [(1.0, 31.23), (0.85, 26.55)])
def test_kilograms_of_jersey_an_hour_p41(share, kg):
    found = mass_kg_per_h(
        loops_per_turn=2260,
        feeds=90,
        rpm=26,
        loop_length_mm=4,
        count_tex=NE_24_TEX,
        running_share=share,
    )
    assert found == pytest.approx(kg, abs=0.02)


@pytest.mark.parametrize(("pi", "kg"), [(3.14, 329.1), (math.pi, 329.2)])
def test_kilograms_in_a_shift_p42(pi, kg):
    an_hour = mass_kg_per_h(
        loops_per_turn=pi * 30 * 18, feeds=80, rpm=38, loop_length_mm=2, count_tex=70, running_share=0.95
    )
    assert 8 * an_hour == pytest.approx(kg, abs=0.1)


def test_the_machine_itself_gives_the_same_shift_p42():
    machine = circular_machine(kind="single jersey", gauge=18, diameter_in=30, feeds=80, rpm=38, running_share=0.95)
    kg = machine.kilograms_per_hour(entered("l", 2, "mm"), entered("T", 70, "tex"))
    assert 8 * kg.value == pytest.approx(329.1, abs=0.1)


def test_needles_of_printed_cylinders_lie_within_a_few_of_the_rule():
    """A trade example has 2 260 needles at 24 gauge on 30 in; the round number is its own."""
    assert cylinder_needles(gauge=24, diameter_in=30) == pytest.approx(2260, abs=4)


def test_rim_speed_is_metres_a_second():
    assert rim_speed_m_per_s(diameter_in=30, rpm=35) == pytest.approx(1.396, abs=0.001)


def test_a_four_inch_cylinder_of_400_needles_f18():
    assert hosiery_gauge(needles=400, diameter_in=4) == pytest.approx(31.8, abs=0.1)


def test_seconds_of_a_tights_leg_p43():
    zones = [Zone("welt", 120, 2, 300), Zone("leg", 2300, 4, 900), Zone("toe", 60, 2, 300)]
    assert [round(zone.seconds, 1) for zone in zones] == [12.0, 38.3, 6.0]
    assert leg_seconds(zones, change_s=15) == pytest.approx(71.3, abs=0.1)
