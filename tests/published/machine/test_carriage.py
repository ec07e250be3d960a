"""Carriage and carriers against P-34, P-36, P-37, P-39 (production reference 4 and 11).

Sources: stripes and carrier parking are exhaustive counts of the reference (4.2); the jacquard rate form is Spencer
2001; the calibration is arithmetic on two timed widths. Tolerances as printed: exact, 0.1 % and 0.5 %.
"""

import numpy as np
import pytest

from loopwright.machine.machine import calibrate, v_bed
from loopwright.machine.timeline import _Block, _timed
from loopwright.machine.traverses import Beds, lay, parked_left
from loopwright.shaping.panel import Work


def test_one_traverse_of_318_needles_p34():
    machine = v_bed(gauge=12, bed_in=50, systems=2)
    one = np.array([318])
    timeline = _timed([_Block(Work.PLAIN, one, np.array([2]), "plain")], machine)
    assert 318 * machine.pitch_m == pytest.approx(0.6731, abs=0.0001)
    assert timeline.total_s == pytest.approx(1.273, rel=0.001)
    assert 2 * 60 / timeline.total_s == pytest.approx(94.3, rel=0.001)


@pytest.mark.parametrize(
    ("stripes", "courses", "traverses"),
    [("ab", 100, 150), ("aabb", 100, 100), ("aaab", 100, 125)],
)
def test_stripes_on_one_system_p36(stripes, courses, traverses):
    laid = lay(tuple(stripes), 0, courses, 1, parked_left(("a", "b"), 1))
    assert len(laid.feeds) == traverses
    assert sum(laid.feeds) == courses


def test_stripes_of_one_course_lose_nothing_on_two_systems():
    assert len(lay(("a", "b"), 0, 100, 2, parked_left(("a", "b"), 1)).feeds) == 50


@pytest.mark.parametrize(("parked", "traverses"), [((("a", 0), ("b", 0)), 100), ((("a", 0), ("b", 1)), 51)])
def test_where_carriers_are_parked_decides_stripes_of_two_on_two_systems(parked, traverses):
    assert len(lay(("a", "a", "b", "b"), 0, 100, 2, Beds(0, parked)).feeds) == traverses


def test_plain_on_two_systems_needs_two_carriers_of_its_yarn():
    assert len(lay(("a",), 0, 100, 2, parked_left(("a",), 2)).feeds) == 50
    assert len(lay(("a",), 0, 100, 2, parked_left(("a",), 1)).feeds) == 100


@pytest.mark.parametrize(("systems", "traverses"), [(3, 400), (2, 600), (1, 1200)])
def test_three_colour_jacquard_p37(systems, traverses):
    """400 design rows of three colours. One carrier a colour would add empty traverses on one or two systems; the rate
    form of the source takes carriers as always at hand, so two of each colour stand on either side here."""
    parked = tuple((yarn, side) for yarn in "abc" for side in (0, 0, 1, 1))
    laid = lay(("a", "b", "c"), 0, 1200, systems, Beds(0, parked))
    assert sum(laid.feeds) == 1200
    assert len(laid.feeds) == traverses


def test_two_timed_widths_give_speed_and_reversal_p39():
    found = calibrate([(200, 1.10), (400, 1.52)], gauge=12, overrun_m=0.30)
    assert found.seconds_per_needle == pytest.approx(0.0021, rel=0.005)
    assert found.fixed_seconds == pytest.approx(0.68, rel=0.005)
    assert found.speed_m_per_s == pytest.approx(1.008, rel=0.005)
