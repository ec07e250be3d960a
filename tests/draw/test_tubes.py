"""Yarns as round tubes, measured from outside: radius, closed surface, frame, plies, smooth centre lines."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loopwright.draw.tubes import Plies, frames, ply_shade, tube, tubes
from loopwright.draw.yarn_lines import YarnLine, covering, patch, points_of, smooth_repeat
from loopwright.mechanics.form import ClothForm, Strand


def wave(nodes: int = 24, width: float = 4.0, depth: float = 0.8) -> np.ndarray:
    """A meander that leans over itself, as a loop does, (nodes, 3); the next repeat begins at + width."""
    turn = 2 * np.pi * np.arange(nodes) / nodes
    x = width * turn / (2 * np.pi) + 0.9 * np.sin(2 * turn)
    return np.column_stack([x, -3.0 * np.cos(turn), depth * np.sin(2 * turn)])


def cloth(strands: int = 1, shear: float = 0.3) -> ClothForm:
    made = tuple(Strand("AB"[i], i, wave() + np.array([0, 3.2 * i, 0]), 1.0 - 0.25 * i) for i in range(strands))
    return ClothForm(made, width=4.0, height=3.2 * strands, shear=shear, wales=1.0, courses=float(strands))


def helix(radius: float, rise: float, turns: float = 2.0, steps: int = 200) -> np.ndarray:
    turn = np.linspace(0, 2 * np.pi * turns, steps)
    return np.column_stack([radius * np.cos(turn), radius * np.sin(turn), rise * turn / (2 * np.pi)])


@settings(deadline=None, max_examples=25)
@given(
    sides=st.integers(3, 12), diameter=st.floats(0.2, 1.5), radius=st.floats(1.5, 6), rise=st.floats(0.5, 8),
)  # fmt: skip
def test_every_vertex_of_the_wall_stands_one_radius_from_the_centre_line(sides, diameter, radius, rise):
    line = YarnLine("A", diameter, helix(radius, rise))
    made = tube(line, sides=sides)
    rings = made.vertices[:-2].reshape(len(line.points), sides, 3)
    arms = rings - line.points[:, None]
    assert np.linalg.norm(arms, axis=2) == pytest.approx(diameter / 2, rel=1e-9)
    along = np.gradient(line.points, axis=0)[1:-1]
    square = np.einsum("nsi,ni->ns", arms[1:-1], along / np.linalg.norm(along, axis=1, keepdims=True))
    assert np.abs(square).max() < 1e-9 + 0.02 * diameter


def test_normals_point_straight_out_of_the_yarn():
    made = tube(YarnLine("A", 1.0, helix(3, 2)))
    rings = made.vertices[:-2].reshape(200, 8, 3)
    out = (rings - helix(3, 2)[:, None]).reshape(-1, 3)
    assert made.normals[:-2] == pytest.approx(out / 0.5, abs=1e-9)
    assert np.linalg.norm(made.normals, axis=1) == pytest.approx(1.0)


def test_a_tube_is_closed_and_turned_outward():
    """Each edge lies in two triangles, once each way; V − E + F = 2; the volume is that of a round rod."""
    straight = np.column_stack([np.linspace(0, 10, 30), np.zeros(30), np.zeros(30)])
    made = tube(YarnLine("A", 2.0, straight), sides=24)
    ways = np.concatenate([made.triangles[:, pair] for pair in ([0, 1], [1, 2], [2, 0])])
    assert len(np.unique(ways, axis=0)) == len(ways)
    assert {tuple(way) for way in ways} == {tuple(way[::-1]) for way in ways}
    assert len(made.vertices) - len(ways) // 2 + len(made.triangles) == 2
    a, b, c = (made.vertices[made.triangles[:, corner]] for corner in range(3))
    volume = np.einsum("ni,ni->", a, np.cross(b, c)) / 6
    assert volume == pytest.approx(10 * 24 / 2 * np.sin(2 * np.pi / 24), rel=1e-9)  # a prism of 24 sides


def test_the_frame_turns_less_than_the_yarn_bends_and_not_about_it():
    """From point to point the normal moves only as far as the tangent makes it: nothing spins about the yarn."""
    line = patch(cloth(), 4, 1, spacing=0.1)[0].points
    frame = frames(line)
    for each in (frame.tangents, frame.normals, frame.binormals):
        assert np.linalg.norm(each, axis=1) == pytest.approx(1.0)
    assert np.abs(np.einsum("ni,ni->n", frame.tangents, frame.normals)).max() < 1e-9
    spin = np.einsum("ni,ni->n", np.diff(frame.normals, axis=0), (frame.binormals[1:] + frame.binormals[:-1]) / 2)
    assert np.abs(spin).max() < 2e-3
    assert np.linalg.norm(np.diff(frame.normals, axis=0), axis=1).max() < 0.4


def test_the_frame_round_a_helix_lags_as_theory_says():
    """A transported normal turns about a helix by its torsion: over one turn 2π·sin(pitch angle) against the radius."""
    radius, rise, steps = 3.0, 5.0, 4001
    points = helix(radius, rise, turns=1.0, steps=steps)
    frame = frames(points)
    inward = -points * [1, 1, 0] / radius
    angle = np.unwrap(
        np.arctan2(
            np.einsum("ni,ni->n", frame.binormals, inward),
            np.einsum("ni,ni->n", frame.normals, inward),
        )
    )
    length = np.hypot(2 * np.pi * radius, rise)
    assert abs(angle[-2] - angle[1]) == pytest.approx(2 * np.pi * rise / length, rel=2e-3)


@pytest.mark.parametrize(("twist", "way"), [("Z", 1), ("S", -1)])
def test_plies_lie_as_the_stroke_of_their_letter(twist, way):
    """On a yarn that runs upward, seen from in front, the crown of a Z ply climbs to the right, of an S ply not."""
    up = np.column_stack([np.zeros(400), np.linspace(0, 10, 400), np.zeros(400)])
    frame = frames(up)
    viewed = np.arctan2(
        np.einsum("ni,i->n", frame.binormals, [0, 0, 1]), np.einsum("ni,i->n", frame.normals, [0, 0, 1])
    )
    right = np.arctan2(
        np.einsum("ni,i->n", frame.binormals, [0.4, 0, 1]), np.einsum("ni,i->n", frame.normals, [0.4, 0, 1])
    )
    front = ply_shade(viewed, frame.along, 1.0, Plies(2, twist))
    beside = ply_shade(right, frame.along, 1.0, Plies(2, twist))
    crown = 100 + int(np.argmax(front[100:160]))
    later = crown - 25 + int(np.argmax(beside[crown - 25 : crown + 26]))
    assert np.sign(up[later, 1] - up[crown, 1]) == way


def test_one_ply_has_no_groove_and_two_have():
    line = patch(cloth(), 2, 1)[0]
    assert np.ptp(tube(line, plies=Plies(1)).shades) == 0
    assert np.ptp(tube(line, plies=Plies(2)).shades) > 0.2


def test_a_smooth_repeat_goes_through_its_nodes_and_on_into_the_next():
    strand = Strand("A", 0, wave(24))
    fine = smooth_repeat(strand, 4.0, 2400)
    apart = np.linalg.norm(fine[:, None] - strand.nodes[None], axis=2).min(axis=0)
    assert apart.max() < 0.01
    over = np.concatenate([fine[-3:] - [4.0, 0, 0], fine[:3]])
    bends = np.linalg.norm(np.diff(over, n=2, axis=0), axis=1)
    usual = np.linalg.norm(np.diff(fine, n=2, axis=0), axis=1)
    assert bends.max() < 2 * usual.max()


def test_smooth_lines_come_near_the_true_curve_with_few_nodes():
    """Four times fewer nodes than points: the spline is within a hundredth of a diameter of the meander itself."""
    fine = smooth_repeat(Strand("A", 0, wave(28)), 4.0, 112)
    true = wave(6000)
    true = np.concatenate([true, true[:1] + np.array([4.0, 0, 0])])
    assert np.linalg.norm(fine[:, None] - true[None], axis=2).min(axis=1).max() < 0.01


def test_a_patch_is_its_repeats_side_by_side_about_its_middle():
    form = cloth(strands=2)
    lines = patch(form, 3, 4)
    assert [line.yarn for line in lines] == ["A"] * 4 + ["B"] * 4
    m = points_of(form.strands[0], form.width)
    assert len(lines[0].points) == 3 * m + 1
    assert lines[0].points[m:] - lines[0].points[:-m] == pytest.approx(np.tile([4.0, 0, 0], (2 * m + 1, 1)))
    assert lines[1].points - lines[0].points == pytest.approx(np.tile([0.3, 6.4, 0], (3 * m + 1, 1)))
    every = np.concatenate([line.points for line in lines])
    assert (every.min(axis=0) + every.max(axis=0))[1] == pytest.approx(0, abs=0.05)
    assert len(tubes(lines)) == 8


@settings(deadline=None, max_examples=20)
@given(width=st.floats(3, 30), height=st.floats(3, 30), shear=st.floats(-2, 2))
def test_a_window_is_covered_to_its_corners(width, height, shear):
    lines = list(covering(cloth(shear=shear), width, height))
    points = np.concatenate([line.points for line in lines])
    for x in (-width / 2, 0, width / 2):
        for y in (-height / 2, 0, height / 2):
            assert np.linalg.norm(points[:, :2] - [x, y], axis=1).min() < 2.2
