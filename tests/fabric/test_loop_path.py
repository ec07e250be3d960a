"""The form of loops: as long as the loop length says, periodic, over and under as face and reverse loops are."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from loopwright.fabric.fabric import Fabric, fabric_of
from loopwright.fabric.loop_path import STEPS, LoopPaths, YarnPath, loop_paths
from loopwright.fabric.wales import TAKES, feed_heights, knitted_off, wale_positions, wales_of
from loopwright.figure import entered
from loopwright.structure.library import library
from loopwright.structure.notation import read
from loopwright.yarn.yarn import yarn_from_words

MERINO = yarn_from_words("2/28 Nm merino")
KEYS = sorted(library())
LENGTH_TOLERANCE = 0.01  # the reach is read between tabled values


def fabric(key: str, loop_mm: float | None = None) -> Fabric:
    return fabric_of(library()[key], MERINO, entered("l", loop_mm, "mm") if loop_mm else None)


def paths(key: str) -> LoopPaths:
    return loop_paths(fabric(key).geometry, MERINO.diameter_mm.value)


def loop(path: YarnPath, number: int = 0) -> np.ndarray:
    first = path.stitches[number].first
    return path.points[first : first + STEPS + 1]


@given(st.floats(5.3, 8.0))  # from 14 yarn diameters on; loops jam at 16.7
def test_a_plain_loop_is_as_long_as_the_loop_length(loop_mm):
    cloth = loop_paths(fabric("plain", loop_mm).geometry, MERINO.diameter_mm.value)
    length = np.linalg.norm(np.diff(cloth.paths[0].points, axis=0), axis=1).sum()
    assert length == pytest.approx(loop_mm, rel=LENGTH_TOLERANCE)


@pytest.mark.parametrize("key", KEYS)
def test_the_yarn_of_a_feed_goes_on_where_the_next_repeat_begins(key):
    cloth = paths(key)
    for path in cloth.paths:
        np.testing.assert_allclose(path.points[-1] - path.points[0], [cloth.width_mm, 0, 0], atol=1e-9)


@pytest.mark.parametrize("key", KEYS)
def test_the_repeat_has_the_wales_and_courses_of_the_fabric(key):
    geometry, cloth = fabric(key).geometry, paths(key)
    anatomy = library()[key].anatomy
    assert anatomy.visible_wales / cloth.width_mm * 10 == pytest.approx(geometry.wales_per_cm.value)
    assert anatomy.visible_courses / cloth.height_mm * 10 == pytest.approx(geometry.courses_per_cm.value)


@pytest.mark.parametrize("key", KEYS)
def test_every_loop_and_tuck_of_the_notation_is_placed_once(key):
    anatomy, cloth = library()[key].anatomy, paths(key)
    kinds = [stitch.stitch.value for path in cloth.paths for stitch in path.stitches]
    assert kinds.count("K") == anatomy.loops
    assert kinds.count("T") == anatomy.tucks


@pytest.mark.parametrize("key", KEYS)
def test_no_yarn_lies_outside_the_thickness_of_the_fabric(key):
    assert paths(key).depth_mm <= fabric(key).thickness.value + 1e-9


@pytest.mark.parametrize("key", KEYS)
def test_the_yarn_never_jumps(key):
    cloth = paths(key)
    for path in cloth.paths:
        steps = np.linalg.norm(np.diff(path.points, axis=0), axis=1)
        assert steps.max() < 3 * cloth.diameter_mm


def depth_where_they_cross(upper: np.ndarray, lower: np.ndarray) -> float:
    """Depth of the upper loop's leg less that of the lower loop's head, where they cross in the plane."""
    apart = np.linalg.norm(upper[:, None, :2] - lower[None, :, :2], axis=2)
    first, second = np.unravel_index(apart.argmin(), apart.shape)
    return float(upper[first, 2] - lower[second, 2])


@pytest.mark.parametrize(("key", "sign"), [("plain", 1), ("reverse-plain", -1)])
def test_legs_of_a_face_loop_lie_over_the_head_below_and_of_a_reverse_loop_under_it(key, sign):
    cloth = paths(key)
    lower = loop(cloth.paths[0])
    upper = lower + np.array([0, cloth.height_mm, 0])
    quarter = STEPS // 4
    head = lower[2 * quarter : 2 * quarter + quarter // 2 + 1]
    leg = upper[3 * quarter : 3 * quarter + quarter // 2 + 2]
    assert sign * depth_where_they_cross(leg, head) > 0.5 * cloth.diameter_mm


@pytest.mark.parametrize(("key", "sign"), [("plain", 1), ("reverse-plain", -1)])
def test_heads_and_sinkers_lie_behind_the_legs_of_a_face_loop(key, sign):
    points = loop(paths(key).paths[0])
    leg, head, sinker = points[STEPS // 4, 2], points[STEPS // 2, 2], points[0, 2]
    assert sign * leg > sign * head
    assert sign * leg > sign * sinker


@pytest.mark.parametrize("key", ["rib-1x1", "rib-2x2", "interlock", "half-cardigan", "full-milano", "birdseye-2"])
def test_loops_of_the_front_bed_lie_before_those_of_the_back_bed(key):
    for path in paths(key).paths:
        legs = [(stitch.on_front, loop(path, number)[STEPS // 4, 2]) for number, stitch in enumerate(path.stitches)]
        assert all(z > 0 if on_front else z < 0 for on_front, z in legs)


@pytest.mark.parametrize("key", ["tuck-mesh", "double-tuck-mesh"])
def test_a_tuck_hangs_behind_the_held_loop(key):
    for path in paths(key).paths:
        for number, stitch in enumerate(path.stitches):
            if stitch.stitch.value == "T":
                heads = [loop(path, other)[STEPS // 2, 2] for other in range(len(path.stitches)) if other != number]
                assert loop(path, number)[STEPS // 2, 2] < min(heads)


def test_floats_of_a_single_jacquard_lie_behind_every_loop():
    cloth = paths("float-jacquard-2")
    loops = np.concatenate([loop(path, number)[:, 2] for path in cloth.paths for number in range(len(path.stitches))])
    floats = min(path.points[:, 2].min() for path in cloth.paths)
    assert floats < loops.min() - 0.5 * cloth.diameter_mm


def test_the_two_colours_of_a_jacquard_row_stand_on_one_level():
    levels = feed_heights(library()["float-jacquard-2"].notation)
    assert levels[1] == pytest.approx(levels[0], abs=0.02)
    assert levels[2] - levels[1] == pytest.approx(0.5, abs=0.02)


def test_a_loop_is_held_over_a_tuck_and_twice_as_tall():
    notation = library()["half-cardigan"].notation
    assert knitted_off(notation, 0, 0, on_front=True).feed == 1
    held = knitted_off(notation, 0, 0, on_front=False)
    assert (held.feed, held.repeats) == (0, 1)


def test_a_transferred_loop_is_knitted_off_on_the_needle_that_received_it():
    off = knitted_off(library()["transfer-lace"].notation, 1, 1, on_front=True)
    assert (off.place, off.on_front, off.feed, off.repeats) == (2, True, 0, 1)


def test_needles_that_give_their_loops_to_the_bed_opposite_are_one_wale():
    assert len(wales_of(library()["moss"].notation)) == 2
    assert len(wales_of(library()["purl-1x1"].notation)) == 1


def test_wales_of_a_pair_of_a_rib_stand_closer_than_the_wales_that_a_back_rib_parts():
    positions = wale_positions(library()["rib-2x2"].notation)
    front = [x for x, wale in zip(positions, wales_of(library()["rib-2x2"].notation), strict=True) if wale.on_front]
    assert 0 < front[1] - front[0] < 0.5


@st.composite
def notations(draw):
    needles = draw(st.integers(1, 4))
    bed = st.text("KTM-", min_size=needles, max_size=needles)
    lines = [f"F:{draw(bed)} B:{draw(bed)}" for _ in range(draw(st.integers(1, 4)))]
    lines.append(f"F:{'K' * needles} B:{'K' * needles}")  # every needle clears
    for _ in range(draw(st.integers(0, 2))):
        way, marks = draw(st.sampled_from(["F>B", "B>F"])), draw(st.text("X.", min_size=needles, max_size=needles))
        lines += [f"move {way}:{marks}", f"rack:{draw(st.integers(-2, 2)):+d}"]
    return read(lines, draw(st.sampled_from(["rib", "interlock"])))


@given(notations())
def test_levels_and_wales_of_any_notation_are_in_order(notation):
    levels, positions = feed_heights(notation), wale_positions(notation)
    assert levels[0] == 0
    assert (np.diff(levels) >= 0).all()
    assert len(positions) == len(wales_of(notation))
    assert np.isfinite(positions).all()
    taken = sum(wale.stitch(feed)[0] in TAKES for feed in notation.feeds for wale in wales_of(notation))
    every = sum(stitch in TAKES for feed in notation.feeds for stitch in feed.front + feed.back)
    assert taken == every
