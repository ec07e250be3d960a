"""The algebra of stitches: cells, multiples and signs, checked on made lattices."""

import numpy as np
import pytest

from loopwright.swatch.photo.lattice import cell_px, doubled, halved, measures, reduced, same, steps_of


def stitch(wale=12.0, course=9.0, skew_deg=0.0, rotation_deg=0.0):
    turn, lean = np.radians(rotation_deg), np.radians(skew_deg)
    along, up = np.array([np.cos(turn), np.sin(turn)]), np.array([np.sin(turn), -np.cos(turn)])
    return wale * along, course * (up + np.tan(lean) * along)


@pytest.mark.parametrize(("skew", "rotation"), [(0, 0), (7, 0), (-7, 3), (12, -10)])
def test_pitches_and_angles_come_back_from_the_steps(skew, rotation):
    found = measures(*stitch(12, 9, skew, rotation))
    assert found.wale_pitch_px == pytest.approx(12)
    assert found.course_pitch_px == pytest.approx(9)
    assert found.skew_deg == pytest.approx(skew)
    assert found.rotation_deg == pytest.approx(rotation)


def test_half_a_turn_keeps_the_lean_of_the_wales_and_a_mirror_changes_its_sign():
    wale, course = stitch(skew_deg=8)
    mirror = np.array([-1, 1])
    assert measures(wale, -course).skew_deg == pytest.approx(8)
    assert measures(-mirror * wale, mirror * course).skew_deg == pytest.approx(-8)


def test_the_smallest_cell_is_found_from_any_pair_of_steps():
    basis = np.linalg.inv(np.stack(stitch(), axis=1))
    slanting = np.array([[1, 2], [1, 3]]) @ basis
    assert same(reduced(slanting), basis)
    assert np.abs(steps_of(reduced(slanting))).max() == pytest.approx(12)


def test_halves_and_doubles_of_a_cell_differ_by_two_in_area():
    basis = np.linalg.inv(np.stack(stitch(), axis=1))
    for other in halved(basis):
        assert cell_px(other) ** 2 == pytest.approx(cell_px(basis) ** 2 / 2)
    for other in doubled(basis):
        assert cell_px(other) ** 2 == pytest.approx(cell_px(basis) ** 2 * 2)
