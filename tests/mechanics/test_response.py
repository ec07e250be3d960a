"""Curl with set, bending stiffness and lean of plain beside the feasibility study (mechanics reference, section 8).

Values of an independent feasibility study, not a publication; its own rebuild disputes leans near the threshold by
0.4 degrees, and radii below a set of 0.8 are bounds, not predictions.
"""

import math

import numpy as np
import pytest

from loopwright.mechanics.response import ENDS, SIDES, curl_of, lean_of


@pytest.mark.parametrize(
    ("share", "sides", "ends"),
    [
        # moment (B/d²), radius (d), bending stiffness (B/d)
        (0.8, (-0.022, 3.9, 0.069), (0.029, -4.4, 0.36)),
        (0.9, (-0.011, 7.0, 0.070), (0.016, -4.5, 0.28)),
        (0.95, (-0.0058, 12.9, 0.071), (0.0090, None, 0.27)),
    ],
)
def test_washed_plain_rolls_with_the_moment_radius_and_stiffness_of_the_feasibility_study(rest, share, sides, ends):
    """The ends at 0.95 lie in a trough so flat (3e-5 B/d from −8 to −4 d) that the study's −7.4 d says little."""
    for alpha, (moment, radius, stiffness) in ((SIDES, sides), (ENDS, ends)):
        curl = curl_of(rest("plain"), alpha, share)
        assert curl.is_settled
        assert curl.moment == pytest.approx(moment, rel=0.1)
        assert curl.stiffness == pytest.approx(stiffness, rel=0.1)
        if radius is not None:
            assert 1 / curl.curvature == pytest.approx(radius, rel=0.1)


def test_more_set_makes_a_wider_roll(rest):
    sides, ends = (
        [abs(1 / curl_of(rest("plain"), alpha, share).curvature) for share in (0.8, 0.95)] for alpha in (SIDES, ENDS)
    )
    assert sides[1] > 2 * sides[0]
    assert ends[1] > ends[0]


@pytest.mark.parametrize(("turns", "lean"), [(0.02, 0.29), (0.10, 3.5), (0.15, 5.8), (0.20, 8.1), (0.30, 12.7)])
def test_plain_of_z_lively_yarn_leans_right_by_the_angle_of_the_feasibility_study(rest, turns, lean):
    assert lean_of(rest("plain"), turns) == pytest.approx(lean, abs=0.4 if turns > 0.05 else 0.05)


def test_lean_changes_sides_with_the_twist_and_is_zero_without(rest):
    assert lean_of(rest("plain"), 0.0) == pytest.approx(0, abs=1e-6)
    assert lean_of(rest("plain"), -0.15) == pytest.approx(-lean_of(rest("plain"), 0.15), abs=1e-3)


def test_the_same_residual_turns_per_metre_lean_slack_plain_more(rest):
    """Spirality rises with stitch length: Kothari and others 2011, Tao and others 1997 (abstracts).

    0.10 turn per loop at 17 diameters gives 0.45, 3.5, 4.5, 5.1 degrees at 14, 17, 20, 24 in the feasibility study.
    """
    leans = [lean_of(rest("plain", ratio), 0.10 * ratio / 17) for ratio in (14.0, 17.0, 20.0, 24.0)]
    assert np.diff(leans).min() > 0
    assert leans == pytest.approx([0.45, 3.5, 4.5, 5.1], abs=0.4)


def test_a_balanced_cloth_lies_flat_by_rule(rest):
    for alpha in (SIDES, ENDS):
        curl = curl_of(rest("rib-1x1"), alpha, 0.8)
        assert (curl.moment, curl.curvature) == (0, 0)
        assert curl.stiffness > 0
    assert math.isclose(lean_of(rest("rib-1x1"), 0.2), 0.0)
