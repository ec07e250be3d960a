"""Markers checked by an independent geometry library: nothing overlaps, everything lies on the cloth, areas add up."""

import math
from itertools import combinations, pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Polygon, unary_union
from shapely.affinity import scale, translate

from loopwright.figure import Basis, banded, entered
from loopwright.makeup.cutting import blank_loss, cloth_grams, usual_efficiency, usual_end_loss
from loopwright.makeup.marker import Cloth, Marker, Piece, marker, marker_value
from loopwright.makeup.nesting import Strip, stretches
from loopwright.problems import Problem


def closed(half: list[tuple[float, float]]) -> tuple[tuple[float, float], ...]:
    return (*half, *((-x, y) for x, y in reversed(half) if x > 0))


def body(chest_cm: float, length_cm: float, neck_drop_cm: float):
    half = chest_cm / 2
    neck = [(9 * math.cos(turn), length_cm - neck_drop_cm * math.sin(turn)) for turn in (0, 0.4, 0.8, 1.2)]
    edge = [(0, 0), (half, 0), (half, length_cm - 22), (half - 6, length_cm - 14), (half - 7, length_cm - 4)]
    return closed([*edge, *neck, (0, length_cm - neck_drop_cm)])


SLEEVE = closed([(0, 0), (11, 0), (17, 38), (14, 40), (8, 48), (4, 51), (0, 52)])
LEFT_FRONT = ((0, 0), (26, 0), (26, 42), (20, 50), (19, 60), (10, 64), (0, 40))


def pullover(chest_cm: float, length_cm: float, times: int = 1) -> list[Piece]:
    size = f"{chest_cm:g}"
    return [
        Piece(f"front {size}", body(chest_cm, length_cm, 9), times),
        Piece(f"back {size}", body(chest_cm, length_cm, 2), times),
        Piece(f"sleeve {size}", SLEEVE, 2 * times, is_paired=True),
        Piece(f"neckband {size}", ((0, 0), (48, 0), (48, 5), (0, 5)), times),
    ]


THREE_SIZES = [piece for chest, length in ((48, 62), (52, 64), (56, 66)) for piece in pullover(chest, length)]


def assert_can_be_cut(found: Marker, gap_cm: float) -> None:
    shapes = [Polygon(placement.outline) for placement in found.placements]
    assert all(first.intersection(second).area == 0 for first, second in combinations(shapes, 2))
    assert all(first.distance(second) >= gap_cm - 0.001 for first, second in combinations(shapes, 2))
    edge = (found.cloth.width_cm - found.cloth.usable_cm) / 2
    left, low, right, high = unary_union(shapes).bounds
    assert left >= edge - 0.001
    assert right <= found.cloth.width_cm - edge + 0.001
    assert low >= -0.001
    assert high == pytest.approx(found.length_cm, abs=0.001)


@pytest.mark.parametrize("cloth", [Cloth(150), Cloth(180), Cloth(180, is_one_way=True), Cloth(61)], ids=str)
def test_three_sizes_lie_side_by_side_without_touching(cloth):
    found = marker(THREE_SIZES, cloth)
    assert len(found.placements) == 15
    assert_can_be_cut(found, marker_value("gap"))


def test_a_tube_cuts_every_shape_twice():
    twice = [piece for chest in (48, 52) for piece in pullover(chest, 62, times=2)]
    found = marker(twice, Cloth(112, is_tube=True))
    assert len(found.placements) == sum(piece.count for piece in twice) / 2
    assert_can_be_cut(found, marker_value("gap"))
    assert found.cut_area_cm2 == pytest.approx(2 * sum(Polygon(each.outline).area for each in found.placements))


def test_a_single_front_cannot_be_cut_from_a_tube():
    with pytest.raises(Problem, match="1 to cut"):
        marker(pullover(48, 62), Cloth(112, is_tube=True))


def test_efficiency_is_the_area_of_the_pieces_over_the_cloth():
    found = marker(THREE_SIZES, Cloth(160))
    area = sum(Polygon(each.outline).area for each in found.placements)
    assert found.cut_area_cm2 == pytest.approx(area)
    assert found.efficiency.value == pytest.approx(area / (found.length_cm * 160))
    assert found.efficiency.basis is Basis.SIMULATED
    assert found.efficiency.low == found.efficiency.value < found.efficiency.high <= 1
    assert "skilled marker" in found.efficiency.why.words


def test_the_usual_efficiency_of_knit_tops_meets_the_band_of_a_marker_of_mixed_sizes():
    band = marker(THREE_SIZES, Cloth(180)).efficiency
    assert band.high > usual_efficiency().low


def test_rectangles_that_fill_the_cloth_leave_nothing():
    """With no gap and no allowance, six rectangles of a third of the width tile it."""
    cloth = Cloth(93.0)
    third = cloth.usable_cm / 3
    piece = Piece("patch", ((0, 0), (third, 0), (third, 20), (0, 20)), 6)
    found = marker([piece], cloth, seam_allowance_cm=0, gap_cm=0)
    assert found.length_cm == pytest.approx(40)
    assert found.efficiency.value == pytest.approx(cloth.usable_cm / cloth.width_cm)


def test_seam_allowance_grows_every_piece_on_all_sides():
    piece = Piece("patch", ((0, 0), (30, 0), (30, 20), (0, 20)))
    found = marker([piece], Cloth(100), seam_allowance_cm=1.5)
    left, low, right, high = Polygon(found.placements[0].outline).bounds
    assert (right - left, high - low) == pytest.approx((33, 23))
    assert found.length_cm == pytest.approx(23)


def test_wales_stay_upright_and_one_way_cloth_turns_nothing():
    assert {each.rotation_deg for each in marker(THREE_SIZES, Cloth(180)).placements} <= {0, 180}
    assert {each.rotation_deg for each in marker(THREE_SIZES, Cloth(180, is_one_way=True)).placements} == {0}


def test_one_of_a_pair_is_cut_mirrored_and_both_are_the_same_shape():
    pair = marker([Piece("front", LEFT_FRONT, 2, is_paired=True)], Cloth(150), seam_allowance_cm=0).placements
    assert sorted(each.is_mirrored for each in pair) == [False, True]
    left = Polygon(LEFT_FRONT)
    for each in pair:
        turn = -1 if each.rotation_deg else 1
        as_worn = scale(left, xfact=turn * (-1 if each.is_mirrored else 1), yfact=turn, origin=(0, 0))
        low_left = as_worn.bounds[:2]
        laid = translate(as_worn, each.x_cm - low_left[0], each.y_cm - low_left[1])
        assert laid.symmetric_difference(Polygon(each.outline)).area == pytest.approx(0, abs=1e-6)


def test_the_same_pieces_are_laid_the_same_way_every_time():
    from loopwright.makeup import marker as module

    first = marker(THREE_SIZES, Cloth(164))
    module._marker.cache_clear()
    assert marker(THREE_SIZES, Cloth(164)) == first


def test_a_piece_wider_than_the_cloth_is_told_with_both_widths():
    with pytest.raises(Problem) as caught:
        marker(pullover(56, 66), Cloth(58))
    assert "58.0 cm wide" in caught.value.what
    assert "55.0 cm" in caught.value.limit
    assert caught.value.tries


@pytest.mark.parametrize(
    "outline", [((0, 0), (1, 0)), ((0, 0), (1, 0), (2, 0)), ((0, 0), (2, 2), (2, 0), (0, 2))], ids=str
)
def test_an_outline_without_a_single_area_is_no_piece(outline):
    with pytest.raises(Problem):
        Piece("odd", outline)


def test_nothing_to_cut_is_refused():
    with pytest.raises(Problem):
        marker([], Cloth(150))
    with pytest.raises(Problem):
        Piece("none", SLEEVE, 0)


def test_points_that_all_but_coincide_take_their_seam_allowance_without_a_spike():
    """Corners typed twice with the last digit differing; a mitre at such an edge would run away."""
    outline = ((0, 0), (5, 0), (5 + 1e-12, 1e-160), (20.5, 7), (20.5, 7 + 1e-9), (0, 7))
    clean = ((0, 0), (5, 0), (20.5, 7), (0, 7))
    typed, meant = (Piece("cuff", points).cut(1.0) for points in (outline, clean))
    assert typed.symmetric_difference(meant).area == pytest.approx(0, abs=1e-3)


corners = st.tuples(st.floats(0, 40), st.floats(0, 60))


@settings(deadline=None, max_examples=25)
@given(shapes=st.lists(st.lists(corners, min_size=3, max_size=7), min_size=1, max_size=5), width=st.floats(62, 120))
def test_shapes_of_any_kind_never_overlap(shapes, width):
    """Hulls of random points, cut with hollows by leaving the points in the order of their angle."""
    pieces = []
    for number, points in enumerate(shapes):
        middle = (sum(x for x, _ in points) / len(points), sum(y for _, y in points) / len(points))
        around = sorted(points, key=lambda point: math.atan2(point[1] - middle[1], point[0] - middle[0]))
        shape = Polygon(around)
        if shape.is_valid and shape.area > 1:
            pieces.append(Piece(f"piece {number}", tuple(around), 2, is_paired=True))
    if pieces:
        assert_can_be_cut(marker(pieces, Cloth(width), seam_allowance_cm=0.5, gap_cm=0.3), 0.3)


@given(points=st.lists(corners, min_size=3, max_size=8), column=st.floats(0.5, 5))
def test_columns_hold_the_whole_shape(points, column):
    hull = Polygon(points).convex_hull
    if hull.area < 1:
        return
    left, low, _, _ = hull.bounds
    outline = [(x - left, y - low) for x, y in hull.exterior.coords[:-1]]
    cut = stretches(outline, column)
    for x, y in outline:
        place = min(int(x / column), len(cut.low) - 1)
        assert cut.low[place] - 1e-9 <= y <= cut.high[place] + 1e-9
    boxes = sum((high - bottom) * column for bottom, high in zip(cut.low, cut.high, strict=True))
    assert boxes >= hull.area - 1e-6


def test_a_free_place_below_others_is_found_again():
    """A small piece goes under a bridge that two pillars carry, not on top."""
    strip = Strip(30, 1.0)
    pillar, bridge, small = (stretches([(0, 0), (w, 0), (w, h), (0, h)], 1.0) for w, h in ((5, 20), (30, 5), (8, 6)))
    strip.lay(pillar, x_cm=0, y_cm=0)
    strip.lay(pillar, x_cm=25, y_cm=0)
    strip.lay(bridge, x_cm=0, y_cm=20)
    assert strip.lowest_place(small) == (0.0, 5.0)
    strip.lay(small, x_cm=5, y_cm=0)
    tall = stretches([(0, 0), (16, 0), (16, 16), (0, 16)], 1.0)
    assert strip.lowest_place(tall) == (25.0, 0.0)  # 14 cm are left under the bridge


def test_blanks_lose_exactly_what_lies_outside_the_pieces():
    """By the shoelace sum over the outlines and the rectangles round them, without the geometry library."""
    pieces = pullover(52, 64)

    def area(outline):
        return abs(sum(x1 * y2 - x2 * y1 for (x1, y1), (x2, y2) in pairwise([*outline, outline[0]]))) / 2

    def box(outline):
        xs, ys = zip(*outline, strict=True)
        return (max(xs) - min(xs)) * (max(ys) - min(ys))

    used = sum(piece.count * area(piece.outline) for piece in pieces)
    knitted = sum(piece.count * box(piece.outline) for piece in pieces)
    assert blank_loss(pieces, seam_allowance_cm=0).value == pytest.approx(1 - used / knitted)


def test_rectangles_cut_from_blanks_lose_nothing():
    band = Piece("band", ((0, 0), (48, 0), (48, 5), (0, 5)), 3)
    assert blank_loss([band], seam_allowance_cm=1).value == pytest.approx(0, abs=1e-12)


def test_cloth_is_pieces_over_what_the_losses_leave():
    mass = entered("mass", 160, "g/m²")
    eff, ends = entered("e", 0.8, ""), entered("w", 0.05, "")
    grams = cloth_grams(9500, mass_g_per_m2=mass, efficiency=eff, end_loss=ends)
    assert grams.value == pytest.approx(0.95 * 160 / (0.8 * 0.95))
    assert grams.value * 0.8 * (1 - 0.05) == pytest.approx(0.95 * 160)


def test_cloth_at_usual_losses_carries_their_spread():
    mass = banded("mass", 160, "g/m²", low=150, high=170, basis=Basis.MEASURED, words="scale")
    grams = cloth_grams(9500, mass_g_per_m2=mass, efficiency=usual_efficiency())
    assert grams.low < grams.value < grams.high
    least = cloth_grams(
        9500,
        mass_g_per_m2=entered("mass", mass.low, "g/m²"),
        efficiency=entered("e", usual_efficiency().high, ""),
        end_loss=entered("w", usual_end_loss().low, ""),
    )
    assert least.value < grams.low


@pytest.mark.parametrize(("eff", "ends"), [(0, 0.05), (1.2, 0.05), (0.8, 1.0), (0.8, -0.1)])
def test_losses_that_leave_nothing_are_refused(eff, ends):
    with pytest.raises(Problem):
        cloth_grams(
            9500,
            mass_g_per_m2=entered("mass", 160, "g/m²"),
            efficiency=entered("e", eff, ""),
            end_loss=entered("w", ends, ""),
        )
