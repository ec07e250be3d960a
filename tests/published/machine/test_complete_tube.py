"""The worked tube of complete-garment knitting against P-38 (production reference 4.5 and 11)."""

import pytest

from loopwright.machine.complete import TubePlan, complete_garment
from loopwright.machine.machine import v_bed

PLAN = TubePlan(
    body_wales=240,
    sleeve_wales=84,
    body_courses=256,
    sleeve_courses=270,
    yoke_courses=126,
    neck_wales=96,
    narrowings=40,
)


def test_width_traverse_and_minutes_to_the_underarm_p38():
    machine = v_bed(gauge=18, bed_in=84, systems=2)
    knitting = complete_garment(PLAN, machine)
    tubes = knitting.section("tubes to the underarm")
    assert knitting.width_m == pytest.approx(1.2715, rel=0.0005)
    assert tubes.traverses == 540
    assert tubes.seconds(machine) / tubes.traverses == pytest.approx(2.046, rel=0.005)
    assert tubes.seconds(machine) / 60 == pytest.approx(18.41, rel=0.005)


def test_the_worked_tube_does_not_fit_the_widest_compact_bed():
    """1.2715 m is 1.5 mm more than 50 in; the reference does not say so."""
    needles = complete_garment(PLAN, v_bed(gauge=18, bed_in=84, systems=2)).needles
    assert needles == 902
    assert v_bed(gauge=18, bed_in=50, systems=2).needles == 900
