"""A free piece as it will lie, measured: length kept, radius as computed, no turn in the next, the right way round."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loopwright.draw.lie import CORNER, Lie, laid_down, lying
from loopwright.draw.roll import Roll
from loopwright.draw.yarn_lines import patch

DEPTH = 2.4


def length(points: np.ndarray) -> float:
    return float(np.linalg.norm(np.diff(points, axis=0), axis=1).sum())


def profile(roll: Roll, steps: int = 6001, weight: float = 1.0) -> tuple[np.ndarray, np.ndarray]:
    """The right half of a rolled piece: points (n, 2) and the angle turned (n,)."""
    at = roll.placed(np.linspace(0, roll.half, steps), np.full(steps, weight))
    return np.column_stack([at.along, at.out]), at.turned


@settings(deadline=None, max_examples=40)
@given(
    half=st.floats(10, 150),
    part=st.floats(0.2, 0.9),
    curvature=st.floats(-0.4, 0.4),
    weight=st.floats(0, 1),
)
def test_the_mid_surface_keeps_its_length_when_it_rolls(half, part, curvature, weight):
    points, _ = profile(Roll(half, part * half, curvature, DEPTH), weight=weight)
    assert length(points) == pytest.approx(half, rel=2e-3)


@pytest.mark.parametrize("curvature", [0.05, 0.12, -0.2, 0.35])
def test_the_free_edge_has_the_computed_curvature(curvature):
    """A circle through three points 1.2 d apart at the edge; its middle is that far into the spiral."""
    roll = Roll(60.0, 25.0, curvature, DEPTH)
    points, turned = profile(roll)
    a, b, c = points[[-241, -121, -1]]
    area = (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])
    sides = np.linalg.norm(a - b) * np.linalg.norm(b - c) * np.linalg.norm(c - a)
    radius = np.sqrt(curvature**-2 + 2 * 1.08 * DEPTH / (2 * np.pi) * 1.2)
    assert -2 * area / sides == pytest.approx(np.sign(curvature) / radius, rel=0.03)
    assert -2 * area / sides == pytest.approx(curvature, rel=0.12)
    assert np.sign(turned[-1]) == np.sign(curvature)


def test_a_short_roll_turns_by_length_times_curvature():
    """Less than a turn, so the radius grows little: the angle lies between that of the tightest and the eased bend."""
    _, turned = profile(Roll(50.0, 10.0, 0.1, DEPTH))
    assert 0.75 * 10 * 0.1 < turned[-1] < 10 * 0.1


@pytest.mark.parametrize("curvature", [0.3, 0.5, 2.0])
def test_no_turn_of_a_roll_lies_in_the_next(curvature):
    """Wherever the cloth has turned by more than three quarters, it is at least its thickness from itself."""
    points, turned = profile(Roll(200.0, 120.0, curvature, DEPTH), steps=4001)
    points, turned = points[::4], np.abs(turned[::4])
    assert turned[-1] > 4 * np.pi
    apart = np.linalg.norm(points[:, None] - points[None], axis=2)
    beyond = np.abs(turned[:, None] - turned[None]) > 1.5 * np.pi
    assert apart[beyond].min() > 0.99 * DEPTH


def test_without_curvature_the_piece_lies_flat_as_knitted(placed):
    form, _ = placed("plain")
    for flat, laid in zip(patch(form, 6, 7), lying(form, Lie(), 6, 7), strict=True):
        assert laid.points == pytest.approx(flat.points, abs=1e-9)
        assert (laid.yarn, laid.diameter) == (flat.yarn, flat.diameter)


@pytest.mark.parametrize(("side", "end"), [(0.15, 0.0), (-0.15, 0.0), (0.0, 0.12), (0.0, -0.12), (0.15, -0.12)])
def test_edges_go_to_the_back_where_curvature_is_positive(side, end, placed):
    form, _ = placed("plain")
    across, along = 24, 30
    width, height = across * form.width, along * form.height
    places = np.array([[width / 2, 0, 0], [-width / 2, 0, 0], [0, height / 2, 0], [0, -height / 2, 0], [0, 0, 0]])
    z = laid_down(places, form, Lie(side, end), across, along)[:, 2]
    assert z[4] == pytest.approx(0, abs=1e-9)
    for edge, curvature in zip(z[:4], (side, side, end, end), strict=True):
        assert np.sign(np.round(edge, 6)) == -np.sign(curvature)
        assert abs(edge) > 2 or curvature == 0


@pytest.mark.parametrize("lean", [0.0, 6.0])
def test_lines_through_the_middle_keep_their_length(lean, placed):
    """Square to a single roll nothing is stretched: theory says exactly, the table of the profile says within 0.3 %."""
    form, _ = placed("plain")
    across, along = 24, 30
    lie = Lie(0.15, -0.12, lean_deg=lean)
    part = np.linspace(-0.5, 0.5, 4001)
    up = np.column_stack([0 * part, along * form.height * part, 0 * part])
    over = np.column_stack([across * form.width * part, 0 * part, 0 * part])
    wale = laid_down(up, form, lie, across, along)
    assert length(wale) == pytest.approx(along * form.height / np.cos(np.radians(lean)), rel=3e-3)
    course = laid_down(over, form, lie, across, along)
    assert length(course) == pytest.approx(across * form.width, rel=3e-3)


def test_yarn_is_hardly_stretched_by_a_roll_of_one_pair_of_edges(placed):
    """Loops outside the mid-surface lengthen as those inside shorten; on average the yarn keeps its length."""
    form, _ = placed("plain")
    flat, laid = patch(form, 24, 20), lying(form, Lie(side_curvature=0.15), 24, 20)
    change = [after.length / before.length - 1 for before, after in zip(flat, laid, strict=True)]
    assert max(map(abs, change)) < 0.03


def test_corners_are_the_only_place_where_the_picture_stretches_cloth(placed):
    form, _ = placed("plain")
    flat, laid = patch(form, 24, 30), lying(form, Lie(0.15, -0.12), 24, 30)
    change = [after.length / before.length - 1 for before, after in zip(flat, laid, strict=True)]
    assert max(map(abs, change[10:20])) < 0.03  # the rows in the middle
    assert max(map(abs, change)) < 0.25


def test_the_roll_of_a_side_weakens_only_toward_a_corner_that_rolls_the_other_way(placed):
    form, _ = placed("plain")
    across, along = 24, 30
    side = across * form.width / 2
    places = np.array([[side, 0, 0], [side, 0.98 * along * form.height / 2, 0]])
    one = laid_down(places, form, Lie(0.15), across, along)[:, 2]
    assert one[0] == pytest.approx(one[1])
    both = laid_down(places, form, Lie(0.15, -0.12), across, along)[:, 2]
    assert both[0] < both[1] < 0
    assert both[1] / both[0] < 2.5 * CORNER


def test_wales_lean_by_the_angle_and_strains_stretch(placed):
    form, _ = placed("plain")
    laid = laid_down(np.array([[0.0, 10.0, 0.3]]), form, Lie(lean_deg=7.0, strain_length=0.2), 20, 20)[0]
    assert np.degrees(np.arctan2(laid[0], laid[1])) == pytest.approx(7.0)
    assert laid[1:] == pytest.approx([12.0, 0.3])
    wide = laid_down(np.array([[10.0, 0.0, 0.3]]), form, Lie(strain_width=0.4), 20, 20)[0]
    assert wide == pytest.approx([14.0, 0.0, 0.3])
